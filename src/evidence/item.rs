//! What evidence is: items, each a likelihood on a few variables, and the cases they form.
//!
//! Must not gather anything.

use std::collections::BTreeMap;

use crate::job::StartResult;
use crate::network::build::Model;
use crate::network::{Lane, Request, Seen, Shelf, Slot, VarId};

/// What kind of entry an item comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A sign told.
    Told {
        /// Sign.
        sign: String,
    },
    /// A sign seen at a start, numbered from 1.
    Seen {
        /// Sign.
        sign: String,
        /// Start.
        start: usize,
    },
    /// What somebody says of a start after work.
    Verdict {
        /// What is said.
        result: StartResult,
        /// Start, numbered from 1.
        start: usize,
    },
    /// A reading.
    Reading {
        /// Check.
        check: String,
        /// Cylinder.
        cylinder: Option<u8>,
    },
    /// Repeated timings judged together, over all cylinders.
    Timings {
        /// Check.
        check: String,
    },
}

/// One piece of evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Position of the entry in the job; the last of several that are judged together.
    pub entry: usize,
    /// Where it comes from.
    pub source: Source,
    /// What was typed.
    pub typed: String,
    /// Slots it fills, with their likelihoods (none for a hard slot). Together they are one item:
    /// readings that share an unknown rated value stand or fall together.
    pub slots: Vec<(Slot, Vec<f64>)>,
    /// A variable of the slots that may be summed term by term instead of standing between the
    /// cylinders: a rated value of this item alone, or a count.
    pub shared: Option<VarId>,
    /// Natural logarithm of what was taken out of the likelihoods.
    pub log_scale: f64,
}

/// A job on one kind of engine.
#[derive(Debug, Clone)]
pub struct Case {
    /// Combustion chamber reckoned with.
    pub chamber: String,
    /// Kind of preheat reckoned with.
    pub preheat: String,
    /// Chance of this kind before any reading; over all cases of a job they add to one.
    pub weight: f64,
    /// The network.
    pub model: Model,
    /// Evidence, in the order of entries. All cases of a job have the same items in the same
    /// order, so that one set of positions means the same in each; a kind of engine that lacks
    /// what was read has an item without slots there.
    pub items: Vec<Item>,
}

/// Something of a job that is not used, or is used under an assumption.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Remark {
    /// A reading of something this engine does not have.
    NotOnEngine {
        /// Entry.
        entry: usize,
        /// Check or sign.
        id: String,
    },
    /// A reading that only some of the kinds of engine reckoned with can have.
    OnSomeEngines {
        /// Entry.
        entry: usize,
        /// Check or sign.
        id: String,
    },
    /// The number is hard to believe and nobody confirmed it.
    Suspect {
        /// Entry.
        entry: usize,
        /// Check or sign.
        id: String,
        /// Why.
        why: String,
    },
    /// What was seen at a start, left out because all starts together are too much to reckon with.
    TooMuch {
        /// Entry.
        entry: usize,
    },
    /// Set aside by a person.
    SetAside {
        /// Entry.
        entry: usize,
    },
    /// Number of cylinders not known: reckoned with so many.
    CylindersAssumed(u8),
    /// No temperature known: reckoned with so many degC.
    TemperatureAssumed(i32),
    /// The kind of engine is not known: several were reckoned and mixed.
    KindsMixed(usize),
    /// Meter leads were not measured before low ohms.
    LeadsUnknown {
        /// Entry.
        entry: usize,
    },
}

/// All evidence of a job.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// Positions of the findings that a right cold start after their repair stands behind.
    pub proven: Vec<usize>,
    /// One case a kind of engine that may be.
    pub cases: Vec<Case>,
    /// What is left out or assumed.
    pub remarks: Vec<Remark>,
    /// Temperature of the complaint, degC.
    pub temperature: f64,
    /// Names of the contexts that shift the starting chances.
    pub contexts: Vec<String>,
    /// Where programs for it are looked for and kept.
    pub shelf: Shelf,
}

impl Evidence {
    /// The same, with programs looked for and kept on a shelf.
    #[must_use]
    pub fn on(mut self, shelf: &Shelf) -> Self {
        self.shelf = shelf.clone();
        self
    }
}

impl Case {
    /// The class of evidence of the items that `keep` admits, and its lane; the complaint is
    /// always there.
    #[must_use]
    pub fn request(
        &self,
        queries: Vec<Vec<VarId>>,
        restarts: usize,
        mut keep: impl FnMut(usize) -> bool,
    ) -> (Request, Lane) {
        let mut slots = self.complaint();
        let mut inputs = Vec::new();
        let mut log_scale = 0.0;
        for (at, item) in self.items.iter().enumerate() {
            if keep(at) {
                for (slot, values) in &item.slots {
                    slots.push(slot.clone());
                    inputs.extend_from_slice(values);
                }
                log_scale += item.log_scale;
            }
        }
        let request = Request {
            slots,
            queries,
            restarts,
        };
        (request, Lane { inputs, log_scale })
    }

    /// As [`Case::request`] for all items, with the likelihoods on the same variables multiplied
    /// into one slot and slots in a fixed order: so that jobs on which the same was looked at are
    /// of one class.
    #[must_use]
    pub fn merged_request(&self, queries: Vec<Vec<VarId>>, restarts: usize) -> (Request, Lane) {
        self.merged_with(Vec::new(), queries, restarts)
    }

    /// As [`Case::merged_request`], with further soft slots and their likelihoods.
    #[must_use]
    pub fn merged_with(
        &self,
        further: Vec<(Vec<VarId>, Vec<f64>)>,
        queries: Vec<Vec<VarId>>,
        restarts: usize,
    ) -> (Request, Lane) {
        let (all, lane) = self.request(queries, restarts, |_| true);
        let network = &self.model.network;
        let mut soft: BTreeMap<Vec<VarId>, Vec<f64>> = BTreeMap::new();
        let mut multiply = |scope: Vec<VarId>, own: &[f64]| {
            let values = soft.entry(scope).or_insert_with(|| vec![1.0; own.len()]);
            values.iter_mut().zip(own).for_each(|(v, o)| *v *= o);
        };
        let mut other = Vec::new();
        let mut inputs = lane.inputs.as_slice();
        for slot in all.slots {
            let count = match slot.seen {
                Seen::Hard(_) => 0,
                Seen::Mostly(_) | Seen::Switch(_) => 2,
                Seen::Soft | Seen::Known => slot.scope.iter().map(|v| network.size(*v)).product(),
            };
            let (own, rest) = inputs.split_at(count.min(inputs.len()));
            inputs = rest;
            if slot.seen == Seen::Soft {
                multiply(slot.scope, own);
            } else {
                other.push((slot, own.to_vec()));
            }
        }
        for (scope, own) in further {
            multiply(scope, &own);
        }
        other.sort_by(|a, b| a.0.cmp(&b.0));
        let soft = soft.into_iter().map(|(scope, values)| {
            let seen = Seen::Soft;
            (Slot { scope, seen }, values)
        });
        let (slots, inputs): (Vec<_>, Vec<_>) = other.into_iter().chain(soft).unzip();
        let request = Request {
            slots,
            queries: all.queries,
            restarts,
        };
        let lane = Lane {
            inputs: inputs.concat(),
            log_scale: lane.log_scale,
        };
        (request, lane)
    }

    /// The slot of the complaint.
    #[must_use]
    pub fn complaint(&self) -> Vec<Slot> {
        let scope = self.model.complaint.into_iter().collect::<Vec<_>>();
        vec![Slot {
            scope,
            seen: Seen::Hard(1),
        }]
    }
}
