//! A table into jobs: reads every record, says where it went, and hands on what was made.
//!
//! A dry run and a real one are this same code with another [`Sink`]. Two walks through the
//! file, so memory does not grow with it. Must not write files.

use std::collections::BTreeMap;
use std::path::Path;

use super::encoding;
use super::error::ExchangeError;
use super::issue::{Balance, Code, Issue};
use super::judged::Context;
pub use super::known::Known;
use super::map::Map;
use super::open::open;
pub use super::open::{Table, table};
use super::plan::{Column, Plan, Reads};
use super::quarantine;
pub use super::repeats::{key_hash, line_hash};
use super::story::{Counts, Story};
use super::survey;
use super::walk;
use crate::knowledge::Knowledge;

/// Issues kept in the report itself; all of them go to the sink.
pub const MOST_KEPT: usize = 1000;

/// What a person states beside the map.
#[derive(Debug, Clone, Default)]
pub struct Wishes {
    /// Name of the file as shown.
    pub file: String,
    /// Encoding.
    pub encoding: Option<String>,
    /// Notes count as cell errors, cell errors as record errors.
    pub strict: bool,
    /// The map as written; without one the draft for these headings is taken.
    pub map: Option<String>,
    /// Phrases for causes, as files name them in the map.
    pub rules: BTreeMap<String, String>,
}

/// How a sink takes issues.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// Each as it is.
    Each,
    /// As lines of a file.
    Lines,
    /// Not at all.
    None,
}

/// Takes what is made, in the order of the file.
pub trait Sink {
    /// How it takes issues: all by [`Sink::issue`], or all by [`Sink::issues`], or none.
    fn takes(&self) -> Takes {
        Takes::Each
    }
    /// Several issues as lines of JSON, each with its end.
    ///
    /// # Errors
    /// When they cannot be taken.
    fn issues(&mut self, _lines: &str) -> Result<(), ExchangeError> {
        Ok(())
    }
    /// One job, one line of JSON without its end.
    ///
    /// # Errors
    /// When it cannot be taken.
    fn job(&mut self, line: &str) -> Result<(), ExchangeError>;
    /// Several jobs, each line with its end.
    ///
    /// # Errors
    /// When they cannot be taken.
    fn jobs(&mut self, lines: &str) -> Result<(), ExchangeError> {
        lines.lines().try_for_each(|line| self.job(line))
    }
    /// One issue.
    ///
    /// # Errors
    /// When it cannot be taken.
    fn issue(&mut self, _issue: &Issue) -> Result<(), ExchangeError> {
        Ok(())
    }
    /// A record that goes to quarantine: the line it counts under, its source, codes, reasons
    /// and cells.
    ///
    /// # Errors
    /// When it cannot be taken.
    fn aside(&mut self, aside: &quarantine::Aside) -> Result<(), ExchangeError>;
    /// The file and its headings, before the first record.
    ///
    /// # Errors
    /// When it cannot be taken.
    fn begin(&mut self, table: &Table) -> Result<(), ExchangeError>;
}

/// Hands one issue to a sink as it takes them.
pub(super) fn hand_on(
    sink: &mut dyn Sink,
    issue: &Issue,
    table: &Table,
) -> Result<(), ExchangeError> {
    match sink.takes() {
        Takes::Each => sink.issue(issue),
        Takes::Lines => {
            let mut line = String::new();
            issue.line(&mut line, &table.file, &table.bytes.sha256);
            sink.issues(&line)
        }
        Takes::None => Ok(()),
    }
}

/// Takes nothing: a dry run.
#[derive(Debug, Default)]
pub struct Nothing;

impl Sink for Nothing {
    fn takes(&self) -> Takes {
        Takes::None
    }
    fn job(&mut self, _: &str) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn jobs(&mut self, _: &str) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn aside(&mut self, _: &quarantine::Aside) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn begin(&mut self, _: &Table) -> Result<(), ExchangeError> {
        Ok(())
    }
}

/// What an import found and did.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The file.
    pub table: Table,
    /// Where the records went.
    pub balance: Balance,
    /// Issues by code.
    pub codes: BTreeMap<Code, u64>,
    /// The first issues, at most [`MOST_KEPT`].
    pub issues: Vec<Issue>,
    /// What was found, counted.
    pub causes: Counts,
    /// Texts no phrase covers, most frequent first.
    pub unmapped: Vec<(String, u64)>,
    /// Column, decimal sign read.
    pub decimals: Vec<(String, char)>,
    /// Hash of the map, hexadecimal.
    pub map_sha256: String,
    /// The map was not given but drafted from the headings.
    pub drafted: bool,
}

