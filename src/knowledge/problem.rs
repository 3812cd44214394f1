//! What can be wrong with a knowledge file, and where.
//!
//! Carries facts; the wording for a terminal, with the caret under the place, is made by
//! [`Problem::render`] through a library. Must not stop at the first problem.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

/// One problem of one knowledge file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Name of the file.
    pub file: String,
    /// Byte range in the file.
    pub span: std::ops::Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to try.
    pub advice: String,
    /// Name of the rule that found it.
    pub rule: &'static str,
}

/// Line and column, both from 1, of a byte offset.
#[must_use]
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let offset = offset.min(text.len());
    let before = &text.as_bytes()[..offset];
    let line = before.iter().filter(|b| **b == b'\n').count() + 1;
    let start = before
        .iter()
        .rposition(|b| *b == b'\n')
        .map_or(0, |p| p + 1);
    let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
    (line, column)
}

impl Problem {
    /// The problem with the line it stands on and a caret under the place.
    #[must_use]
    pub fn render(&self, text: &str) -> String {
        let end = self.span.end.clamp(self.span.start, text.len());
        let group = Level::ERROR.primary_title(&self.what).element(
            Snippet::source(text)
                .path(&self.file)
                .annotation(AnnotationKind::Primary.span(self.span.start..end)),
        );
        let group = group.element(Level::HELP.message(&self.advice));
        Renderer::plain().render(&[group]).to_string()
    }
}

/// All problems found, at least one.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{} problem(s) in the knowledge files, the first: {}:{}:{}: {} ({})",
    .problems.len(), .problems[0].file, .problems[0].line, .problems[0].column,
    .problems[0].what, .problems[0].advice)]
pub struct KnowledgeErrors {
    /// The problems, in the order of files and lines.
    pub problems: Vec<Problem>,
}
