//! The problem as flat arrays, ready for search: the one general form of all models.
//!
//! A *state* is a hypothesis: the set of faults present now. A belief is a vector of
//! weights over states and need not sum to one: every value here is "expected minutes
//! times mass", so nothing is normalised in the inner loops. Axis order: state last.
//! Must not search.

use super::error::ProblemError;
use super::problem::{Hypotheses, Outcomes, Problem};
use super::sums::weigh;
use super::validate::validate;

/// What a repair does to one state.
#[derive(Debug, Clone, Copy)]
pub(super) struct Touched {
    /// State before.
    pub from: u32,
    /// Chance that nothing is removed.
    pub keep: f64,
    /// Chance that no fault is left.
    pub right: f64,
    /// Range of [`Tables::edges`] with the other states it may leave.
    pub edges: (u32, u32),
}

/// Flat arrays of a [`Problem`].
#[derive(Debug, Clone)]
pub struct Tables {
    /// Number of states.
    pub(super) states: usize,
    /// Starting weights, `[state]`, summing to one.
    pub(super) weight: Vec<f64>,
    /// Whether some state has two faults or more: only then can a repair change a state
    /// without making the engine right.
    pub(super) several: bool,
    /// Whether what one repair does can change what another is worth: a state touched by
    /// two repairs, or states with several faults.
    pub(super) overlap: bool,
    /// 1 for states of one fault at most, else 0, `[state]`.
    pub(super) single: Vec<f64>,
    /// Repairs whose chances another repair may change when it fails, `[repair]`; the
    /// repair itself left out.
    pub(super) neighbours: Vec<Vec<u32>>,
    pub(super) check_minutes: Vec<f64>,
    pub(super) repeat_minutes: Vec<f64>,
    pub(super) max_times: Vec<u8>,
    pub(super) persist: Vec<f64>,
    pub(super) check_access: Vec<u64>,
    pub(super) check_closes: Vec<u64>,
    pub(super) check_risk: Vec<Vec<f64>>,
    pub(super) outcomes: Vec<usize>,
    /// Start of each check's block of `likelihood`.
    pub(super) block: Vec<usize>,
    /// `[check][outcome][state]`.
    pub(super) likelihood: Vec<f64>,
    /// Minutes of each repair with its run-up check, access not counted.
    pub(super) repair_minutes: Vec<f64>,
    /// The same with the groups that cannot stay open, which every repair behind them pays.
    pub(super) repair_alone: Vec<f64>,
    /// Groups the repair and its run-up check need.
    pub(super) repair_access: Vec<u64>,
    /// States each repair touches, fewest faults first (so it can be applied in place).
    pub(super) touched: Vec<Vec<Touched>>,
    /// Targets of partial repairs: state and chance.
    pub(super) edges: Vec<(u32, f64)>,
    pub(super) open_minutes: Vec<f64>,
    /// Groups that stay open over a run-up check.
    pub(super) stays: u64,
    pub(super) open_now: u64,
    pub(super) hand_over: f64,
    /// Least minutes knowing the state, access left out: a lower bound, `[state]`.
    pub(super) floor: Vec<f64>,
}

impl Tables {
    /// Flattens a problem.
    ///
    /// # Errors
    /// [`ProblemError::Fields`] naming every figure that cannot be used.
    pub fn new(problem: &Problem) -> Result<Tables, ProblemError> {
        validate(problem)?;
        let (sets, mut weight) = state_sets(problem);
        let total: f64 = weight.iter().sum();
        weight.iter_mut().for_each(|w| *w /= total);
        let states = sets.len();
        let mut block = Vec::with_capacity(problem.checks.len());
        let mut likelihood = Vec::new();
        let mut outcomes = Vec::with_capacity(problem.checks.len());
        for c in &problem.checks {
            block.push(likelihood.len());
            outcomes.push(push_likelihood(&mut likelihood, &c.outcomes, &sets));
        }
        let mut edges = Vec::new();
        let by_set = sorted_sets(&sets);
        let several = sets.iter().any(|s| s.len() > 1);
        let touched: Vec<Vec<Touched>> = problem
            .repairs
            .iter()
            .map(|r| touch(&sets, &by_set, &r.fix, &mut edges))
            .collect();
        let neighbours = neighbours(states, &touched, &edges);
        let verify = mask(&problem.verify_access);
        let stays = problem.groups.iter().enumerate();
        let checks = &problem.checks;
        let repairs = &problem.repairs;
        let fixes: Vec<(f64, &[f64])> = repairs
            .iter()
            .map(|r| (r.minutes + problem.verify_minutes, r.fix.as_slice()))
            .collect();
        let mut tables = Tables {
            states,
            weight,
            several,
            overlap: neighbours.iter().any(|n| !n.is_empty()),
            single: sets
                .iter()
                .map(|s| if s.len() > 1 { 0.0 } else { 1.0 })
                .collect(),
            neighbours,
            check_minutes: checks.iter().map(|c| c.minutes).collect(),
            repeat_minutes: checks.iter().map(|c| c.repeat_minutes).collect(),
            max_times: checks.iter().map(|c| c.max_times).collect(),
            persist: checks.iter().map(|c| c.persist).collect(),
            check_access: checks.iter().map(|c| mask(&c.access)).collect(),
            check_closes: checks.iter().map(|c| mask(&c.closes)).collect(),
            check_risk: checks.iter().map(|c| c.risk.clone()).collect(),
            outcomes,
            block,
            likelihood,
            repair_minutes: fixes.iter().map(|f| f.0).collect(),
            repair_alone: Vec::new(),
            repair_access: repairs.iter().map(|r| mask(&r.access) | verify).collect(),
            touched,
            edges,
            open_minutes: problem.groups.iter().map(|g| g.open_minutes).collect(),
            stays: stays.fold(0, |m, (i, g)| m | (u64::from(g.stays_open) << i)),
            open_now: mask(&problem.open_now),
            hand_over: problem.hand_over_minutes,
            floor: floors(
                &sets,
                problem.faults.len(),
                &fixes,
                problem.hand_over_minutes,
            ),
        };
        let alone = |r| {
            let closed = tables.repair_access[r] & !tables.stays;
            tables.repair_minutes[r] + tables.opening(closed, 0)
        };
        tables.repair_alone = (0..tables.repairs()).map(alone).collect();
        Ok(tables)
    }

