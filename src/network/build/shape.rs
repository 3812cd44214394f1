//! What of an engine and a start decides the network.
//!
//! Must not hold readings.

use crate::knowledge::{Knowledge, Needs};

/// An engine by shape. Words are those of the knowledge files; `unknown` is allowed for the
/// wiring and the pump, not for chamber and preheat: an engine whose kind is not known is
/// reckoned once for each kind.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Shape {
    /// Number of cylinders.
    pub cylinders: u8,
    /// Combustion chamber.
    pub chamber: String,
    /// Kind of preheat.
    pub preheat: String,
    /// Wiring of the preheat.
    pub wiring: String,
    /// Kind of pump.
    pub pump: String,
}

impl Shape {
    /// Whether something that needs this exists on the engine.
    #[must_use]
    pub fn has(&self, needs: &Needs) -> bool {
        let fits = |list: &[String], word: &str, unknown_fits: bool| {
            list.is_empty() || list.iter().any(|w| w == word) || (unknown_fits && word == "unknown")
        };
        fits(&needs.preheat, &self.preheat, false)
            && fits(&needs.chamber, &self.chamber, false)
            && fits(&needs.wiring, &self.wiring, false)
            && fits(&needs.pump, &self.pump, true)
    }

    /// Key of the preheat in the root layer: plugs in series count as a kind of their own.
    #[must_use]
    pub fn root_key(&self) -> &str {
        if self.preheat == "plugs" && self.wiring == "series" {
            "plugs_series"
        } else {
            &self.preheat
        }
    }
}

/// A cold start as far as the engine's insides go: several observed starts may share one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// Temperature of the engine, degC.
    pub temperature: f64,
    /// Whether the line was full of fuel: primed by hand before, or after a short stand.
    pub primed: bool,
}

/// Identifier of the temperature band that holds a temperature.
#[must_use]
pub fn band(knowledge: &Knowledge, temperature: f64) -> &str {
    let bands = &knowledge.engines.band;
    bands
        .iter()
        .find(|b| temperature >= b.from && temperature < b.to)
        .or_else(|| bands.last())
        .map_or("", |b| b.id.as_str())
}
