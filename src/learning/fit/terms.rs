//! What the findings of a finished job say of every fault, as likelihoods on its part.
//!
//! A finding is right, or its name was put on another fault that was found. Each way of telling
//! the findings of a job apart is a lane of its own. With `c` the chance that a fault that is there
//! is found, `w` that a finding names the wrong one, and `s` how often this one is then named (what
//! is blamed wrongly is what is common on such an engine, by the figures before they are fitted, so
//! that it does not move from round to round),
//!
//! ```text
//!                       there            not there
//! named, rightly        c (1 - w)        0
//! named, wrongly        (1 - c) w s      w s
//! not named             1 - c + t c      1
//! refuted               1 - r            r
//! ```
//! where `m` names were put wrongly, `m` faults were found that are not named: the coefficient of
//! `t^m` in the chance of all that was seen. It is taken as a central difference over [`STEP`], a sum
//! of lanes with signs; what that leaves out is less by the square of the step.
//!
//! So a cause that is heavy work to reach is not taken for absent because nobody went there.
//! A job that is not finished says nothing. Must not solve.

use std::collections::BTreeMap;

use super::moved::{EDGE, Moved};
use crate::job::{EntryBody, Job, Proof, finding_proof};
use crate::knowledge::Knowledge;
use crate::learning::labels::reliability;
use crate::network::VarId;
use crate::network::build::{FaultVariable, Model, RootChances};

/// Findings of one job that may be wrong; further ones are taken as right.
const DOUBTED: usize = 3;
/// Findings of one job that are wrong together, at most: three are so seldom that they say nothing.
const WRONG: usize = 2;
/// Step of the central differences: what they leave out is less by its square, what cancels grows
/// with it. No more than a fault is left unfound at least, so that no lane is negative.
const STEP: f64 = EDGE;

/// What was written down of one fault of one cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Said {
    /// Named, with this proof.
    Named(Proof),
    /// The name was put on another fault.
    NamedWrongly(Proof),
    /// Refuted.
    Refuted,
    /// Not named, in a job that is finished.
    NotNamed,
    /// Nothing can be said.
    Nothing,
}

/// One term of a way of telling the findings of a job apart.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    terms: Terms,
    /// The `t` of this lane.
    mark: f64,
    /// How much the lane counts for; terms of a difference have signs.
    pub counts: f64,
}

/// The findings of one job.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Terms {
    said: BTreeMap<String, Said>,
    finished: bool,
}

impl Terms {
    pub fn of(job: &Job, knowledge: &Knowledge) -> Self {
        let mut terms = Self {
            said: BTreeMap::new(),
            finished: false,
        };
        for entry in job.entries.iter().filter(|e| e.is_used()) {
            match &entry.body {
                EntryBody::Mark(_) => terms.finished = true,
                EntryBody::Finding(finding) => {
                    terms.finished = true;
                    let id = match finding.cylinder {
                        Some(c) => format!("{}:{c}", finding.fault),
                        None => finding.fault.clone(),
                    };
                    let proof = finding_proof(job, finding, knowledge);
                    if proof == Proof::Refuted {
                        terms.said.entry(id).or_insert(Said::Refuted);
                    } else {
                        terms.said.insert(id, Said::Named(proof));
                    }
                }
                _ => {}
            }
        }
        terms
    }

    /// The findings told apart in every way: all right, each wrong, and so on.
    pub fn ways(&self) -> Vec<Way> {
        let named = self.said.iter().filter_map(|(id, said)| match said {
            Said::Named(proof) => Some((id.clone(), *proof)),
            _ => None,
        });
        let named = named.take(DOUBTED).collect::<Vec<_>>();
        let mut ways = Vec::new();
        for which in 0..1_usize << named.len() {
            let wrong = named.iter().enumerate();
            let wrong = wrong.filter(|(at, _)| which >> at & 1 == 1);
            let mut terms = self.clone();
            for (_, (id, proof)) in wrong {
                terms.said.insert(id.clone(), Said::NamedWrongly(*proof));
            }
            let lanes = coefficient(which.count_ones() as usize);
            ways.extend(lanes.iter().map(|(mark, counts)| Way {
                terms: terms.clone(),
                mark: *mark,
                counts: *counts,
            }));
        }
        ways
    }

    fn said(&self, fault: &FaultVariable) -> Said {
        let id = format!("{}.{}", fault.part, fault.fault);
        if !self.finished || fault.wear_only {
            return Said::Nothing;
        }
        if let Some(said) = self.said.get(&fault.id()) {
            return *said;
        }
        // Named without its cylinder: it may be any of them.
        if fault.cylinder.is_some() && self.said.contains_key(&id) {
            return Said::Nothing;
        }
        Said::NotNamed
    }
}

/// Marks and weights of the lanes whose sum is the coefficient of `t^wrong`; none where so many are
/// not wrong together.
fn coefficient(wrong: usize) -> &'static [(f64, f64)] {
    const ONE: f64 = 0.5 / STEP;
    const TWO: f64 = 0.5 / (STEP * STEP);
    match wrong {
        0 => &[(0.0, 1.0)],
        1 => &[(STEP, ONE), (-STEP, -ONE)],
        WRONG => &[(STEP, TWO), (0.0, -2.0 * TWO), (-STEP, TWO)],
        _ => &[],
    }
}

