//! From a job to a test-and-repair problem and back: the only part of planning that knows parts.
//!
//! [`hypotheses`] reads what may be wrong off the kernel, [`checks`] and [`repairs`] put the
//! trade's checks and repairs against it, [`next`] asks the planner. Must not search.

mod answer;
mod checks;
mod hypotheses;
mod next;
mod repairs;

pub use answer::{ColdState, Found, Hidden, MoveKind, Next, NextMove};
pub use next::{NextError, next};
