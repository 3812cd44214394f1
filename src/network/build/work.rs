//! Work: a new slice of the parts it touches.
//!
//! Old faults go with the stated surety, a new part is bad with a stated chance; everything
//! that hangs on the part gets a new slice too, everything else stays shared. Must not decide
//! whether the work helped: later starts do.

use super::builder::{BuildError, Builder};
use super::shape::Condition;
use crate::network::fold::Fold;
use crate::network::variable::Role;

/// What work does to one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Variable name, `plug:2` or `battery`.
    pub part: String,
    /// Chance that each fault, by name, is removed.
    pub removes: Vec<(String, f64)>,
    /// Chance that the part is bad afterwards though the fault went, spread over the faults
    /// that the work removes.
    pub bad_new: f64,
}

impl Builder<'_> {
    /// Adds the new slices after one piece of work.
    ///
    /// # Errors
    /// When a part or a fault does not exist on this engine.
    pub fn work(&mut self, changes: &[Change]) -> Result<(), BuildError> {
        self.slice += 1;
        for change in changes {
            let old = self.variable(&change.part)?;
            let states = self.network.variable(old).states.clone();
            let own = states.len();
            let mut removed = vec![0.0; own];
            for (fault, surely) in &change.removes {
                removed[self.state(old, fault)?] = *surely;
            }
            let touched = removed.iter().filter(|r| **r > 0.0).count();
            let mut init = vec![0.0; own * own];
            for was in 0..own {
                let row = &mut init[was * own..(was + 1) * own];
                // A sound part that is renewed may turn out bad as well.
                let gone = if was == 0 { 1.0 } else { removed[was] };
                row[was] += 1.0 - gone;
                let bad = if touched == 0 { 0.0 } else { change.bad_new };
                row[0] += gone * (1.0 - bad);
                for (state, chance) in removed.iter().enumerate() {
                    if *chance > 0.0 {
                        #[expect(clippy::cast_precision_loss, reason = "a handful of faults")]
                        let share = bad / touched as f64;
                        row[state] += gone * share;
                    }
                }
            }
            self.add(
                &change.part,
                &states,
                Role::Part,
                Fold::table(vec![old], init),
            )?;
            self.stale.insert(change.part.clone());
        }
        self.refresh_functions()
    }

    /// A condition in which the starting routine was kept, whatever it is otherwise: the same
    /// engine, one part looked past. Everything else stays as it is.
    ///
    /// # Errors
    /// As [`Builder::work`].
    pub fn by_the_book(&mut self, condition: Condition) -> Result<usize, BuildError> {
        let now = self.now.clone();
        let kept = Change {
            part: "routine".to_owned(),
            removes: vec![("hurried".to_owned(), 1.0)],
            bad_new: 0.0,
        };
        self.work(&[kept])?;
        let at = self.condition(condition);
        self.now = now;
        at
    }
}
