//! What a rule looks things up in, and where it writes what it finds. Knows no rule.

use std::ops::Range;

use super::variables::Variables;
use crate::knowledge::files::KnowledgeFiles;
use crate::knowledge::load::Knowledge;
use crate::knowledge::problem::{Problem, line_column};

/// The knowledge, its variables and texts, and the problems found so far.
pub(super) struct Book<'a> {
    /// What is checked.
    pub knowledge: &'a Knowledge,
    /// Its variables and their states.
    pub variables: Variables,
    /// Problems so far.
    pub found: Vec<Problem>,
    files: &'a KnowledgeFiles,
}

impl<'a> Book<'a> {
    /// A book with nothing found yet.
    pub fn new(knowledge: &'a Knowledge, files: &'a KnowledgeFiles) -> Self {
        Self {
            knowledge,
            variables: Variables::of(knowledge),
            found: Vec::new(),
            files,
        }
    }

    /// Index of the file of that name.
    pub fn file(&self, name: &str) -> usize {
        let at = self.files.files.iter().position(|f| f.name == name);
        at.unwrap_or(0)
    }

    /// Writes down a problem at a place of a file.
    pub fn problem(
        &mut self,
        rule: &'static str,
        file: usize,
        span: Range<usize>,
        what: String,
        advice: &str,
    ) {
        let (name, text) = self
            .files
            .files
            .get(file)
            .map_or(("", ""), |f| (f.name.as_str(), f.text.as_str()));
        let (line, column) = line_column(text, span.start);
        self.found.push(Problem {
            file: name.to_owned(),
            span,
            line,
            column,
            what,
            advice: advice.to_owned(),
            rule,
        });
    }
}
