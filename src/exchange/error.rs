//! Why a file cannot be brought in or handed out at all.
//!
//! Problems of single records are no errors; they are issues.

use thiserror::Error;

/// Why nothing could be done.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ExchangeError {
    /// The source could not be read.
    #[error("the file cannot be read: {0}")]
    Read(String),
    /// The result could not be written.
    #[error("cannot be written: {0}")]
    Write(String),
    /// No such encoding.
    #[error("there is no encoding `{label}`")]
    UnknownEncoding {
        /// As stated.
        label: String,
    },
    /// The mark at the start of the file says another encoding than was stated.
    #[error("the file was said to be {stated}, and the mark at its start says {mark}")]
    MarkDisagrees {
        /// As stated.
        stated: &'static str,
        /// As marked.
        mark: &'static str,
    },
    /// No heading could be found.
    #[error("no heading row was found")]
    NoHeading,
    /// The map cannot be used.
    #[error("the map cannot be used:\n{}", .0.iter().map(MapProblem::line_text).collect::<Vec<_>>().join("\n"))]
    Map(Vec<MapProblem>),
    /// A table cannot be turned, and why.
    #[error("{0}")]
    Table(String),
}

/// One problem of a column map.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapProblem {
    /// Line of the map, from 1; 0 for the map as a whole.
    pub line: usize,
    /// Column in characters, from 1; 0 where there is no line.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to try.
    pub try_: String,
    /// The map was written for another version of this program.
    pub is_of_another_format: bool,
}

impl MapProblem {
    /// `line:column: what (try)`.
    #[must_use]
    pub fn line_text(&self) -> String {
        format!(
            "{}:{}: {} ({})",
            self.line, self.column, self.what, self.try_
        )
    }
}

impl From<std::io::Error> for ExchangeError {
    fn from(error: std::io::Error) -> Self {
        ExchangeError::Write(error.to_string())
    }
}