    /// Number of checks.
    pub(super) fn checks(&self) -> usize {
        self.check_minutes.len()
    }

    /// Number of repairs.
    pub(super) fn repairs(&self) -> usize {
        self.repair_minutes.len()
    }

    /// Row of chances of one outcome, `[state]`.
    pub(super) fn row(&self, check: usize, outcome: usize) -> &[f64] {
        let start = self.block[check] + outcome * self.states;
        &self.likelihood[start..start + self.states]
    }

    /// Minutes to open those of `needed` that are not open.
    pub(super) fn opening(&self, needed: u64, open: u64) -> f64 {
        let mut closed = needed & !open;
        let mut minutes = 0.0;
        while closed != 0 {
            minutes += self.open_minutes[closed.trailing_zeros() as usize];
            closed &= closed - 1;
        }
        minutes
    }

    /// Belief after an outcome; `first` is the first reading when this one is a repeat.
    /// Returns its mass.
    ///
    /// # Formula
    /// `P(o | first, s) = persist [o = first] + (1 - persist) P(o | s)`.
    pub(super) fn observe(
        &self,
        check: usize,
        outcome: usize,
        first: Option<usize>,
        belief: &[f64],
        after: &mut [f64],
    ) -> f64 {
        let row = self.row(check, outcome);
        let (copied, fresh) = match first {
            None => (0.0, 1.0),
            Some(o) => {
                let rho = self.persist[check];
                (if o == outcome { rho } else { 0.0 }, 1.0 - rho)
            }
        };
        weigh(belief, row, (copied, fresh), after)
    }

    /// Does a repair that turns out not to make the engine right: what is left of the
    /// belief. Returns the mass that became right, and the mass that changed at all.
    pub(super) fn repair(&self, repair: usize, belief: &mut [f64]) -> (f64, f64) {
        let (mut right, mut changed) = (0.0, 0.0);
        for t in &self.touched[repair] {
            let b = belief[t.from as usize];
            if b == 0.0 {
                continue;
            }
            right += b * t.right;
            changed += b * (1.0 - t.keep);
            belief[t.from as usize] = b * t.keep;
            for &(to, p) in &self.edges[t.edges.0 as usize..t.edges.1 as usize] {
                belief[to as usize] += b * p;
            }
        }
        (right, changed)
    }

    /// Mass a repair makes right, and mass it changes at all.
    pub(super) fn repair_effect(&self, repair: usize, belief: &[f64]) -> (f64, f64) {
        let (mut right, mut changed) = (0.0, 0.0);
        for t in &self.touched[repair] {
            let b = belief[t.from as usize];
            right += b * t.right;
            changed += b * (1.0 - t.keep);
        }
        (right, changed)
    }

    /// Expected damage of a check.
    pub(super) fn damage(&self, check: usize, belief: &[f64]) -> f64 {
        let risk = &self.check_risk[check];
        risk.iter().zip(belief).map(|(r, b)| r * b).sum()
    }
}

fn mask(groups: &[usize]) -> u64 {
    groups.iter().fold(0, |m, g| m | (1u64 << g))
}

fn state_sets(problem: &Problem) -> (Vec<Vec<usize>>, Vec<f64>) {
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

fn push_likelihood(flat: &mut Vec<f64>, outcomes: &Outcomes, sets: &[Vec<usize>]) -> usize {
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

fn sorted_sets(sets: &[Vec<usize>]) -> Vec<(&[usize], u32)> {
    let each = sets.iter().enumerate();
    let mut by_set: Vec<(&[usize], u32)> = each.map(|(i, s)| (s.as_slice(), i as u32)).collect();
    by_set.sort_unstable();
    by_set
}

/// What one repair does to each state: every fault it fixes goes independently.
fn touch(
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

/// For each repair, the others that touch a state whose weight it changes.
fn neighbours(states: usize, touched: &[Vec<Touched>], edges: &[(u32, f64)]) -> Vec<Vec<u32>> {
    let mut by_state = vec![Vec::new(); states];
    for (r, list) in touched.iter().enumerate() {
        for t in list {
            by_state[t.from as usize].push(r as u32);
        }
    }
    let near = |(r, list): (usize, &Vec<Touched>)| {
        let mut found = Vec::new();
        for t in list {
            found.extend_from_slice(&by_state[t.from as usize]);
            for &(to, _) in &edges[t.edges.0 as usize..t.edges.1 as usize] {
                found.extend_from_slice(&by_state[to as usize]);
            }
        }
        found.sort_unstable();
        found.dedup();
        found.retain(|&other| other as usize != r);
        found
    };
    touched.iter().enumerate().map(near).collect()
}

/// Lower bounds: the dearest fault of the set, repaired knowing it, in order of chance per
/// minute, handing over when that is cheaper. Access is left out, so it is never too high.
fn floors(sets: &[Vec<usize>], faults: usize, repairs: &[(f64, &[f64])], call: f64) -> Vec<f64> {
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
