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

use super::error::{Complaints, ProblemError};
use super::json_once::Once;
use super::json_read::read_problem;
use super::json_write::write_problem;
use super::problem::Problem;
use super::validate::validate;

/// Reads a problem and checks every figure.
///
/// # Errors
/// [`ProblemError::NotJson`] or [`ProblemError::Twice`] with line and column, or [`ProblemError::Fields`] with the
/// path of every field that cannot be used.
pub fn problem_from_json(text: &str) -> Result<Problem, ProblemError> {
    let Once(value) = serde_json::from_str(text).map_err(|e| {
        let (line, column, what) = (e.line(), e.column(), e.to_string());
        if e.is_data() {
            // The parser writes its place behind; it is told beside.
            let place = what.rfind(" at line ").unwrap_or(what.len());
            let what = what[..place].to_owned();
            ProblemError::Twice { line, column, what }
        } else {
            ProblemError::NotJson { line, column, what }
        }
    })?;
    let mut bad = Complaints::default();
    let problem = read_problem(&value, &mut bad);
    bad.into_result()?;
    validate(&problem)?;
    Ok(problem)
}

/// Writes a problem; [`problem_from_json`] gives the same problem back, numbers to within
/// their last bit.
pub fn problem_to_json(problem: &Problem) -> String {
    write_problem(problem).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paths(text: &str) -> Vec<String> {
        match problem_from_json(text) {
            Err(ProblemError::Fields(list)) => list.into_iter().map(|p| p.path).collect(),
            other => vec![format!("{other:?}")],
        }
    }

    const SOUND: &str = r#"{"model": "single", "faults": [{"name": "a", "prior": 0.5},
        {"name": "b", "prior": 0.5}], "tests": [{"name": "t", "cost": 1, "group": null,
        "lik": [[1, 0], [0, 1]]}], "repairs": [{"name": "r", "cost": 2, "fix": [1, 0]}],
        "groups": [], "verify_cost": 0, "call_cost": 9}"#;

    #[test]
    fn text_that_is_not_json_names_line_and_column() {
        let error = problem_from_json("{\n  \"model\": }").expect_err("not JSON");
        assert!(
            matches!(
                error,
                ProblemError::NotJson {
                    line: 2,
                    column: 12,
                    ..
                }
            ),
            "{error:?}"
        );
    }

    #[test]
    fn fields_that_cannot_be_read_are_all_named() {
        assert!(problem_from_json(SOUND).is_ok());
        let text = SOUND
            .replace("\"cost\": 1", "\"cost\": \"one\"")
            .replace("[0, 1]]", "[0, \"x\"]]")
            .replace("\"fix\"", "\"fixes\"")
            .replace("\"single\"", "\"double\"");
        let expected = [
            "model",
            "tests[0].cost",
            "tests[0].lik[1][1]",
            "repairs[0].fixes",
            "repairs[0].fix",
        ];
        assert_eq!(paths(&text), expected);
    }

    #[test]
    fn figures_that_cannot_be_are_all_named() {
        let text = SOUND
            .replace("\"prior\": 0.5}]", "\"prior\": 0.6}]")
            .replace("[0, 1]]", "[0, 1.5]]")
            .replace("\"fix\": [1, 0]", "\"fix\": [1], \"group\": 3")
            .replace("\"call_cost\": 9", "\"call_cost\": -9");
        let expected = [
            "faults",
            "tests[0].lik[1][1]",
            "tests[0].lik[1]",
            "repairs[0].group",
            "repairs[0].fix",
            "call_cost",
        ];
        assert_eq!(paths(&text), expected);
    }

    #[test]
    fn sets_that_a_repair_can_leave_must_be_listed() {
        let text = r#"{"model": "listed", "faults": [{"name": "a"}, {"name": "b"}],
            "hypotheses": [{"faults": [0, 1], "weight": 1}, {"faults": [0], "weight": 1}],
            "tests": [], "repairs": [{"name": "r", "cost": 2, "fix": [1, 0.5]}],
            "groups": [], "call_cost": 9}"#;
        let error = problem_from_json(text)
            .expect_err("b alone is missing")
            .to_string();
        assert!(
            error.starts_with("hypotheses[0].faults: removing fault 0"),
            "{error}"
        );
    }
}
