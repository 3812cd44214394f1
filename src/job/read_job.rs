//! A whole job file, understood: TOML, JSON, or one JSON job a line.
//!
//! Never stops at the first problem, and never panics on any bytes.

use std::io::BufRead;

use super::entry::{Entry, EntryBody, Withdrawn};
use super::problem::{JobErrors, JobNote, JobProblem};
use super::reader::Reader;
use super::record::{Job, SCHEMA};
use super::tree::{Field, Fields, Node, Value};
use super::withdraw::settle;
use super::{fields, from_json, from_toml};
use crate::knowledge::Knowledge;

/// A job with what was assumed while it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Parsed {
    /// The job.
    pub job: Job,
    /// What was assumed, or kept and not used, in the order of the file.
    pub notes: Vec<JobNote>,
}

/// Reads a job from TOML. `file` is the name shown in messages.
///
/// # Errors
/// Every problem of the file, with line, column and what to try.
pub fn read_toml(text: &str, file: &str, knowledge: &Knowledge) -> Result<Parsed, JobErrors> {
    let (root, syntax) = from_toml::parse(text);
    let mut reader = Reader::new(knowledge, file, text, 1);
    reader.syntax(syntax, "compare with the format of job files");
    understand(reader, &root)
}

/// Reads a job from JSON with the same keys. `file` is the name shown in messages.
///
/// # Errors
/// As [`read_toml`]; each problem also carries its path.
pub fn read_json(text: &str, file: &str, knowledge: &Knowledge) -> Result<Parsed, JobErrors> {
    read_json_line(text, file, 1, knowledge)
}

fn read_json_line(
    text: &str,
    file: &str,
    line: usize,
    knowledge: &Knowledge,
) -> Result<Parsed, JobErrors> {
    let (root, syntax) = from_json::parse(text);
    let mut reader = Reader::new(knowledge, file, text, line);
    reader.syntax(syntax, "write one JSON object a job");
    understand(reader, &root)
}

/// Reads a job from bytes: JSON if the first character is `{`, else TOML.
///
/// # Errors
/// As [`read_toml`]; bytes that are no UTF-8 are a problem with their place.
pub fn read_bytes(bytes: &[u8], file: &str, knowledge: &Knowledge) -> Result<Parsed, JobErrors> {
    let text = utf8(bytes, file, 1)?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim_start().starts_with('{') {
        read_json(text, file, knowledge)
    } else {
        read_toml(text, file, knowledge)
    }
}

fn utf8<'b>(bytes: &'b [u8], file: &str, first_line: usize) -> Result<&'b str, JobErrors> {
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let good = String::from_utf8_lossy(&bytes[..at]);
        let (line, column) = super::problem::line_column(&good, at);
        let problem = JobProblem {
            file: file.to_owned(),
            line: line + first_line - 1,
            column,
            span: at..at,
            path: String::new(),
            what: format!("byte {at} is not UTF-8"),
            try_: "save the file as UTF-8".to_owned(),
        };
        JobErrors {
            problems: vec![problem],
        }
    })
}

/// One line of a file with a job a line.
#[derive(Debug)]
pub struct JobLine {
    /// Line, from 1.
    pub line: usize,
    /// The job, or its problems.
    pub job: Result<Parsed, JobErrors>,
}

/// Reads jobs from NDJSON, one a line, as they come; blank lines are skipped. Memory holds one
/// line at a time.
///
/// # Errors
/// Each item is an error of the source itself, or a line with a job or its problems.
pub fn read_ndjson<'a, R: BufRead + 'a>(
    mut source: R,
    file: &'a str,
    knowledge: &'a Knowledge,
) -> impl Iterator<Item = Result<JobLine, std::io::Error>> + 'a {
    let mut line = 0;
    let mut bytes = Vec::new();
    std::iter::from_fn(move || {
        loop {
            bytes.clear();
            match source.read_until(b'\n', &mut bytes) {
                Ok(0) => return None,
                Err(error) => return Some(Err(error)),
                Ok(_) => {}
            }
            line += 1;
            if bytes.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            let job = utf8(&bytes, file, line)
                .and_then(|text| read_json_line(text, file, line, knowledge));
            return Some(Ok(JobLine { line, job }));
        }
    })
}

fn understand(mut reader: Reader<'_>, root: &Node) -> Result<Parsed, JobErrors> {
    let file = reader.file.to_owned();
    let job = reader.job(root);
    let (problems, notes) = reader.finish(root);
    match job {
        Some(job) if problems.is_empty() => Ok(Parsed { job, notes }),
        _ if problems.is_empty() => Err(JobErrors {
            problems: vec![JobProblem {
                file,
                line: 1,
                column: 1,
                span: 0..0,
                path: String::new(),
                what: "this is no job".to_owned(),
                try_: format!("begin with schema = \"{SCHEMA}\""),
            }],
        }),
        _ => Err(JobErrors { problems }),
    }
}

