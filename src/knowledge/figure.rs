//! Where a figure comes from and how firmly it is held.
//!
//! Every table of figures may carry its own `source` and `strength`; otherwise the
//! `[defaults]` of its file speak. Must not hold figures themselves.

use serde::{Deserialize, Serialize};

/// The `[defaults]` table of a knowledge file: what holds where a figure says nothing itself.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Defaults {
    /// Source of the figures: a published source, `common practice, no source`, `own judgement`.
    pub source: String,
    /// Pseudo-count behind each chance of the file: how many jobs it is worth.
    pub strength: f64,
}

/// Source and strength of one table of figures, after the defaults of its file were applied.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureOrigin {
    /// Source in words.
    pub source: String,
    /// Pseudo-count behind each chance.
    pub strength: f64,
}

impl Defaults {
    /// The origin of a figure that states `source` and `strength` itself, or not.
    #[must_use]
    pub fn origin(&self, source: Option<&str>, strength: Option<f64>) -> FigureOrigin {
        FigureOrigin {
            source: source.unwrap_or(&self.source).to_owned(),
            strength: strength.unwrap_or(self.strength),
        }
    }
}
