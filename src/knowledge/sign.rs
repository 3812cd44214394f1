//! Signs: what is seen, heard or smelt at a start, or lasting.
//!
//! A sign takes its chances from a table over at most three driving variables; then each
//! link may speak over it: with chance `speaks` it replaces what stood before by `says`.
//! Must not hold checks: those are things a person does.

use std::collections::BTreeMap;

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

use super::function::FunctionFrom;

/// When a sign is there to be seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// At one observed start.
    Start,
    /// All the time, or from memory.
    Lasting,
}

/// One row of a sign's table: chances given states of the drivers.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct SignRow {
    /// Driver = states it applies to; the first row that fits holds. Empty fits all.
    #[serde(default)]
    pub given: BTreeMap<String, Vec<String>>,
    /// Chance of each state of the sign.
    pub chance: Spanned<Vec<f64>>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
}

/// A part or function state that speaks over the table.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct SignLink {
    /// Variable that speaks; a cylinder part speaks once for each cylinder.
    pub var: Spanned<String>,
    /// State in which it speaks.
    pub state: Spanned<String>,
    /// Chance that it speaks.
    pub speaks: f64,
    /// What it says: state of the sign = share; shares add to one.
    pub says: Spanned<BTreeMap<String, f64>>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
}

/// Something seen, heard or smelt.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Sign {
    /// Identifier, the key in job files.
    pub id: Spanned<String>,
    /// Code in the trade pack's numbering (`S03`); several signs may share one.
    pub code: Spanned<String>,
    /// What a person reads.
    pub label: String,
    /// How to see it, one line.
    pub look: String,
    /// At a start, or lasting.
    pub when: When,
    /// States, the ordinary one first.
    pub states: Vec<String>,
    /// For a sign that may be typed as a number of seconds: upper bound of each state but the last.
    #[serde(default)]
    pub seconds: Option<Vec<f64>>,
    /// Run-to-run spread of the number, as standard deviation of its logarithm.
    #[serde(default)]
    pub seconds_log_sd: Option<f64>,
    /// Driving variables of the table, at most three.
    #[serde(default)]
    pub drivers: Vec<Spanned<String>>,
    /// The table, first fitting row holds.
    #[serde(default)]
    pub row: Vec<SignRow>,
    /// Instead of links: variables that make it worse, by states in order (a noisy maximum).
    #[serde(default)]
    pub from: Vec<FunctionFrom>,
    /// Variables that speak over the table.
    #[serde(default)]
    pub link: Vec<SignLink>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
    /// Index of its file; filled in by the loader.
    #[serde(skip)]
    pub file: usize,
}

impl Sign {
    /// Names of the driving variables.
    #[must_use]
    pub fn drivers_of(&self) -> Vec<&str> {
        self.drivers.iter().map(|d| d.get_ref().as_str()).collect()
    }
}
