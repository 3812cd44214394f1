//! What the findings of a finished job say of every fault, as likelihoods on its part.
//!
//! A finding is right, or its name was put on another fault that was found. Each way of telling
//! the findings of a job apart is a lane of its own. With `c` the chance that a fault that is there
//! is found, `w` that a finding names the wrong one, and `s` how often this one is then named (what
//! is blamed wrongly is what is common on such an engine, by the figures before they are fitted, so
//! that it does not move from round to round),
//!
//! ```text
//!                       there          not there
//! named, rightly        c (1 - w)      0
//! named, wrongly        (1 - c) w s    w s
//! not named             1 - c          1             c where a name was put wrongly
//! refuted               1 - r          r
//! ```
//! so that a cause that is heavy work to reach is not taken for absent because nobody went there.
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
    /// Not named, in a job in which another name was put on something.
    Misnamed,
    /// Nothing can be said.
    Nothing,
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
    pub fn ways(&self) -> Vec<Self> {
        let named = self.said.iter().filter_map(|(id, said)| match said {
            Said::Named(proof) => Some((id.clone(), *proof)),
            _ => None,
        });
        let named = named.take(DOUBTED).collect::<Vec<_>>();
        let way = |wrong: usize| {
            let mut way = self.clone();
            for (at, (id, proof)) in named.iter().enumerate() {
                if wrong >> at & 1 == 1 {
                    way.said.insert(id.clone(), Said::NamedWrongly(*proof));
                }
            }
            way
        };
        (0..1 << named.len()).map(way).collect()
    }

    pub fn said(&self, fault: &FaultVariable) -> Said {
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
        let misnamed = |said: &Said| matches!(said, Said::NamedWrongly(_));
        if self.said.values().any(misnamed) {
            Said::Misnamed
        } else {
            Said::NotNamed
        }
    }

    /// Likelihoods of a fault there and not there.
    fn pair(said: Said, id: &str, moved: &Moved, blamed: f64) -> [f64; 2] {
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
            Said::NotNamed => [1.0 - c, 1.0],
            Said::Misnamed => [c, 1.0],
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
        if !self.finished {
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
            let [there, not] = Self::pair(self.said(fault), &id, moved, blamed);
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
        assert_eq!(ways.len(), 2);
        let starter = Starter::of(&knowledge, 1.0);
        let moved = starter.unmoved();
        let (c, w) = (moved.confirmed["battery.tired"], moved.wrong["guess"]);
        let s = 0.07;
        let pair = |said| Terms::pair(said, "battery.tired", &moved, s);
        assert_eq!(pair(Said::Named(Proof::Guess)), [c * (1.0 - w), 0.0]);
        assert_eq!(pair(Said::NamedWrongly(Proof::Guess))[1], w * s);
        assert_eq!(pair(Said::NotNamed), [1.0 - c, 1.0]);
        // A job that nobody finished says nothing.
        assert_eq!(Terms::of(&Job::new("y", ""), &knowledge).ways().len(), 1);
    }
}
