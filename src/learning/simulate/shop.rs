//! Shops that differ: where they are, what they own, what they write down.
//!
//! A habit never looks at what is wrong with the engine, only at what was written down before;
//! otherwise scoring could not be honest about readings that were not taken. Must not draw jobs.

use std::collections::BTreeMap;

use super::luck::Luck;
use super::settings::SimulationSettings;
use crate::knowledge::Knowledge;

/// Streams of shops lie apart from those of jobs.
const SHOP_STREAMS: u64 = 1 << 40;
/// Mean air temperature of a shop's winter mornings and its spread over shops, degC; own
/// judgement.
const WINTER: (f64, f64) = (-1.0, 5.0);
/// Chance that a shop owns a tool that not any workshop has; own judgement.
const OWNS: f64 = 0.7;

/// One shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// Its name in job files.
    pub name: String,
    /// Mean temperature of cold starts, degC.
    pub winter: f64,
    /// Tools it owns beside those that any workshop has.
    pub tools: Vec<String>,
    /// How readily it checks a system, as a weight.
    pub liking: BTreeMap<String, f64>,
    /// Mean number of checks on a job.
    pub checks: f64,
    /// Chance that a sign is written down at all.
    pub looks: f64,
    /// Chance of each way to end a repair: shown, cured, believed, guess.
    pub proof: [f64; 4],
    /// Log-odds by which faults of a system are commoner among its engines.
    pub offset: BTreeMap<String, f64>,
}

/// The shops of a simulation.
#[must_use]
pub fn shops(knowledge: &Knowledge, settings: &SimulationSettings) -> Vec<Shop> {
    let mut systems = knowledge
        .parts
        .iter()
        .map(|p| p.system.clone())
        .collect::<Vec<_>>();
    systems.sort();
    systems.dedup();
    let shop = |n: usize| {
        let mut luck = Luck::new(settings.seed, SHOP_STREAMS + n as u64);
        let winter = luck.normal(WINTER.0, WINTER.1);
        let tools = knowledge
            .tools
            .iter()
            .filter(|t| !t.always && luck.happens(OWNS))
            .map(|t| t.id.get_ref().clone())
            .collect();
        let mut liking = BTreeMap::new();
        let mut offset = BTreeMap::new();
        for system in &systems {
            liking.insert(system.clone(), luck.normal(0.0, 0.5).exp());
            offset.insert(system.clone(), luck.normal(0.0, settings.shops_differ));
        }
        let careful = luck.share();
        Shop {
            name: format!("S{:02}", n + 1),
            winter,
            tools,
            liking,
            checks: 2.0 + 4.0 * luck.share(),
            looks: 0.25 + 0.35 * luck.share(),
            proof: [
                0.05 + 0.15 * careful,
                0.3 + 0.3 * careful,
                0.3 - 0.2 * careful,
                0.2 - 0.15 * careful,
            ],
            offset,
        }
    };
    (0..settings.shops.max(1)).map(shop).collect()
}
