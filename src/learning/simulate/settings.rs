//! What a simulation draws: how many shops, how careless, how honest their labels.
//!
//! Must not draw anything.

use crate::network::build::BuildError;

/// How jobs are drawn. Shares are fractions.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulationSettings {
    /// Seed of everything.
    pub seed: u64,
    /// Number of shops, at least one.
    pub shops: usize,
    /// How far shops differ in what breaks: standard deviation of the log-odds of a system's
    /// faults in one shop; nought for shops that see the same engines.
    pub shops_differ: f64,
    /// Share of looks and readings of which no result was written down, whatever the shop's
    /// own habit.
    pub missing: f64,
    /// Share of readings written down wrongly.
    pub misread: f64,
    /// Share of findings that name the wrong fault; `None` lets it follow from the proof.
    pub wrong_labels: Option<f64>,
    /// Chambers, kinds of preheat and cylinders drawn are those of `kinds`; empty takes the
    /// mix of the figures.
    pub kinds: Vec<(String, String)>,
    /// Numbers of cylinders and their weights.
    pub cylinders: Vec<(u8, f64)>,
    /// Most checks done on one job.
    pub most_checks: usize,
    /// The same temperatures, looks and checks at every job, instead of a shop's habit.
    pub routine: Option<Routine>,
}

/// A fixed routine, the same at every job.
#[derive(Debug, Clone, PartialEq)]
pub struct Routine {
    /// Temperatures, all alike, degC.
    pub temperatures: Vec<f64>,
    /// Signs always written down, by somebody sure.
    pub signs: Vec<String>,
    /// Checks always done.
    pub checks: Vec<String>,
}

impl Routine {
    /// Three temperatures, three signs, four checks that look at one part each: few patterns of
    /// evidence, for runs of a million.
    #[must_use]
    pub fn plain() -> Self {
        let words = |list: &[&str]| list.iter().map(|w| (*w).to_owned()).collect();
        Self {
            temperatures: vec![-10.0, 0.0, 10.0],
            signs: words(&["crank_time", "smoke_cranking", "miss"]),
            checks: words(&[
                "battery_gravity",
                "feed_while_cranking",
                "oil_on_dipstick",
                "water_in_bowl",
            ]),
        }
    }
}

impl Default for SimulationSettings {
    /// Five shops with ordinary habits; mixes are own judgement.
    fn default() -> Self {
        Self {
            seed: 1,
            shops: 5,
            shops_differ: 0.3,
            missing: 0.2,
            misread: 0.01,
            wrong_labels: None,
            kinds: Vec::new(),
            cylinders: vec![(3, 0.1), (4, 0.72), (5, 0.06), (6, 0.12)],
            most_checks: 8,
            routine: None,
        }
    }
}

impl SimulationSettings {
    /// Four-cylinder swirl-chamber engines with plugs, by a fixed routine.
    #[must_use]
    pub fn plain(seed: u64) -> Self {
        Self {
            seed,
            shops_differ: 0.0,
            missing: 0.0,
            misread: 0.0,
            kinds: vec![("swirl".to_owned(), "plugs".to_owned())],
            cylinders: vec![(4, 1.0)],
            routine: Some(Routine::plain()),
            ..Self::default()
        }
    }
}

/// Why jobs cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SimulationError {
    /// A network cannot be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// An engine of this kind never comes with the complaint.
    #[error("no complaint in {0} draws: the figures say such an engine always starts")]
    NeverComplains(usize),
}
