//! What the flat tables are computed from: the states, and what checks and repairs do to
//! each.
//!
//! Runs once a problem. Must not search.

use super::problem::{Hypotheses, Outcomes, Problem};
use super::tables::Touched;

/// The set of faults of each state, and its weight, not yet scaled.
pub(super) fn state_sets(problem: &Problem) -> (Vec<Vec<usize>>, Vec<f64>) {
    match &problem.hypotheses {
        Hypotheses::OneFault { weights } => (
            (0..weights.len()).map(|f| vec![f]).collect(),
            weights.clone(),
        ),
        Hypotheses::AnyFaults { chances } => (1..1usize << chances.len())
            .map(|bits| {
                let set: Vec<usize> = (0..chances.len()).filter(|f| bits >> f & 1 == 1).collect();
                let each = chances.iter().enumerate();
                let w = each.map(|(f, &p)| if bits >> f & 1 == 1 { p } else { 1.0 - p });
                (set, w.product::<f64>())
            })
            .unzip(),
        Hypotheses::Listed(list) => list.iter().map(|h| (h.faults.clone(), h.weight)).unzip(),
    }
}

/// Appends the rows of one check, `[outcome, state]`; returns the number of outcomes.
pub(super) fn push_likelihood(
    flat: &mut Vec<f64>,
    outcomes: &Outcomes,
    sets: &[Vec<usize>],
) -> usize {
    match outcomes {
        Outcomes::Table { outcomes, chances } => {
            for o in 0..*outcomes {
                flat.extend(chances.iter().skip(o).step_by(*outcomes));
            }
            *outcomes
        }
        Outcomes::NoisyOr { leak, link } => {
            let missed = |s: &Vec<usize>| s.iter().fold(1.0 - leak, |m, &f| m * (1.0 - link[f]));
            flat.extend(sets.iter().map(|s| 1.0 - missed(s)));
            flat.extend(sets.iter().map(missed));
            2
        }
    }
}

/// The sets in order, with their state, to look sets up in.
pub(super) fn sorted_sets(sets: &[Vec<usize>]) -> Vec<(&[usize], u32)> {
    let each = sets.iter().enumerate();
    let mut by_set: Vec<(&[usize], u32)> = each.map(|(i, s)| (s.as_slice(), i as u32)).collect();
    by_set.sort_unstable();
    by_set
}

/// What one repair does to each state: every fault it fixes goes independently.
pub(super) fn touch(
    sets: &[Vec<usize>],
    by_set: &[(&[usize], u32)],
    fix: &[f64],
    edges: &mut Vec<(u32, f64)>,
) -> Vec<Touched> {
    let mut order: Vec<usize> = (0..sets.len()).collect();
    order.sort_by_key(|&s| sets[s].len());
    let mut touched = Vec::new();
    for s in order {
        let set = &sets[s];
        let fixed: Vec<usize> = (0..set.len()).filter(|&k| fix[set[k]] > 0.0).collect();
        if fixed.is_empty() && !set.is_empty() {
            continue;
        }
        let first = edges.len() as u32;
        let (mut keep, mut right) = (0.0, 0.0);
        for gone in 0..1usize << fixed.len() {
            let p: f64 = (fixed.iter().enumerate())
                .map(|(i, &k)| {
                    if gone >> i & 1 == 1 {
                        fix[set[k]]
                    } else {
                        1.0 - fix[set[k]]
                    }
                })
                .product();
            let stays = |k: &usize| {
                fixed
                    .iter()
                    .position(|f| f == k)
                    .is_none_or(|i| gone >> i & 1 == 0)
            };
            let left: Vec<usize> = (0..set.len()).filter(stays).map(|k| set[k]).collect();
            if left.is_empty() {
                right += p;
            } else if gone == 0 {
                keep = p;
            } else if p > 0.0
                && let Ok(at) = by_set.binary_search_by(|(other, _)| (*other).cmp(&left))
            {
                edges.push((by_set[at].1, p));
            }
        }
        touched.push(Touched {
            from: s as u32,
            keep,
            right,
            edges: (first, edges.len() as u32),
        });
    }
    touched
}

/// The chances above nought of each repair, state by state: what `Touched` says of one thing.
#[derive(Debug, Clone, Default)]
pub(super) struct Effects {
    /// First of each repair's, and the end of all.
    first: Vec<u32>,
    list: Vec<(u32, f64)>,
}

impl Effects {
    /// Of every repair's touched states, `chance` of each.
    pub(super) fn new(touched: &[Vec<Touched>], chance: impl Fn(&Touched) -> f64) -> Self {
        let mut effects = Self::default();
        effects.first.push(0);
        for list in touched {
            let chances = list.iter().map(|t| (t.from, chance(t)));
            effects.list.extend(chances.filter(|(_, p)| *p > 0.0));
            effects.first.push(effects.list.len() as u32);
        }
        effects
    }

    /// Chance, times mass, of a repair.
    pub(super) fn of(&self, repair: usize, belief: &[f64]) -> f64 {
        let (from, end) = (self.first[repair] as usize, self.first[repair + 1] as usize);
        let each = self.list[from..end].iter();
        each.map(|&(state, p)| belief[state as usize] * p).sum()
    }
}

/// Lower bounds: the dearest fault of the set, repaired knowing it, in order of chance per
/// minute, handing over when that is cheaper. Access is left out, so it is never too high.
pub(super) fn floors(
    sets: &[Vec<usize>],
    faults: usize,
    repairs: &[(f64, &[f64])],
    call: f64,
) -> Vec<f64> {
    let alone: Vec<f64> = (0..faults)
        .map(|f| {
            let mut useful: Vec<(f64, f64)> = repairs
                .iter()
                .filter(|(_, fix)| fix[f] > 0.0)
                .map(|&(minutes, fix)| (minutes, fix[f]))
                .collect();
            // Longest-lasting first: the loop below works backwards from hand-over.
            useful.sort_by(|a, b| (b.0 * a.1).total_cmp(&(a.0 * b.1)));
            useful.iter().fold(call, |later, &(minutes, p)| {
                later.min(minutes + (1.0 - p) * later)
            })
        })
        .collect();
    sets.iter()
        .map(|s| s.iter().map(|&f| alone[f]).fold(0.0, f64::max))
        .collect()
}
