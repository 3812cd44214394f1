//! What is wrong with a job file, or was assumed while reading it, and where.
//!
//! Carries facts; the picture with the caret under the place is drawn by a library.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

/// One problem of one job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobProblem {
    /// Name of the file as given by the caller.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Byte range in the text of the job (for NDJSON: in its line).
    pub span: Range<usize>,
    /// Path of the value within the job (`entry[2].reading.value`); empty for the whole.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What to try.
    pub try_: String,
}

/// Something assumed while reading, or kept but not used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobNote {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Path of the value within the job.
    pub path: String,
    /// Stable code, upper case (`UNKNOWN_KEY`, `OUT_OF_WINDOW`, `NOT_ON_THIS_ENGINE`,
    /// `WORD_READ_AS`, `NO_RESULT_OFF_SCALE`).
    pub code: &'static str,
    /// What was assumed.
    pub what: String,
}

/// Where the lines of a text start, so that a long file is counted once.
pub(super) struct Lines(Vec<usize>);

impl Lines {
    pub(super) fn of(text: &str) -> Self {
        let breaks = text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
        Self(
            std::iter::once(0)
                .chain(breaks.map(|(i, _)| i + 1))
                .collect(),
        )
    }

    /// Line and column, both from 1, of a byte offset in the same text.
    pub(super) fn place(&self, text: &str, offset: usize) -> (usize, usize) {
        let offset = floor(text, offset);
        // The first line starts at 0, so there is always one at or before the offset.
        let line = self.0.partition_point(|start| *start <= offset).max(1);
        let start = self.0[line - 1];
        (line, text[start..offset].chars().count() + 1)
    }
}

/// Line and column, both from 1, of one byte offset.
pub(super) fn line_column(text: &str, offset: usize) -> (usize, usize) {
    Lines::of(text).place(text, offset)
}

/// The nearest character boundary at or before `offset`.
fn floor(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// Longest sentence about a problem, in characters; typed values may be of any length.
const LONGEST: usize = 300;

/// The sentence with its middle left out where it is too long for a person to read.
pub(super) fn shortened(what: String) -> String {
    let length = what.chars().count();
    if length <= LONGEST {
        return what;
    }
    let half = LONGEST / 2;
    let start: String = what.chars().take(half).collect();
    let end: String = what.chars().skip(length - half).collect();
    format!("{start} [{} characters left out] {end}", length - 2 * half)
}

impl JobProblem {
    /// The problem with the line it stands on and a caret under the place. `text` is what was
    /// read; for NDJSON the one line.
    #[must_use]
    pub fn render(&self, text: &str) -> String {
        let start = floor(text, self.span.start);
        let end = floor(text, self.span.end).max(start);
        let lines_before = text[..start].bytes().filter(|b| *b == b'\n').count();
        let snippet = Snippet::source(text)
            .path(&self.file)
            .line_start(self.line.saturating_sub(lines_before).max(1))
            .annotation(AnnotationKind::Primary.span(start..end));
        let group = Level::ERROR
            .primary_title(&self.what)
            .element(snippet)
            .element(Level::HELP.message(&self.try_));
        Renderer::plain().render(&[group]).to_string()
    }
}

/// All problems found in one job, at least one.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.summary())]
pub struct JobErrors {
    /// The problems, in the order in which they stand in the file.
    pub problems: Vec<JobProblem>,
}

impl JobErrors {
    /// One line a problem: `file:line:column: what (try)`.
    #[must_use]
    pub fn summary(&self) -> String {
        let lines: Vec<String> = self
            .problems
            .iter()
            .map(|p| {
                format!(
                    "{}:{}:{}: {} ({})",
                    p.file, p.line, p.column, p.what, p.try_
                )
            })
            .collect();
        lines.join("\n")
    }

    /// Every problem drawn with its line and a caret.
    #[must_use]
    pub fn render(&self, text: &str) -> String {
        let drawn: Vec<String> = self.problems.iter().map(|p| p.render(text)).collect();
        drawn.join("\n\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_caret_stands_under_the_place() {
        let text = "job = \"A\"\n[engine]\ncylinders = 40\n";
        let at = text.find("40").unwrap();
        let problem = JobProblem {
            file: "a.toml".to_owned(),
            line: 3,
            column: 13,
            span: at..at + 2,
            path: "engine.cylinders".to_owned(),
            what: "40 cylinders".to_owned(),
            try_: "write 1 to 12".to_owned(),
        };
        let drawn = problem.render(text);
        assert!(drawn.contains("a.toml:3:13"), "{drawn}");
        assert!(drawn.contains("             ^^"), "{drawn}");
        assert!(drawn.contains("help: write 1 to 12"), "{drawn}");
        assert_eq!(line_column(text, at), (3, 13));
    }

    #[test]
    fn a_span_within_a_character_or_past_the_end_does_no_harm() {
        assert_eq!(line_column("°x", 1), (1, 1));
        assert_eq!(line_column("°x", 99), (1, 3));
        assert_eq!(line_column("", 0), (1, 1));
    }

    #[test]
    fn lines_are_counted_from_one_and_columns_in_characters() {
        let text = "a\n°b\n\nc";
        let places = [
            (0, (1, 1)),
            (1, (1, 2)),
            (2, (2, 1)),
            (4, (2, 2)),
            (6, (3, 1)),
            (7, (4, 1)),
        ];
        for (offset, place) in places {
            assert_eq!(line_column(text, offset), place, "{offset}");
        }
    }
}
