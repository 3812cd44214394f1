//! What the panels of a job are called, on the page and on paper, and the engine in one line.
//!
//! One list, so that a sheet filled by pen is found again on the page. Must not fill a panel.

use super::names;
use crate::job::Engine;

/// The head of the job.
pub const JOB_SLIP: &str = "Job slip";
/// Whether the engine is cold.
pub const COLD_OR_WARM: &str = "Cold or warm?";
/// The first start, watched.
pub const FIRST_START: &str = "First-start watch";
/// The causes with their chances.
pub const WHERE_WE_STAND: &str = "Where we stand";
/// What to do next.
pub const NEXT_CHECK: &str = "Next check";
/// What else may be done.
pub const OTHER_CHECKS: &str = "Other checks";
/// What the entries did to a cause.
pub const WHAT_MOVED_IT: &str = "What moved it";
/// What was read.
pub const READINGS: &str = "Readings";
/// Repeated timings.
pub const TIMING_TRIALS: &str = "Timing trials";
/// The next few moves.
pub const PLAN: &str = "Plan";
/// What was done.
pub const WORK_DONE: &str = "Work done";
/// What was found and what was done.
pub const FOUND_AND_DONE: &str = "Found and done";
/// The start that proves the work.
pub const COLD_START_PROOF: &str = "Cold-start proof";
/// What the chances come from.
pub const ABOUT: &str = "About these figures";
/// The printed page.
pub const JOB_SHEET: &str = "Job sheet";

/// `4 cylinders, chamber swirl, 12 V`; empty where nothing is known.
#[must_use]
pub fn engine(engine: &Engine) -> String {
    let mut shape: Vec<String> = Vec::new();
    shape.extend(engine.cylinders.map(|c| format!("{c} cylinders")));
    for (word, what) in [
        (engine.chamber.id(), "chamber"),
        (engine.preheat.id(), "preheat"),
        (engine.pump.id(), "pump"),
    ] {
        if word != "unknown" {
            shape.push(format!("{what} {}", names::plain(word)));
        }
    }
    shape.extend(engine.system_volts.map(|v| format!("{v} V")));
    shape.join(", ")
}
