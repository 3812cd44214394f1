//! What to do next, as it is laid out for people and programs.
//!
//! Holds what a card needs and the knowledge files do not: identifiers and figures. Labels,
//! steps, tools and cautions are looked up when it is worded. Must not choose or reckon.

use crate::knowledge::Cold;

/// Kind of a move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoveKind {
    /// Learn more.
    Check,
    /// Change a part.
    Repair,
    /// Give the job to somebody better equipped.
    HandOver,
}

/// One thing that may be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// State or band of the check; for a repair `right` or `not_right`.
    pub state: String,
    /// Chance, a fraction.
    pub chance: f64,
    /// Check or repair to turn to then; `None` where the job is done.
    pub leads_to: Option<String>,
}

/// One move.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// Kind.
    pub kind: MoveKind,
    /// Check or repair; `hand_over` for handing over.
    pub id: String,
    /// Cylinder, for a move at one.
    pub cylinder: Option<u8>,
    /// Minutes, access counted.
    pub minutes: f64,
    /// Access groups that must be opened for it.
    pub access: Vec<String>,
    /// What it does to the cold.
    pub cold: Cold,
    /// Expected minutes to a proven repair when it is done first.
    pub expected_total: f64,
    /// Minutes saved on average against acting at once.
    pub saves: f64,
    /// Chance that it changes what is done next, a fraction.
    pub changes_next: f64,
    /// Expected minutes of damage it may do.
    pub risk: f64,
    /// What may be found.
    pub outcomes: Vec<Found>,
    /// Cautions, those of its access included.
    pub hazards: Vec<String>,
}

/// A check that is not offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hidden {
    /// Check.
    pub check: String,
    /// Why, in a few words.
    pub why: String,
}

/// Whether the engine is cold, and whether that is worth keeping.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColdNow {
    /// `None` where nobody said.
    pub cold: Option<bool>,
    /// A check that needs the cold is worth more than the warm start would be.
    pub worth_keeping: bool,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// Whether more checking is unlikely to change the repair.
    pub stop: bool,
    /// Moves, best first.
    pub moves: Vec<Move>,
    /// Checks that are not offered.
    pub hidden: Vec<Hidden>,
    /// The cold.
    pub cold: ColdNow,
}
