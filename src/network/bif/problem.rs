//! What is wrong with a file, and where. Must not decide what is wrong.

use super::token::Place;

/// Problems told about one file; more than that helps nobody.
const MOST: usize = 100;

/// One thing wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{line}:{column}: {what}; {hint}")]
pub struct Problem {
    /// Line, from one.
    pub line: usize,
    /// Column in characters, from one.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to try.
    pub hint: String,
}

/// All problems found so far, in the order found.
#[derive(Debug, Default)]
pub(super) struct Problems {
    list: Vec<Problem>,
}

impl Problems {
    pub fn add(&mut self, place: Place, what: impl Into<String>, hint: impl Into<String>) {
        if self.list.len() < MOST {
            self.list.push(Problem {
                line: place.line,
                column: place.column,
                what: what.into(),
                hint: hint.into(),
            });
        }
    }

    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// All problems, by place.
    pub fn into_sorted(mut self) -> Vec<Problem> {
        self.list.sort_by_key(|p| (p.line, p.column));
        self.list
    }
}