/// Whether a map fits a file: its headings, and every name in it.
///
/// # Errors
/// When the file cannot be read, or every problem of the map.
pub fn check(
    path: &Path,
    wishes: &Wishes,
    knowledge: &Knowledge,
) -> Result<(Table, Plan), ExchangeError> {
    let open = open(path, wishes, knowledge)?;
    let plan = open.plan(&[], knowledge)?;
    story(&open.map, wishes, knowledge)?;
    Ok((open.table, plan))
}

fn story(map: &Map, wishes: &Wishes, knowledge: &Knowledge) -> Result<Story, ExchangeError> {
    let mut story = Story::new(knowledge);
    for said in map.text.values() {
        let Some(rules) = said.rules.as_ref().and_then(|r| wishes.rules.get(r)) else {
            continue;
        };
        let causes = said.role.as_ref().is_some_and(|r| r.get_ref() == "cause");
        let listed = story.faults().clone();
        let phrases = if causes {
            &mut story.causes
        } else {
            &mut story.work
        };
        let wrong = phrases.add(rules);
        let strange: Vec<String> = phrases
            .strange(|id| !causes || listed.contains_key(id))
            .iter()
            .map(|s| (*s).to_owned())
            .collect();
        let file = said.rules.clone().unwrap_or_default();
        let problem = |line, what| super::error::MapProblem {
            line,
            column: 1,
            what,
            try_: "write phrase,cause with the id of a fault".to_owned(),
            is_of_another_format: false,
        };
        let mut problems: Vec<_> = wrong
            .iter()
            .map(|l| problem(*l, format!("{file}: this line is no phrase")))
            .collect();
        problems.extend(
            strange
                .iter()
                .map(|id| problem(0, format!("{file}: there is no fault `{id}`"))),
        );
        if !problems.is_empty() {
            return Err(ExchangeError::Map(problems));
        }
    }
    Ok(story)
}

/// Imports a table.
///
/// # Errors
/// When it cannot be read or its map not used, or the sink fails.
pub fn run(
    path: &Path,
    wishes: &Wishes,
    known: &Known,
    knowledge: &Knowledge,
    sink: &mut dyn Sink,
) -> Result<Report, ExchangeError> {
    if wishes.map.is_none()
        && let Some(report) = super::own::run(path, &wishes.file, known, knowledge, sink)?
    {
        return Ok(report);
    }
    let open = open(path, wishes, knowledge)?;
    let first = open.plan(&[], knowledge)?;
    let story = story(&open.map, wishes, knowledge)?;
    let found = survey::survey(&open, &first)?;
    let plan = open.plan(&found.columns, knowledge)?;
    sink.begin(&open.table)?;
    let context = Context {
        plan: &plan,
        coding: open.table.bytes.coding,
        file: &open.table.file,
        sha256: &open.table.bytes.sha256,
        story: &story,
        strict: wishes.strict,
    };
    let report = Report {
        table: open.table.clone(),
        balance: Balance::default(),
        codes: BTreeMap::new(),
        issues: Vec::new(),
        causes: Counts::default(),
        unmapped: Vec::new(),
        decimals: decimals(&plan),
        map_sha256: sha256(open.map_text.as_bytes()),
        drafted: open.drafted,
    };
    walk::run(&open, &context, known, &found.repeated, report, sink)
}

/// Hash of bytes, hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    use sha2::{Digest, Sha256};
    encoding::hex(&Sha256::digest(bytes))
}

fn decimals(plan: &Plan) -> Vec<(String, char)> {
    use super::decimal::Decimal;
    let sign = |decimal| match decimal {
        Decimal::Comma => ',',
        Decimal::Dot => '.',
        Decimal::Unclear => '?',
    };
    let columns = plan.columns.iter().zip(&plan.headings);
    let numbers = columns.filter_map(|(column, heading)| match column {
        Column::Value(v) => match &v.reads {
            Reads::Numbers(n, _) => Some((heading.clone(), sign(n.decimal))),
            Reads::Bare((d, _), ..) => Some((heading.clone(), sign(*d))),
            _ => None,
        },
        _ => None,
    });
    numbers.collect()
}
