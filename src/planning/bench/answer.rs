//! What to do next: plain structs, minutes and fractions.
//!
//! Must not hold words for people beyond identifiers.

use super::split::Split;
use crate::job::{JobState, Repeat};

/// Kind of a move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoveKind {
    /// A check.
    Check,
    /// A repair.
    Repair,
    /// Handing the job over.
    HandOver,
    /// A question about the engine: which preheat is fitted.
    Ask,
}

/// One thing a check may show.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Outcome by name; `cylinder 2` where a check goes over all cylinders.
    pub state: String,
    /// Chance, a fraction.
    pub chance: f64,
    /// Identifier of the move it leads to.
    pub leads_to: Option<String>,
}

/// One move with what it costs and saves.
#[derive(Debug, Clone, PartialEq)]
pub struct NextMove {
    /// Kind.
    pub kind: MoveKind,
    /// Check or repair.
    pub id: String,
    /// Cylinder, for a repair or a repeated reading at one.
    pub cylinder: Option<u8>,
    /// How it repeats a reading; `None` for a check not yet done, and for all else.
    pub repeat: Option<Repeat>,
    /// Minutes of the move itself, access not counted.
    pub minutes: f64,
    /// Access groups it opens.
    pub access: Vec<String>,
    /// What it does to the cold: `keeps`, `needs`, `uses_up`.
    pub cold: &'static str,
    /// Expected minutes to a repair proven by a cold start when this comes first.
    pub expected_total: f64,
    /// What of these minutes is the price of a night that is sure to pass before the proof; `None`
    /// where the engine is cold, or nothing is mended.
    pub night: Option<f64>,
    /// Minutes saved against acting without any check.
    pub saves: f64,
    /// Chance that it changes which repair acting would begin with, a fraction.
    pub changes_next: f64,
    /// Expected minutes of what it may break.
    pub risk: f64,
    /// What may be found.
    pub outcomes: Vec<Found>,
    /// What it tells apart, for the check that comes first.
    pub split: Option<Split>,
    /// Cautions, by identifier, said before it.
    pub hazards: Vec<String>,
    /// Level with the best move.
    pub tied: bool,
}

/// A check that is not offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hidden {
    /// Check.
    pub check: String,
    /// Why: `no_tool`, `people`, `cannot`, `later`, `not_on_engine`, `done`.
    pub why: &'static str,
    /// More: the tools missing, or the reason given.
    pub detail: String,
}

/// Whether the engine is cold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColdState {
    /// Cold as far as the entries say.
    pub cold: bool,
    /// Whether some offered check still needs it.
    pub worth_keeping: bool,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// Whether to stop checking and act.
    pub stop: bool,
    /// The state of a job that is over: nothing remains to be done, and there are no moves.
    pub over: Option<JobState>,
    /// Whether readings clash: then the first move takes one of them again, whatever its total.
    pub settle_first: bool,
    /// Moves, best first; none where the job is over.
    pub moves: Vec<NextMove>,
    /// Checks that are not offered, with why.
    pub hidden: Vec<Hidden>,
    /// The cold.
    pub cold: ColdState,
    /// Repairs that want independent agreeing checks before them, with how many.
    pub wants_checks: Vec<(String, u8)>,
}
