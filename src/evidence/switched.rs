//! Evidence of a case with every item as a switch, for one program that answers any subset.
//!
//! Must not know programs.

use super::item::Case;
use super::terms::{Terms, apart, plain};
use crate::network::{Group, Lane, Slot};

/// Lanes a set of evidence may become; beyond, items are left as they stand.
const MOST_LANES: usize = 2000;

/// Evidence of a case whose parts can each be left out lane by lane.
#[derive(Debug, Clone, Default)]
pub struct Switched {
    /// Slots of all items, the complaint first.
    pub slots: Vec<Slot>,
    /// The complaint, then each item, with the logarithm of what was taken out of it.
    parts: Vec<(Terms, f64)>,
}

impl Case {
    /// All items, and the complaint, as switches; with `terms`, items that tie cylinders
    /// together become sums of terms, which is narrower.
    #[must_use]
    pub fn switched(&self, terms: bool) -> Switched {
        let complaint = self.complaint().into_iter().map(|slot| (slot, Vec::new()));
        let mut parts = vec![(plain(complaint), 0.0)];
        let mut lanes = 1;
        for item in &self.items {
            let mut found = plain(item.slots.iter().cloned());
            if terms {
                let narrow = apart(item, &self.model.network);
                if lanes * narrow.terms.len() <= MOST_LANES {
                    lanes *= narrow.terms.len();
                    found = narrow;
                }
            }
            parts.push((found, item.log_scale));
        }
        Switched {
            slots: parts.iter().flat_map(|(t, _)| t.slots.clone()).collect(),
            parts,
        }
    }
}

impl Switched {
    /// Number of items, the complaint apart.
    #[must_use]
    pub fn items(&self) -> usize {
        self.parts.len() - 1
    }

    /// Whether items are sums whose terms may cancel.
    #[must_use]
    pub fn signed(&self) -> bool {
        self.parts.iter().any(|(t, _)| t.guard.is_some())
    }

    /// The lanes that count the items `keep` admits.
    #[must_use]
    pub fn group(&self, complaint: bool, mut keep: impl FnMut(usize) -> bool) -> Group {
        let mut terms = vec![Lane::default()];
        let mut guard = vec![Lane::default()];
        let mut signed = false;
        for (at, (part, log_scale)) in self.parts.iter().enumerate() {
            if !at.checked_sub(1).map_or(complaint, &mut keep) {
                terms = times(&terms, std::slice::from_ref(&part.off), 0.0);
                guard = times(&guard, std::slice::from_ref(&part.off), 0.0);
                continue;
            }
            terms = times(&terms, &part.terms, *log_scale);
            let bound = part.guard.as_ref().map(std::slice::from_ref);
            guard = times(&guard, bound.unwrap_or(&part.terms), *log_scale);
            signed |= part.guard.is_some();
        }
        Group {
            terms,
            guard: if signed { guard } else { Vec::new() },
        }
    }
}

/// Every lane with every choice of inputs behind it.
fn times(lanes: &[Lane], choices: &[Vec<f64>], log_scale: f64) -> Vec<Lane> {
    let with = |lane: &Lane, more: &Vec<f64>| Lane {
        inputs: lane.inputs.iter().chain(more).copied().collect(),
        log_scale: lane.log_scale + log_scale,
    };
    lanes
        .iter()
        .flat_map(|lane| choices.iter().map(move |more| with(lane, more)))
        .collect()
}
