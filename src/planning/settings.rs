//! How far and how widely the planner looks. Must not plan.

/// How far and how widely to look. All own judgement, measured on random problems.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Moves looked ahead, at least 1.
    pub plies: usize,
    /// Checks looked at `plies` deep as a first move; the rest, which promise least after
    /// one ply, keep that figure.
    pub wide: usize,
    /// Repairs looked at `plies` deep as a first move, of those that come first when
    /// acting in order.
    pub wide_repairs: usize,
    /// Checks considered below the first move.
    pub beam: usize,
    /// Repairs considered, below the first move, as a move with checks after it.
    pub repair_beam: usize,
    /// Moves within this share of the best get one more ply.
    pub close: f64,
    /// At most so many moves get it.
    pub close_moves: usize,
    /// Checks considered below the first move in that extra ply.
    pub close_beam: usize,
    /// Checks behind one closed cover that are looked at together.
    pub together: usize,
    /// Ends of the lookahead that one extra ply of one move, or one cover, may reach; beams
    /// are cut to fit, so that large problems stay quick.
    pub ends: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            plies: 2,
            wide: 24,
            wide_repairs: 10,
            beam: 10,
            repair_beam: 3,
            close: 0.02,
            close_moves: 3,
            close_beam: 4,
            together: 3,
            ends: 1_000,
        }
    }
}
