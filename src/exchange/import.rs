//! A table into jobs: reads every record, says where it went, and hands on what was made.
//!
//! A dry run and a real one are this same code with another [`Sink`]. Two walks through the
//! file, so memory does not grow with it but for a few bytes a record to find repeats. Must not
//! write files.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::Path;

use rayon::prelude::*;

use super::encoding::{self, How};
use super::error::ExchangeError;
use super::issue::{Balance, Code, Issue, Level};
use super::judged::{Context, Judged, Numbered};
use super::map::Map;
use super::memo::Memos;
use super::open::{Open, open, reading};
pub use super::open::{Table, table};
use super::phrases::Unmapped;
use super::plan::{Column, Plan, Reads};
use super::quarantine;
use super::records::Record;
use super::repeats::{Fate, Repeats};
pub use super::repeats::{key_hash, line_hash};
use super::row;
use super::story::{Counts, Story};
use crate::knowledge::Knowledge;

/// Records judged side by side.
const BATCH: usize = 4096;
/// Records a worker takes at a time.
const SLICE: usize = 256;
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

/// What was imported before.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// Hash of source and line ([`line_hash`]) of jobs that stand already.
    pub lines: HashSet<u64>,
    /// Hash of the key, with the hash of the contents it had.
    pub keys: HashMap<u64, u64>,
}

/// Takes what is made, in the order of the file.
pub trait Sink {
    /// One job, one line of JSON without its end.
    ///
    /// # Errors
    /// When it cannot be taken.
    fn job(&mut self, line: &str) -> Result<(), ExchangeError>;
    /// One issue.
    ///
    /// # Errors
    /// When it cannot be taken.
    fn issue(&mut self, issue: &Issue) -> Result<(), ExchangeError>;
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

/// Takes nothing: a dry run.
#[derive(Debug, Default)]
pub struct Nothing;

impl Sink for Nothing {
    fn job(&mut self, _: &str) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn issue(&mut self, _: &Issue) -> Result<(), ExchangeError> {
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
    let seen = open.survey(&first)?;
    let plan = open.plan(&seen, knowledge)?;
    sink.begin(&open.table)?;
    let mut run = Run {
        context: Context {
            plan: &plan,
            coding: open.table.bytes.coding,
            file: &open.table.file,
            sha256: &open.table.bytes.sha256,
            story: &story,
            strict: wishes.strict,
        },
        open: &open,
        known,
        repeats: Repeats::default(),
        report: Report {
            table: open.table.clone(),
            balance: Balance::default(),
            codes: BTreeMap::new(),
            issues: Vec::new(),
            causes: Counts::default(),
            unmapped: Vec::new(),
            decimals: decimals(&plan),
            map_sha256: sha256(open.map_text.as_bytes()),
            drafted: open.drafted,
        },
        unmapped: Unmapped::default(),
        memos: Memos::default(),
        sink,
    };
    run.opening()?;
    run.records()?;
    let Run {
        mut report,
        unmapped,
        ..
    } = run;
    report.unmapped = unmapped
        .ranked()
        .into_iter()
        .map(|(t, n)| (t.to_owned(), n))
        .collect();
    Ok(report)
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

/// An import under way.
pub(super) struct Run<'a> {
    pub context: Context<'a>,
    pub open: &'a Open,
    pub known: &'a Known,
    pub repeats: Repeats,
    report: Report,
    unmapped: Unmapped,
    memos: Memos,
    sink: &'a mut dyn Sink,
}

impl Run<'_> {
    /// What is to be said of the file as a whole.
    fn opening(&mut self) -> Result<(), ExchangeError> {
        let whole = |code, line, message: String, hint: &str| Issue {
            line_from: line,
            line_to: line,
            record: 0,
            column: None,
            header: String::new(),
            raw: String::new(),
            code,
            level: Level::Note,
            message,
            hint: hint.to_owned(),
        };
        if let How::Guessed { byte, line } = self.context.coding.how {
            let what = format!(
                "read as Windows-1252, because byte {byte:02X} at line {line} is not UTF-8"
            );
            self.say(whole(
                Code::EncodingGuess,
                line,
                what,
                "state the encoding if it is another one",
            ))?;
        }
        if self.open.rows > 1 {
            let what = format!("{} heading rows were joined", self.open.rows);
            self.say(whole(
                Code::HeaderJoined,
                self.open.table.layout.header_line,
                what,
                "",
            ))?;
        }
        Ok(())
    }

    pub(super) fn say(&mut self, issue: Issue) -> Result<(), ExchangeError> {
        *self.report.codes.entry(issue.code).or_insert(0) += 1;
        self.sink.issue(&issue)?;
        if self.report.issues.len() < MOST_KEPT {
            self.report.issues.push(issue);
        }
        Ok(())
    }

