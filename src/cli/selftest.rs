//! `hardstart selftest`: the installed program held against published answers.
//!
//! Must not reckon or word.

use super::args::Common;
use super::exit::Exit;
use super::failure::Failure;
use super::out;
use crate::report::trouble::Trouble;
use crate::report::{selftest_json, selftest_text};
use crate::selftest;

/// Runs the command.
///
/// # Errors
/// When a value is not the published one, or the answer is not written.
pub fn run(common: &Common) -> Result<(), Failure> {
    let checks = selftest::checks();
    if common.json {
        out::document(&selftest_json::selftest(&checks))?;
    } else {
        out::text(&selftest_text::selftest(&checks, out::layout()))?;
    }
    let missed = checks.iter().filter(|c| !c.passed()).count();
    if missed == 0 {
        return Ok(());
    }
    let what = format!(
        "{missed} of {} values are not the published ones",
        checks.len()
    );
    let advice = "do not use this program's answers; install it anew";
    Err(Failure::new(Exit::Failed, Trouble::new(what, advice)))
}
