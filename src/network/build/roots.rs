//! Starting chances of the faults in one context.
//!
//! Fitted cells by band, chamber and preheat, plus log-odds of other contexts. Must not fit.

use std::collections::BTreeMap;

use super::shape::{Shape, band};
use crate::knowledge::Knowledge;

/// Chance before any complaint where the root layer has none: faults that no trade share
/// pins down.
const UNFITTED: f64 = 0.01;

/// Chance of each fault, `part.fault`, before any complaint.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RootChances(pub BTreeMap<String, f64>);

impl RootChances {
    /// The chance of a fault.
    #[must_use]
    pub fn get(&self, fault: &str) -> f64 {
        self.0.get(fault).copied().unwrap_or(UNFITTED)
    }
}

/// Chances for an engine at a temperature in some other contexts.
#[must_use]
pub fn root_chances(
    knowledge: &Knowledge,
    shape: &Shape,
    temperature: f64,
    contexts: &[String],
) -> RootChances {
    let band = band(knowledge, temperature);
    let cell =
        knowledge.roots.cell.iter().find(|c| {
            c.band == band && c.chamber == shape.chamber && c.preheat == shape.root_key()
        });
    let mut chances = cell.map(|c| c.chance.clone()).unwrap_or_default();
    for other in &knowledge.roots.other {
        if contexts.contains(other.context.get_ref()) {
            for (fault, offset) in &other.offset {
                if let Some(chance) = chances.get_mut(fault) {
                    let odds = (*chance / (1.0 - *chance)).ln() + offset;
                    *chance = 1.0 / (1.0 + (-odds).exp());
                }
            }
        }
    }
    RootChances(chances)
}
