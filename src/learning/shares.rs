//! What share of complaints each fault should be, by context.
//!
//! The trade states shares given the complaint; multipliers of a context act on them and the
//! result is brought back to a hundred. Must not touch a network.

use std::collections::BTreeMap;

use crate::knowledge::{Knowledge, Share};
use crate::network::build::Shape;

/// Shares per hundred by fault code, and the code of what no trade share knows, kept apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Share per hundred, adding to a hundred over all codes.
    pub share: BTreeMap<String, f64>,
}

/// Target shares for an engine in a temperature band, in one other context or none.
#[must_use]
pub fn targets(knowledge: &Knowledge, shape: &Shape, band: &str, context: Option<&str>) -> Target {
    let mut share = BTreeMap::new();
    for row in &knowledge.engines.share {
        let code = row.code.get_ref();
        let here = knowledge
            .parts
            .iter()
            .any(|p| shape.has(&p.needs) && p.fault.iter().any(|f| f.code.get_ref() == code));
        if !here {
            continue;
        }
        let special = row.base_on.get(shape.root_key());
        let mut weight = special.copied().unwrap_or(row.base);
        if special.is_none() {
            if shape.preheat != "plugs" {
                weight *= factor(knowledge, row, "no_plugs");
            } else if shape.chamber == "direct" {
                weight *= factor(knowledge, row, "direct_plugs");
            }
        }
        weight *= factor(knowledge, row, band);
        if let Some(context) = context {
            weight *= factor(knowledge, row, context);
        }
        share.insert(code.clone(), weight);
    }
    let total: f64 = share.values().sum();
    share.values_mut().for_each(|s| *s *= 100.0 / total);
    Target { share }
}

fn factor(knowledge: &Knowledge, row: &Share, context: &str) -> f64 {
    row.instead.get(context).copied().unwrap_or_else(|| {
        knowledge
            .engines
            .multipliers
            .get(&row.multipliers)
            .and_then(|m| m.get(context))
            .copied()
            .unwrap_or(1.0)
    })
}
