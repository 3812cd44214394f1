//! Arguments, exit codes, and the commands. Never holds logic.
//!
//! Reading order: `args` (what may be typed), `exit` (how it may end), `run` (from the one to
//! the other), `input` and `out` (what comes in and goes out), then one file a command.

mod args;
mod causes;
mod exit;
mod failure;
mod input;
mod out;
mod run;
mod usage;

pub use exit::Exit;
pub use run::run;
