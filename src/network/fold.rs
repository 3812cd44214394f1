//! The one local model: a first table over the drivers, then contributions folded in.
//!
//! ```text
//! A_0 ~ init[drivers]            Z_i ~ rows_i[parent_i]
//! A_i = step(A_{i-1}, Z_i)       V = A_n
//! ```
//! A plain table is a fold without contributions; a noisy maximum with leak is `Worst`;
//! steps that add up are `Sum`; a sign over which faults may speak is `Override`.
//! Must not compute anything but its own distribution.

use super::variable::VarId;

/// How a contribution changes what stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// `max(a, z)`; contributions range over the states.
    Worst,
    /// `min(a + z, last)`; contributions range over the states.
    Sum,
    /// Contribution 0 is silence and leaves `a`; contribution `z` sets the state `z - 1`.
    Override,
    /// Any other rule, `next[a * width + z]`.
    Table {
        /// Number of contributions.
        width: usize,
        /// Next state, `[state, contribution]`, last axis fastest.
        next: Vec<u16>,
    },
}

impl Step {
    /// Number of different contributions for a variable of `states` states.
    #[must_use]
    pub fn width(&self, states: usize) -> usize {
        match self {
            Step::Worst | Step::Sum => states,
            Step::Override => states + 1,
            Step::Table { width, .. } => *width,
        }
    }

    /// State after contribution `z` in state `a`.
    #[must_use]
    pub fn next(&self, a: usize, z: usize, states: usize) -> usize {
        match self {
            Step::Worst => a.max(z),
            Step::Sum => (a + z).min(states - 1),
            Step::Override if z == 0 => a,
            Step::Override => z - 1,
            Step::Table { width, next } => usize::from(next[a * width + z]),
        }
    }
}

/// What one parent contributes.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The parent.
    pub parent: VarId,
    /// Chance of each contribution, `[parent state, contribution]`, last axis fastest.
    pub rows: Vec<f64>,
}

/// How a variable comes about.
#[derive(Debug, Clone, PartialEq)]
pub struct Fold {
    /// Parents of the first table.
    pub drivers: Vec<VarId>,
    /// First table, `[drivers.., state]`, last axis fastest.
    pub init: Vec<f64>,
    /// How contributions change what stands.
    pub step: Step,
    /// Contributions, in order.
    pub from: Vec<Contribution>,
}

impl Fold {
    /// A plain table over parents.
    #[must_use]
    pub fn table(drivers: Vec<VarId>, init: Vec<f64>) -> Self {
        Self {
            drivers,
            init,
            step: Step::Worst,
            from: Vec::new(),
        }
    }

    /// All parents, drivers first.
    pub fn parents(&self) -> impl Iterator<Item = VarId> + '_ {
        self.drivers
            .iter()
            .copied()
            .chain(self.from.iter().map(|c| c.parent))
    }

    /// Distribution of the variable given states of all variables before it.
    ///
    /// `size` gives the number of states of a variable, `states` their present states.
    #[must_use]
    pub fn distribution(
        &self,
        own: usize,
        size: impl Fn(VarId) -> usize,
        states: &[usize],
    ) -> Vec<f64> {
        let row = self
            .drivers
            .iter()
            .fold(0, |row, d| row * size(*d) + states[d.at()]);
        let mut now = self.init[row * own..(row + 1) * own].to_vec();
        let width = self.step.width(own);
        for part in &self.from {
            let at = states[part.parent.at()] * width;
            let mut then = vec![0.0; own];
            for (a, chance) in now.iter().enumerate() {
                for (z, share) in part.rows[at..at + width].iter().enumerate() {
                    then[self.step.next(a, z, own)] += chance * share;
                }
            }
            now = then;
        }
        now
    }
}
