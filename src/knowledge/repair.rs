//! Repairs: things that change parts.
//!
//! Must not decide when a repair is worth trying.

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

use super::check::Per;
use super::part::Needs;

/// A fault a repair removes, and how surely.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Fix {
    /// Fault as `part.fault`.
    pub fault: Spanned<String>,
    /// Chance that the repair removes it.
    pub surely: f64,
}

/// Something that changes parts.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Repair {
    /// Identifier, the name in job files.
    pub id: Spanned<String>,
    /// What a person reads, verb first.
    pub label: String,
    /// System it belongs to.
    pub system: String,
    /// What the engine must have.
    #[serde(default)]
    pub needs: Needs,
    /// Once, or at one cylinder. A repair done once that names a fault of a cylinder's part
    /// removes it at every cylinder.
    pub per: Per,
    /// Faults it removes.
    pub fixes: Vec<Fix>,
    /// Chance that a new or reworked part is bad from the start.
    pub bad_new: f64,
    /// Minutes after diagnosis, access not counted.
    pub minutes: f64,
    /// Parts cost index, one = the price of one ordinary plug.
    pub parts_cost: f64,
    /// Access groups it needs open.
    #[serde(default)]
    pub access: Vec<Spanned<String>>,
    /// Cautions, said before.
    #[serde(default)]
    pub hazards: Vec<Spanned<String>>,
    /// How to show that it worked.
    pub verify: String,
    /// What to find out before the repair counts as the end (why did it fail?).
    #[serde(default)]
    pub ask_why: Option<String>,
    /// Independent agreeing checks that should stand before it (two for heavy repairs).
    #[serde(default)]
    pub wants_checks: u8,
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
