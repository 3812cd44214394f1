//! A problem as JSON, in and out.
//!
//! Three models share one shape; costs are in minutes throughout.
//!
//! ```text
//! {"model": "single" | "multi" | "listed",
//!  "faults": [{"name", "prior"}],                 prior: single (sums to 1), multi (each alone)
//!  "hypotheses": [{"faults": [index], "weight"}], listed only
//!  "tests": [{"name", "cost", "group": index|null,
//!             "lik": [hypothesis][outcome]  or  "leak", "link": [fault],
//!             "risk": [hypothesis], "max_times", "persist", "repeat_cost", "outcomes": [name]}],
//!  "repairs": [{"name", "cost", "group", "fix": [fault]  or  "fault": index}],
//!  "groups": [{"name", "open_cost", "stays_open"}],
//!  "verify_cost", "call_cost"}
//! ```
//!
//! Beyond one group: `access: [index]` in place of `group`, `closes: [index]` on tests,
//! `verify_access` and `open_now` at the top. Reading checks the figures too. Must not
//! touch files.

use serde_json::Value;

use super::error::{Complaints, ProblemError};
use super::json_read::read_problem;
use super::json_write::write_problem;
use super::problem::Problem;
use super::validate::validate;

/// Reads a problem and checks every figure.
///
/// # Errors
/// [`ProblemError::NotJson`] with line and column, or [`ProblemError::Fields`] with the
/// path of every field that cannot be used.
pub fn problem_from_json(text: &str) -> Result<Problem, ProblemError> {
    let value: Value = serde_json::from_str(text).map_err(|e| ProblemError::NotJson {
        line: e.line(),
        column: e.column(),
        what: e.to_string(),
    })?;
    let mut bad = Complaints::default();
    let problem = read_problem(&value, &mut bad);
    bad.into_result()?;
    validate(&problem)?;
    Ok(problem)
}

/// Writes a problem; [`problem_from_json`] gives the same problem back.
pub fn problem_to_json(problem: &Problem) -> String {
    write_problem(problem).to_string()
}
