//! The bridge from a job to a planning problem: the only place in this room that knows parts,
//! checks and repairs. Does not search.
//!
//! Reading order: `hypotheses` and `grow` (what may be wrong), `hindered` (what can be done here),
//! `looking` and `checks` (what each check would show), `repeats` (readings taken again), `clash`
//! (whether that comes first), `repairs` (what each would mend), `prices`, `covers` (access),
//! `cold` (whether it is), `setup` (all of it as a problem), `next` (the next move), `plan` (the
//! next few as a tree), `answer`.

mod answer;
mod checks;
mod clash;
mod cold;
mod covers;
mod grow;
mod hindered;
mod hypotheses;
mod looking;
mod next;
mod plan;
mod prices;
mod repairs;
mod repeats;
mod setup;
mod split;

pub use answer::{ColdState, Found, Hidden, MoveKind, Next, NextMove};
pub use next::next;
pub use plan::{Plan, PlanBranch, PlanStep, plan};
pub use prices::Prices;
pub use setup::{NextError, problem};
pub use split::{Raised, Split};
