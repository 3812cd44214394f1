//! Parts and their faults, as the files of `priors/` state them.
//!
//! A part is a thing that can be wrong, one variable; its states are `sound` and its
//! faults, which exclude each other. Must not hold starting chances: those are fitted
//! and live in the root layer.

use std::collections::BTreeMap;

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

/// Whether a part, function, sign or check exists once or once a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scope {
    /// One copy for the whole engine.
    Engine,
    /// One copy for each cylinder.
    Cylinder,
}

/// What the engine must have for a part, check or repair to exist. An empty list means "any".
/// An engine whose field is unknown is reckoned once for each possibility.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize, Serialize)]
#[serde(deny_unknown_fields, default)]
pub struct Needs {
    /// Kinds of preheat it exists on.
    pub preheat: Vec<String>,
    /// Wirings of the preheat circuit it exists on (`unknown` counts as any but `series`).
    pub wiring: Vec<String>,
    /// Kinds of pump it exists on.
    pub pump: Vec<String>,
    /// Combustion chambers it exists on.
    pub chamber: Vec<String>,
}

/// One way a part is wrong.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// Name of the fault within its part, the state of the variable.
    pub id: Spanned<String>,
    /// Code of the fault in the trade pack's numbering (`P01`), by which the tables join.
    pub code: Spanned<String>,
    /// Further codes of the same fault, where the trade counts one part twice.
    #[serde(default)]
    pub also: Vec<String>,
    /// What a person reads, without the cylinder.
    pub label: String,
    /// How it makes the engine start badly, one line.
    pub mechanism: String,
    /// Share of this state within its code, where several states carry one code (default 1).
    #[serde(default)]
    pub part_of_code: Option<f64>,
    /// Code whose share moves the starting chance of this state, for a set that is merely aged.
    #[serde(default)]
    pub moves_with: Option<String>,
    /// Chance the fitting starts from, where the share alone would not tell.
    #[serde(default)]
    pub starts_at: Option<f64>,
    /// Not a fault in the sense of "something to mend" by itself (a set that is merely aged).
    #[serde(default)]
    pub wear_only: bool,
}

/// A thing that can be wrong: one variable of the network, or one a cylinder.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Identifier, also the name of the variable.
    pub id: Spanned<String>,
    /// What a person reads.
    pub label: String,
    /// Once, or once a cylinder.
    pub scope: Scope,
    /// What the engine must have for the part to exist.
    #[serde(default)]
    pub needs: Needs,
    /// The faults; `sound` is implied as the first state.
    pub fault: Vec<Fault>,
    /// Engine-wide part on whose state the chances of this one depend (`plug` on `plug_set`).
    #[serde(default)]
    pub given: Option<Spanned<String>>,
    /// For a part with `given`: for states of that part, the chances of the faults. In a state
    /// that is not named the fitted chances hold.
    #[serde(default)]
    pub given_rows: BTreeMap<String, Vec<f64>>,
    /// Source of these figures, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
    /// System the part belongs to; filled in from its file.
    #[serde(skip)]
    pub system: String,
    /// Index of its file; filled in by the loader.
    #[serde(skip)]
    pub file: usize,
}

/// Share of one fault code among a hundred complaints, and how context moves it.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Share {
    /// Code of the fault.
    pub code: Spanned<String>,
    /// Share per hundred complaints: engine with plugs, swirl or pre-chamber, about 0 degC.
    pub base: f64,
    /// Shares that replace the base on special equipment (`series`, `intake_grid`, `flame`).
    #[serde(default)]
    pub base_on: BTreeMap<String, f64>,
    /// Row of multipliers that applies (`preheat`, `cranking`, ...), or `none`.
    pub multipliers: String,
    /// Multipliers of single contexts that replace those of the row.
    #[serde(default)]
    pub instead: BTreeMap<String, f64>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
}

impl Part {
    /// Names of the states, `sound` first.
    #[must_use]
    pub fn states(&self) -> Vec<String> {
        std::iter::once("sound".to_owned())
            .chain(self.fault.iter().map(|f| f.id.get_ref().clone()))
            .collect()
    }
}
