//! What can be wrong with a problem, said with the path of the field.
//!
//! Paths use the field names of the JSON form (`tests[2].lik[0]`), also for problems
//! built in memory. Must not print.

use std::fmt;

use thiserror::Error;

/// One field that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldProblem {
    /// Path in the JSON form, such as `repairs[1].fix[0]`.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What to try.
    pub hint: String,
}

impl fmt::Display for FieldProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.path, self.what, self.hint)
    }
}

/// Why a problem could not be read or solved.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ProblemError {
    /// The text is not JSON.
    #[error("line {line}, column {column}: not JSON: {what}; check brackets, commas and quotes")]
    NotJson {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What the parser says.
        what: String,
    },
    /// A key of an object stands twice.
    #[error("line {line}, column {column}: {what}; leave out one of them")]
    Twice {
        /// Line, from 1.
        line: usize,
        /// Column of the second one's end, from 1.
        column: usize,
        /// Which.
        what: String,
    },
    /// Fields that cannot be used, all of them.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Fields(Vec<FieldProblem>),
    /// More states than the caller allowed: solving exactly is for small problems.
    #[error("more than {limit} states to solve exactly; allow more, or use the planner")]
    TooLarge {
        /// The limit that was passed.
        limit: usize,
    },
}

/// Collects field problems.
#[derive(Debug, Default)]
pub(super) struct Complaints(Vec<FieldProblem>);

impl Complaints {
    /// Adds one.
    pub(super) fn add(&mut self, path: impl Into<String>, what: impl Into<String>, hint: &str) {
        self.0.push(FieldProblem {
            path: path.into(),
            what: what.into(),
            hint: hint.to_owned(),
        });
    }

    /// `Ok` when nothing was added.
    pub(super) fn into_result(self) -> Result<(), ProblemError> {
        if self.0.is_empty() {
            Ok(())
        } else {
            Err(ProblemError::Fields(self.0))
        }
    }
}