    fn records(&mut self) -> Result<(), ExchangeError> {
        let open = self.open;
        let mut source = open.body()?;
        let mut batch: Vec<Record> = vec![Record::default(); BATCH];
        let mut ahead: Vec<Record> = vec![Record::default(); BATCH];
        let mut fill = |batch: &mut [Record]| {
            let mut filled = 0;
            while filled < BATCH && source.next(&mut batch[filled]).map_err(reading)? {
                filled += 1;
            }
            Ok::<usize, ExchangeError>(filled)
        };
        let mut filled = fill(&mut batch)?;
        loop {
            let fates: Vec<Fate> = batch[..filled]
                .iter_mut()
                .map(|record| self.fate(record))
                .collect();
            let first = self.report.balance.records + 1;
            self.report.balance.records += filled as u64;
            let (context, memos) = (&self.context, &self.memos);
            let pairs: Vec<(usize, &Record, &Fate)> = batch[..filled]
                .iter()
                .zip(&fates)
                .enumerate()
                .map(|(at, (r, f))| (at, r, f))
                .collect();
            let judge = || {
                pairs
                    .par_chunks(SLICE)
                    .flat_map_iter(|slice| {
                        let mut memo = memos.own();
                        let judged = slice.iter().map(|(at, record, fate)| {
                            let Fate::Judge {
                                key,
                                content,
                                source,
                            } = fate
                            else {
                                return None;
                            };
                            let numbered = Numbered {
                                record,
                                number: first + *at as u64,
                                source: source.as_ref().map(|(s, l)| (s.as_str(), *l)),
                                content: *content,
                                key,
                            };
                            Some(row::judge(context, &numbered, &mut memo))
                        });
                        judged.collect::<Vec<_>>()
                    })
                    .collect::<Vec<Option<Judged>>>()
            };
            // The next records are read while these are judged.
            let (judged, next) = rayon::join(judge, || fill(&mut ahead));
            for (at, (fate, judged)) in fates.into_iter().zip(judged).enumerate() {
                self.settle(&batch[at], first + at as u64, fate, judged)?;
            }
            if filled < BATCH {
                return Ok(());
            }
            filled = next?;
            std::mem::swap(&mut batch, &mut ahead);
        }
    }

    fn settle(
        &mut self,
        record: &Record,
        number: u64,
        fate: Fate,
        judged: Option<Judged>,
    ) -> Result<(), ExchangeError> {
        match (fate, judged) {
            (Fate::Said(level, code, message, hint), _) => {
                match (level, code) {
                    (Level::Row, _) => self.report.balance.quarantined += 1,
                    (_, Code::DupExact) => self.report.balance.duplicates += 1,
                    (_, Code::Already) => self.report.balance.already += 1,
                    _ => self.report.balance.ignored += 1,
                }
                let issue = Issue {
                    line_from: record.line_from,
                    line_to: record.line_to,
                    record: number,
                    column: None,
                    header: String::new(),
                    raw: String::new(),
                    code,
                    level,
                    message,
                    hint,
                };
                if level == Level::Row {
                    self.aside(record, std::slice::from_ref(&issue))?;
                }
                self.say(issue)
            }
            (
                Fate::Judge {
                    key,
                    content,
                    source,
                },
                Some(judged),
            ) => {
                self.near(record, number, &key)?;
                match &judged.line {
                    Some(line) => {
                        self.report.balance.accepted += 1;
                        self.sink.job(line)?;
                    }
                    None => {
                        self.report.balance.quarantined += 1;
                        // A record that was not taken does not hold its key.
                        self.repeats.keys.remove(&key_hash(&key));
                        self.repeats
                            .odd
                            .insert(content, source.map_or(record.line_from, |s| s.1));
                        let rows: Vec<Issue> = judged
                            .issues
                            .iter()
                            .filter(|i| i.level == Level::Row)
                            .cloned()
                            .collect();
                        self.aside(record, &rows)?;
                    }
                }
                let counts = &judged.counts;
                let causes = &mut self.report.causes;
                causes.phrases += counts.phrases;
                causes.mapped += counts.mapped;
                causes.negated += counts.negated;
                causes.unmapped += counts.unmapped;
                counts.texts.iter().for_each(|t| self.unmapped.count(t));
                judged
                    .issues
                    .into_iter()
                    .try_for_each(|issue| self.say(issue))
            }
            // Every record that is to be judged was judged.
            (Fate::Judge { .. }, None) => Ok(()),
        }
    }

    fn aside(&mut self, record: &Record, issues: &[Issue]) -> Result<(), ExchangeError> {
        let aside = quarantine::Aside::new(record, issues, &self.context);
        self.sink.aside(&aside)
    }
}
