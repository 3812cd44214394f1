//! What the findings of a finished job say of every fault, as a likelihood on its part.
//!
//! With `c` the chance that a fault that is there is found and written down, `w` that a finding
//! names the wrong fault, and `s` how often this one is then named,
//!
//! ```text
//!               there             not there
//! named         c (1 - w)         w s
//! not named     1 - c (1 - w)     1               w = 0 where nothing at all was named
//! refuted       1 - r             r
//! ```
//! so that a cause that is heavy work to reach is not taken for absent because nobody went there.
//! A job that is not finished says nothing. Must not solve.

use std::collections::BTreeMap;

use super::moved::{EDGE, Moved, Starter};
use crate::job::{EntryBody, Job, Proof, finding_proof};
use crate::knowledge::Knowledge;
use crate::learning::labels::reliability;
use crate::network::VarId;
use crate::network::build::{FaultVariable, Model};

/// What was written down of one fault of one cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Said {
    /// Named, with this proof.
    Named(Proof),
    /// Refuted.
    Refuted,
    /// Not named, in a job that is finished.
    NotNamed,
    /// Nothing can be said.
    Nothing,
}

/// The findings of one job.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Terms {
    said: BTreeMap<String, Said>,
    finished: bool,
    /// Chance, of the starter figures, that a fault that was found is missing because another
    /// was named for it.
    mistaken: f64,
}

impl Terms {
    pub fn of(job: &Job, knowledge: &Knowledge) -> Self {
        let mut terms = Self {
            said: BTreeMap::new(),
            finished: false,
            mistaken: 0.0,
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
                        terms.mistaken = terms.mistaken.max(1.0 - reliability(proof));
                    }
                }
                _ => {}
            }
        }
        terms
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
        Said::NotNamed
    }

    /// Part of the faults that are there and not named that nobody found at all.
    pub fn missed(&self, c: f64) -> f64 {
        (1.0 - c) / (1.0 - c * (1.0 - self.mistaken))
    }

    /// Likelihoods of a fault there and not there.
    fn pair(
        &self,
        said: Said,
        id: &str,
        moved: &Moved,
        starter: &Starter,
        cylinders: f64,
    ) -> [f64; 2] {
        let c = moved.confirmed.get(id).copied().unwrap_or(EDGE);
        match said {
            Said::Named(proof) => {
                let w = moved.wrong.get(proof.id()).copied().unwrap_or(0.5);
                let known = starter.faults.iter().find(|f| f.0 == id);
                let blamed = known.map_or(EDGE, |f| f.1.p) / cylinders;
                [c * (1.0 - w), w * blamed]
            }
            Said::Refuted => {
                let r = 1.0 - reliability(Proof::Refuted);
                [1.0 - r, r]
            }
            Said::NotNamed => [1.0 - c * (1.0 - self.mistaken), 1.0],
            Said::Nothing => [1.0, 1.0],
        }
    }

    /// Likelihoods on the parts of a network, for those of which anything is said.
    pub fn slots(
        &self,
        model: &Model,
        moved: &Moved,
        starter: &Starter,
    ) -> Vec<(Vec<VarId>, Vec<f64>)> {
        let mut slots: BTreeMap<VarId, Vec<f64>> = BTreeMap::new();
        if !self.finished {
            return Vec::new();
        }
        let cylinders = model
            .faults
            .iter()
            .filter_map(|f| f.cylinder)
            .max()
            .unwrap_or(1);
        for fault in model.faults.iter().filter(|f| !f.wear_only) {
            let variable = model.now_of(fault);
            let size = model.network.size(variable);
            let id = format!("{}.{}", fault.part, fault.fault);
            let of = if fault.cylinder.is_some() {
                f64::from(cylinders)
            } else {
                1.0
            };
            let [there, not] = self.pair(self.said(fault), &id, moved, starter, of);
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