impl Reader<'_> {
    fn job(&mut self, root: &Node) -> Option<Job> {
        let Value::Table(all) = &root.value else {
            let what = format!("a job is a table, not {}", root.value.kind());
            self.problem(root.span.clone(), what, "write one object with its keys");
            return None;
        };
        let mut t = Fields::new("", 0..0, all);
        self.schema(&mut t);
        let number = self.required(&mut t, "job", "job = \"A-1\"");
        let complaint = self.required(&mut t, "complaint", "complaint = \"hard to start cold\"");
        let mut job = Job::new(&number.unwrap_or_default(), &complaint.unwrap_or_default());
        if let Some(engine) = t.take("engine").and_then(|f| self.engine(f)) {
            job.engine = engine;
        }
        if let Some(bench) = t.take("bench").and_then(|f| self.bench(f)) {
            job.bench = bench;
        }
        if let Some(field) = t.take("entry") {
            job.entries = self.entries(field, &job);
        }
        job.extra = self.extra(&t, fields::JOB);
        Some(job)
    }

    fn schema(&mut self, t: &mut Fields<'_>) {
        let example = format!("schema = \"{SCHEMA}\"");
        let Some(field) = t.take("schema") else {
            self.missing(t, "schema", &example);
            return;
        };
        if let Some(text) = self.text(field)
            && text != SCHEMA
        {
            let what = format!("schema `{text}` is not known");
            let try_ = format!("this program reads `{example}`");
            self.problem(field.node.span.clone(), what, try_);
        }
    }

    fn required(&mut self, t: &mut Fields<'_>, key: &str, example: &str) -> Option<String> {
        match t.take(key) {
            Some(field) => self.text(field),
            None => {
                self.missing(t, key, example);
                None
            }
        }
    }

    fn entries(&mut self, field: &Field, job: &Job) -> Vec<Entry> {
        let mut entries: Vec<Entry> = Vec::new();
        for (at, node) in self.list(field).iter().enumerate() {
            if let Some(entry) = self.entry(node, &job.engine) {
                self.trial_twice(node, &entry, &entries);
                // After an entry that was not understood the numbers are off.
                if at == entries.len() {
                    self.withdrawn_twice(node, &entry, &entries);
                }
                let settles = matches!(entry.body, EntryBody::Undo(_) | EntryBody::Aside(_));
                entries.push(entry);
                if settles {
                    settle(&mut entries);
                }
            }
        }
        entries
    }

    /// Refuses to take back an entry that is not there, or one that is taken back already.
    fn withdrawn_twice(&mut self, node: &Node, entry: &Entry, before: &[Entry]) {
        let (number, aside) = match &entry.body {
            EntryBody::Undo(undo) => (undo.entry, false),
            EntryBody::Aside(aside) => (aside.entry, true),
            _ => return,
        };
        let body = if aside { "aside" } else { "undo" };
        let span = place_within(node, body, "entry").unwrap_or_else(|| node.span.clone());
        let Some(known) = before.get(number - 1) else {
            let what = format!("there is no entry {number} before this one");
            let try_ = format!("count the entries from 1; there are {}", before.len());
            self.problem(span, what, try_);
            return;
        };
        let already = match known.withdrawn {
            Some(Withdrawn::Undone { by }) => Some(format!("undone already, by entry {}", by + 1)),
            Some(Withdrawn::Aside { by }) if aside => {
                Some(format!("set aside already, by entry {}", by + 1))
            }
            None if aside && known.set_aside.is_some() => Some("set aside already".to_owned()),
            _ => None,
        };
        if let Some(already) = already {
            let what = format!("entry {number} is {already}");
            self.problem(span, what, "to put it back, undo the entry that did so");
        }
    }

    /// Refuses a trial number that stands already; work in between starts a new series.
    fn trial_twice(&mut self, node: &Node, entry: &Entry, before: &[Entry]) {
        let EntryBody::Reading(reading) = &entry.body else {
            return;
        };
        let Some(trial) = reading.trial else { return };
        let first = before
            .iter()
            .rev()
            .take_while(|e| !matches!(e.body, EntryBody::Work(_)))
            .filter(|e| e.is_recorded())
            .find(|e| match &e.body {
                EntryBody::Reading(r) => {
                    (&r.check, r.cylinder, r.trial)
                        == (&reading.check, reading.cylinder, reading.trial)
                }
                _ => false,
            });
        if let Some(first) = first {
            let place = first
                .position
                .map_or(String::new(), |p| format!(", first on line {}", p.line));
            let what = format!("trial {trial} of `{}` stands twice{place}", reading.check);
            let span = place_within(node, "reading", "trial").unwrap_or_else(|| node.span.clone());
            self.problem(
                span,
                what,
                "number the trials 1, 2, 3 ... in the order they were done",
            );
        }
    }
}

/// Where an entry says `key` within its body.
fn place_within(node: &Node, body: &str, key: &str) -> Option<std::ops::Range<usize>> {
    let inner = |node: &Node, name: &str| match &node.value {
        Value::Table(fields) => fields
            .iter()
            .find(|f| f.name == name)
            .map(|f| f.node.clone()),
        _ => None,
    };
    Some(inner(&inner(node, body)?, key)?.span)
}
