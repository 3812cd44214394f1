//! The planner's answer: every move with what it costs and what it leads to.
//!
//! Data only. Must not compute or word anything.

/// Something to do next. Numbers are indices into the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Action {
    /// Hand the job over.
    HandOver,
    /// Do this repair and a run-up check.
    Repair(usize),
    /// Do this check.
    Check(usize),
}

/// One thing that may be found after a move.
#[derive(Debug, Clone, PartialEq)]
pub struct MoveOutcome {
    /// For a check: index of its outcome. For a repair: 0 right, 1 not right.
    pub outcome: usize,
    /// Chance of it, 0 to 1.
    pub chance: f64,
    /// What to do then; `None` when the job is done.
    pub leads_to: Option<Action>,
}

/// One candidate move.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// What is done.
    pub action: Action,
    /// Minutes of this move alone: access and run-up check counted, damage not.
    pub minutes: f64,
    /// Groups that have to be opened for it (indices into the problem's groups).
    pub access: Vec<usize>,
    /// Expected damage, minutes.
    pub risk: f64,
    /// Expected minutes to the end of the job when this is done first.
    pub expected_total: f64,
    /// Minutes saved against acting now without any check; negative when it costs more.
    pub saves: f64,
    /// Chance, 0 to 1, that the finding changes which repair would be done first (or
    /// whether the job is handed over) if nothing more were checked. 0 for acts.
    pub changes_next: f64,
    /// Whether its expected total is the best one within rounding.
    pub tied: bool,
    /// What may be found, in order of outcome; those with no chance are left out. Empty
    /// for handing over.
    pub outcomes: Vec<MoveOutcome>,
}

/// All moves of a situation, best first.
///
/// Of moves that tie, acts stand before checks (a check has to earn its place), and a
/// check that can tell nothing stands last; then order of index.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Candidate moves, best first; never empty (handing over is always possible).
    pub moves: Vec<Move>,
    /// Expected minutes of acting now without any check.
    pub act_now_total: f64,
    /// First move of acting now.
    pub act_now: Action,
    /// Whether to stop checking: the best move is a repair or handing over.
    pub stop: bool,
}

impl Advice {
    /// The best move.
    pub fn best(&self) -> Action {
        self.moves.first().map_or(Action::HandOver, |m| m.action)
    }
}
