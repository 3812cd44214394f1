//! Starting chances of the faults in one context.
//!
//! Fitted cells by band, chamber and preheat, plus log-odds of other contexts, plus what a fitted
//! layer adds. Must not fit.

use std::collections::BTreeMap;

use super::shape::{Shape, band};
use crate::knowledge::{Fault, Knowledge};

/// Chance before any complaint where the root layer has none: faults that no trade share
/// pins down.
const UNFITTED: f64 = 0.01;

/// What a context that names a shop begins with.
pub const SHOP: &str = "shop:";

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

/// Share of a fault among complaints, 0 to 1, where the trade counts faults of its code.
#[must_use]
pub fn counted_share(knowledge: &Knowledge, fault: &Fault) -> Option<f64> {
    let mut shares = knowledge.engines.share.iter();
    let share = shares.find(|s| s.code.get_ref() == fault.code.get_ref())?;
    Some(share.base / 100.0 * fault.part_of_code.unwrap_or(1.0))
}

/// What decides the starting chances of an engine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct RootContext {
    /// Temperature band.
    pub band: String,
    /// Combustion chamber.
    pub chamber: String,
    /// Kind of preheat, plugs in series apart.
    pub preheat: String,
    /// Other contexts.
    pub contexts: Vec<String>,
}

impl RootContext {
    /// That of an engine at a temperature.
    #[must_use]
    pub fn of(knowledge: &Knowledge, shape: &Shape, temperature: f64, contexts: &[String]) -> Self {
        Self {
            band: band(knowledge, temperature).to_owned(),
            chamber: shape.chamber.clone(),
            preheat: shape.root_key().to_owned(),
            contexts: contexts.to_vec(),
        }
    }

    /// Chances in it before a fitted layer moves them.
    #[must_use]
    pub fn unmoved(&self, knowledge: &Knowledge) -> RootChances {
        let cell = knowledge.roots.cell.iter().find(|c| {
            c.band == self.band && c.chamber == self.chamber && c.preheat == self.preheat
        });
        let mut chances = cell.map(|c| c.chance.clone()).unwrap_or_default();
        for other in &knowledge.roots.other {
            if self.contexts.contains(other.context.get_ref()) {
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
}

/// Chances for an engine at a temperature in some other contexts.
#[must_use]
pub fn root_chances(
    knowledge: &Knowledge,
    shape: &Shape,
    temperature: f64,
    contexts: &[String],
) -> RootChances {
    let context = RootContext::of(knowledge, shape, temperature, contexts);
    let mut chances = context.unmoved(knowledge);
    if knowledge.roots.shift.is_empty() && knowledge.roots.shop.is_empty() {
        return chances;
    }
    let shops = contexts.iter().filter_map(|c| c.strip_prefix(SHOP));
    let shop = shops.filter_map(|s| knowledge.roots.shop.get(s)).next();
    for part in &knowledge.parts {
        let ids = part.fault.iter().map(|f| {
            let id = format!("{}.{}", part.id.get_ref(), f.id.get_ref());
            let of = |list: &BTreeMap<String, f64>| list.get(&id).copied().unwrap_or(0.0);
            let by = of(&knowledge.roots.shift) + shop.map_or(0.0, of);
            (id, by)
        });
        let (ids, by): (Vec<_>, Vec<_>) = ids.unzip();
        if by.iter().any(|z| *z != 0.0) {
            let row = ids.iter().map(|id| chances.get(id)).collect::<Vec<_>>();
            chances.0.extend(ids.into_iter().zip(moved_row(&row, &by)));
        }
    }
    chances
}

/// Chances of the faults of one part, what is left being sound, with log-weights added to them:
/// `p_f e^z_f / (1 - sum p + sum p e^z)`.
#[must_use]
pub fn moved_row(row: &[f64], by: &[f64]) -> Vec<f64> {
    let sound = 1.0 - row.iter().sum::<f64>();
    let weights = row.iter().zip(by).map(|(p, z)| p * z.exp());
    let weights = weights.collect::<Vec<_>>();
    let total = sound.max(0.0) + weights.iter().sum::<f64>();
    weights.into_iter().map(|w| w / total).collect()
}
