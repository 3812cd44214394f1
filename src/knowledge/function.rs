//! Functions: what a system delivers, as a fold over the parts behind it.
//!
//! `worst` takes the worst of all contributions (a noisy maximum with a leak), `sum`
//! adds steps and stops at the last state. Must not hold numbers of a single start.

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

use super::part::Scope;

/// How the contributions of the parents combine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fold {
    /// The worst contribution holds: state index = maximum.
    Worst,
    /// Steps add up, capped at the last state.
    Sum,
}

/// What one state of one parent contributes.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FunctionFrom {
    /// Parent: a part or a function.
    pub var: Spanned<String>,
    /// State of the parent.
    pub state: Spanned<String>,
    /// Chance of each contribution, one figure a state of the function, first = none.
    pub gives: Spanned<Vec<f64>>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
}

/// What a system delivers: one variable with ordered states, best first.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Function {
    /// Identifier, also the name of the variable.
    pub id: Spanned<String>,
    /// What a person reads.
    pub label: String,
    /// Once, or once a cylinder.
    pub scope: Scope,
    /// States, best first.
    pub states: Vec<String>,
    /// How contributions combine.
    pub fold: Fold,
    /// Chance of each state when nothing known is wrong.
    pub leak: Spanned<Vec<f64>>,
    /// Contributions; a state of a parent that is not named contributes nothing.
    #[serde(default)]
    pub from: Vec<FunctionFrom>,
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
