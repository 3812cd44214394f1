//! What a check tells apart: the finding that says most, the cause it speaks for, and the cause that
//! everything else speaks for.
//!
//! With `o` a finding and `X` a cause, the finding and cause are those of the largest
//! `P(o) (P(X | o) - P(X))`; the other cause is the one that gains most where `o` is not found.
//! Causes of several cylinders count as one: whichever it is. Must not word anything.

use super::checks::Offered;
use super::hypotheses::Hypotheses;
use crate::knowledge::Per;

/// Least a cause moves on average to be named; own judgement.
const LEAST: f64 = 0.005;

/// A cause and what a finding makes of its chance.
#[derive(Debug, Clone, PartialEq)]
pub struct Raised {
    /// What a person reads for the cause, without a cylinder.
    pub label: String,
    /// Chance now.
    pub now: f64,
    /// Chance then.
    pub then: f64,
}

/// What a check tells apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// The finding; `None` for a reading of every cylinder that is odd at any of them.
    pub state: Option<String>,
    /// The cause it speaks for.
    pub towards: Raised,
    /// The cause that everything else speaks for, where one gains by it.
    pub otherwise: Option<Raised>,
}

/// Chances of groups of sets: those in which a cause is, and how they share a finding.
struct Sums {
    /// Chance of each cause.
    now: Vec<f64>,
    /// Chance of each cause together with the finding.
    with: Vec<f64>,
    /// Chance of the finding.
    finding: f64,
}

/// What a check tells apart; nothing where it moves no cause to speak of.
pub(super) fn split(hypotheses: &Hypotheses, offered: &Offered<'_>) -> Option<Split> {
    let (labels, of_sets) = causes(hypotheses);
    let outcomes = offered.names.len();
    // Of a reading at every cylinder: nothing odd, or odd somewhere.
    let findings: Vec<(Option<String>, Vec<usize>)> = match offered.check.per {
        Per::Cylinder if offered.cylinder.is_none() => vec![(None, (1..outcomes).collect())],
        _ => {
            let names = offered.names.iter().enumerate();
            names
                .map(|(o, name)| (Some(name.clone()), vec![o]))
                .collect()
        }
    };
    let mut best: Option<(f64, usize, &Option<String>, Sums)> = None;
    for (state, which) in &findings {
        let sums = sums(hypotheses, &of_sets, labels.len(), |set| {
            which
                .iter()
                .map(|o| offered.chances[set * outcomes + o])
                .sum()
        });
        let gain = |c: usize| sums.with[c] - sums.finding * sums.now[c];
        let Some(most) = (0..labels.len()).max_by(|a, b| gain(*a).total_cmp(&gain(*b))) else {
            continue;
        };
        if gain(most) >= LEAST && best.as_ref().is_none_or(|b| gain(most) > b.0) {
            best = Some((gain(most), most, state, sums));
        }
    }
    let (_, towards, state, sums) = best?;
    let raised = |c: usize, then: f64| Raised {
        label: labels[c].clone(),
        now: sums.now[c],
        then,
    };
    // Chance of a cause where the finding is not there, and what it gains by that.
    let without = |c: usize| (sums.now[c] - sums.with[c]) / (1.0 - sums.finding);
    let gain = |c: &usize| without(*c) - sums.now[*c];
    let others = (0..labels.len()).filter(|c| *c != towards && sums.finding < 1.0);
    let other = others.max_by(|a, b| gain(a).total_cmp(&gain(b)));
    Some(Split {
        state: state.clone(),
        towards: raised(towards, sums.with[towards] / sums.finding),
        otherwise: other
            .filter(|c| gain(c) >= LEAST)
            .map(|c| raised(c, without(c))),
    })
}

/// Names of the causes, and the causes of each set, each once.
fn causes(hypotheses: &Hypotheses) -> (Vec<String>, Vec<Vec<usize>>) {
    let mut kinds: Vec<(&str, &str)> = Vec::new();
    let mut labels = Vec::new();
    let mut of_fault = Vec::new();
    for fault in &hypotheses.faults {
        let kind = (fault.part.as_str(), fault.fault.as_str());
        let at = kinds.iter().position(|k| *k == kind).unwrap_or_else(|| {
            kinds.push(kind);
            labels.push(fault.label.clone());
            kinds.len() - 1
        });
        of_fault.push(at);
    }
    let of_set = |set: &Vec<usize>| {
        let mut all: Vec<usize> = set.iter().map(|f| of_fault[*f]).collect();
        all.sort_unstable();
        all.dedup();
        all
    };
    let of_sets = hypotheses.sets.iter().map(of_set).collect();
    (labels, of_sets)
}

fn sums(
    hypotheses: &Hypotheses,
    of_sets: &[Vec<usize>],
    causes: usize,
    shown: impl Fn(usize) -> f64,
) -> Sums {
    let mut sums = Sums {
        now: vec![0.0; causes],
        with: vec![0.0; causes],
        finding: 0.0,
    };
    for (set, (weight, of)) in hypotheses.weights.iter().zip(of_sets).enumerate() {
        let both = weight * shown(set);
        sums.finding += both;
        for cause in of {
            sums.now[*cause] += weight;
            sums.with[*cause] += both;
        }
    }
    sums
}
