//! Reads single fields of a job: texts, numbers, tables, lists, each with its complaint.
//!
//! Must not know which fields a job has; collects problems and notes and never stops.

use std::ops::Range;

use super::from_toml::SyntaxProblem;
use super::kept::{Extra, Kept};
use super::problem::{JobNote, JobProblem, Lines, shortened};
use super::suggest::did_you_mean;
use super::tree::{Field, Fields, Node, Value};
use crate::knowledge::Knowledge;

/// The text being read and all that was found out about it.
pub(super) struct Reader<'a> {
    pub knowledge: &'a Knowledge,
    pub file: &'a str,
    pub text: &'a str,
    /// Line of the file at which `text` starts, from 1.
    first_line: usize,
    lines: Lines,
    /// The syntax was broken somewhere, so that a missing key may only have been lost.
    damaged: bool,
    problems: Vec<JobProblem>,
    notes: Vec<(Range<usize>, &'static str, String)>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(
        knowledge: &'a Knowledge,
        file: &'a str,
        text: &'a str,
        first_line: usize,
    ) -> Self {
        Self {
            knowledge,
            file,
            text,
            first_line,
            lines: Lines::of(text),
            damaged: false,
            problems: Vec::new(),
            notes: Vec::new(),
        }
    }

    pub(super) fn syntax(&mut self, problems: Vec<SyntaxProblem>, advice: &str) {
        for problem in problems {
            self.damaged = true;
            self.problem(problem.span, problem.what, advice);
        }
    }

    /// Line in the file and column of a byte offset.
    pub(super) fn place(&self, offset: usize) -> (usize, usize) {
        let (line, column) = self.lines.place(self.text, offset);
        (line + self.first_line - 1, column)
    }

    pub(super) fn problem(
        &mut self,
        span: Range<usize>,
        what: impl Into<String>,
        try_: impl Into<String>,
    ) {
        let (line, column) = self.place(span.start);
        self.problems.push(JobProblem {
            file: self.file.to_owned(),
            line,
            column,
            span,
            path: String::new(),
            what: shortened(what.into()),
            try_: try_.into(),
        });
    }

    /// A problem about something that is not there.
    pub(super) fn missing(&mut self, fields: &Fields<'_>, key: &str, example: &str) {
        if !self.damaged {
            let what = match fields.name {
                "" => format!("`{key}` is missing"),
                name => format!("`{name}` has no `{key}`"),
            };
            self.problem(fields.at.clone(), what, format!("add `{example}`"));
        }
    }

    pub(super) fn note(&mut self, span: Range<usize>, code: &'static str, what: String) {
        self.notes.push((span, code, what));
    }

    /// All problems and notes in file order, with their paths.
    pub(super) fn finish(mut self, root: &Node) -> (Vec<JobProblem>, Vec<JobNote>) {
        let mut problems = std::mem::take(&mut self.problems);
        problems.sort_by_key(|p| p.span.start);
        // After a syntax error the same place may be complained of twice.
        problems.dedup_by_key(|p| (p.span.start, p.what.clone()));
        for problem in &mut problems {
            problem.path = root.path_at(problem.span.start);
        }
        let mut notes = std::mem::take(&mut self.notes);
        notes.sort_by_key(|(span, _, _)| span.start);
        let notes = notes
            .into_iter()
            .map(|(span, code, what)| {
                let (line, column) = self.place(span.start);
                JobNote {
                    line,
                    column,
                    path: root.path_at(span.start),
                    code,
                    what,
                }
            })
            .collect();
        (problems, notes)
    }

    pub(super) fn wrong_kind(&mut self, field: &Field, wanted: &str, example: &str) {
        let what = format!(
            "`{}` is {}, but {wanted} belongs here",
            field.name,
            field.node.value.kind()
        );
        let try_ = format!("write `{} = {example}`", field.name);
        self.problem(field.node.span.clone(), what, try_);
    }

    pub(super) fn text(&mut self, field: &Field) -> Option<String> {
        match &field.node.value {
            Value::Text(text) => Some(text.clone()),
            _ => {
                self.wrong_kind(field, "a text", "\"...\"");
                None
            }
        }
    }

    pub(super) fn truth(&mut self, field: &Field) -> Option<bool> {
        match &field.node.value {
            Value::Truth(truth) => Some(*truth),
            _ => {
                self.wrong_kind(field, "true or false", "true");
                None
            }
        }
    }

    /// A whole number within a range.
    pub(super) fn whole(&mut self, field: &Field, from: i64, to: i64) -> Option<i64> {
        match field.node.value {
            Value::Whole(n) if (from..=to).contains(&n) => Some(n),
            Value::Whole(n) => {
                let what = format!("`{}` is {n}, outside {from} to {to}", field.name);
                let try_ = format!("write a whole number from {from} to {to}");
                self.problem(field.node.span.clone(), what, try_);
                None
            }
            _ => {
                let example = from.max(1).to_string();
                self.wrong_kind(field, "a whole number", &example);
                None
            }
        }
    }

    /// A bare number, not below nought.
    pub(super) fn number(&mut self, field: &Field) -> Option<f64> {
        let number = match field.node.value {
            Value::Whole(n) => n as f64,
            Value::Number(n) => n,
            _ => {
                self.wrong_kind(field, "a number without a unit", "12");
                return None;
            }
        };
        if number.is_finite() && number >= 0.0 {
            return Some(number);
        }
        let what = format!("`{}` is {number}", field.name);
        self.problem(field.node.span.clone(), what, "write a number from 0 up");
        None
    }

    /// The unread fields as unknown keys, each noted.
    pub(super) fn extra(&mut self, fields: &Fields<'_>, known: &[&str]) -> Extra {
        let mut extra = Extra::new();
        for field in fields.rest() {
            let place = match fields.name {
                "" => String::new(),
                name => format!(" in `{name}`"),
            };
            let mut what = format!(
                "the key `{}`{place} is not known; kept, not used",
                field.name
            );
            if let Some(word) = did_you_mean(&field.name, known.iter().copied()) {
                what.push_str(&format!(" (did you mean `{word}`?)"));
            }
            self.note(field.key.clone(), "UNKNOWN_KEY", what);
            let kept: Kept = field.node.kept();
            extra.insert(field.name.clone(), kept);
        }
        extra
    }

    /// The fields of a table; `None` with a problem if it is something else.
    pub(super) fn table<'t>(&mut self, name: &'static str, field: &'t Field) -> Option<Fields<'t>> {
        match &field.node.value {
            Value::Table(fields) => Some(Fields::new(name, field.key.clone(), fields)),
            _ => {
                self.wrong_kind(field, "a table", "{ ... }");
                None
            }
        }
    }

    /// The items of a list; empty with a problem if it is something else.
    pub(super) fn list<'t>(&mut self, field: &'t Field) -> &'t [Node] {
        match &field.node.value {
            Value::List(items) => items,
            _ => {
                self.wrong_kind(field, "a list", "[...]");
                &[]
            }
        }
    }
}