impl Way {
    /// What this way says of a fault.
    pub fn said(&self, fault: &FaultVariable) -> Said {
        self.terms.said(fault)
    }

    /// Of a fault that is there and not named: shares in which it was found, under another name,
    /// and in which it was not.
    pub fn unnamed(&self, confirmed: f64) -> [f64; 2] {
        let (found, not) = (self.mark * confirmed, 1.0 - confirmed);
        [found / (found + not), not / (found + not)]
    }

    /// Likelihoods of a fault there and not there.
    fn pair(&self, said: Said, id: &str, moved: &Moved, blamed: f64) -> [f64; 2] {
        let c = moved.confirmed.get(id).copied().unwrap_or(EDGE);
        let wrong = |proof: Proof| moved.wrong.get(proof.id()).copied().unwrap_or(0.5);
        match said {
            Said::Named(proof) => [c * (1.0 - wrong(proof)), 0.0],
            Said::NamedWrongly(proof) => {
                let named = wrong(proof) * blamed;
                [(1.0 - c) * named, named]
            }
            Said::Refuted => {
                let r = 1.0 - reliability(Proof::Refuted);
                [1.0 - r, r]
            }
            Said::NotNamed => [1.0 - c + self.mark * c, 1.0],
            Said::Nothing => [1.0, 1.0],
        }
    }

    /// Likelihoods on the parts of a network, for those of which anything is said; `usual` are
    /// the starting chances of such an engine before anything is fitted.
    pub fn slots(
        &self,
        model: &Model,
        moved: &Moved,
        usual: &RootChances,
    ) -> Vec<(Vec<VarId>, Vec<f64>)> {
        let mut slots: BTreeMap<VarId, Vec<f64>> = BTreeMap::new();
        if !self.terms.finished {
            return Vec::new();
        }
        let id = |fault: &FaultVariable| format!("{}.{}", fault.part, fault.fault);
        let faults = || model.faults.iter().filter(|f| !f.wear_only);
        let all: f64 = faults().map(|f| usual.get(&id(f))).sum();
        for fault in faults() {
            let variable = model.now_of(fault);
            let size = model.network.size(variable);
            let id = id(fault);
            let blamed = usual.get(&id) / all;
            let [there, not] = self.pair(self.said(fault), &id, moved, blamed);
            let values = slots.entry(variable).or_insert_with(|| vec![1.0; size]);
            for (state, value) in values.iter_mut().enumerate() {
                *value *= if state == fault.state { there } else { not };
            }
        }
        slots
            .into_iter()
            .map(|(v, values)| (vec![v], values))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::moved::Starter;
    use super::*;
    use crate::job::{Entry, Finding};
    use crate::knowledge::{KnowledgeFiles, load};

    /// Expected values: the table above by hand.
    #[test]
    fn findings_are_right_or_put_on_another() {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let mut job = Job::new("x", "");
        job.entries.push(Entry::new(EntryBody::Finding(Finding {
            fault: "battery.tired".to_owned(),
            cylinder: None,
            proof: Some(Proof::Guess),
        })));
        let ways = Terms::of(&job, &knowledge).ways();
        // All right, and wrong as a difference of two.
        assert_eq!(ways.len(), 3);
        let starter = Starter::of(&knowledge, 1.0);
        let moved = starter.unmoved();
        let (c, w) = (moved.confirmed["battery.tired"], moved.wrong["guess"]);
        let s = 0.07;
        let pair = |said| ways[0].pair(said, "battery.tired", &moved, s);
        assert_eq!(pair(Said::Named(Proof::Guess)), [c * (1.0 - w), 0.0]);
        assert_eq!(pair(Said::NamedWrongly(Proof::Guess))[1], w * s);
        assert_eq!(pair(Said::NotNamed), [1.0 - c, 1.0]);
        // A job that nobody finished says nothing.
        assert_eq!(Terms::of(&Job::new("y", ""), &knowledge).ways().len(), 1);
    }
    /// Expected: the sums written out. Which of the faults that were found goes without its name
    /// is summed over; a job in which one name is wrong once counted every fault that is there and
    /// not named as found, so that causes that are seldom found were taken for absent.
    #[test]
    fn as_many_are_found_without_a_name_as_names_are_wrong() {
        let c = [0.9, 0.4, 0.01];
        let not = |except: &[usize]| -> f64 {
            (0..3)
                .filter(|i| !except.contains(i))
                .map(|i| 1.0 - c[i])
                .product()
        };
        let lane = |mark: f64| c.iter().map(|c| 1.0 - c + mark * c).product::<f64>();
        let sum = |m: usize| {
            coefficient(m)
                .iter()
                .map(|(t, w)| w * lane(*t))
                .sum::<f64>()
        };
        let one: f64 = (0..3).map(|i| c[i] * not(&[i])).sum();
        let two: f64 = [(0, 1), (0, 2), (1, 2)]
            .map(|(i, j)| c[i] * c[j] * not(&[i, j]))
            .iter()
            .sum();
        assert!((sum(0) - not(&[])).abs() < 1e-15);
        assert!((sum(1) - one).abs() < 1e-7 * one);
        assert!((sum(2) - two).abs() < 1e-6 * two);
        assert_eq!(sum(3), 0.0);
    }
}
