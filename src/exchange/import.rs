//! A table into jobs: reads every record, says where it went, and hands on what was made.
//!
//! A dry run and a real one are this same code with another [`Sink`]. Two walks through the
//! file, so memory does not grow with it but for a few bytes a record to find repeats. Must not
//! write files.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::fs::File;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use rayon::prelude::*;

use super::cell::Units;
use super::draft;
use super::encoding::{self, Bytes, Coding, How};
use super::error::ExchangeError;
use super::headings;
use super::issue::{Balance, Code, Issue, Level};
use super::layout::{self, Layout};
use super::map::{self, Map};
use super::phrases::Unmapped;
use super::plan::{self, Column, ColumnSeen, Plan, Reads};
use super::quarantine;
use super::records::{Record, Records};
use super::row::{self, Context, Judged, Numbered};
use super::story::{Counts, Story};
use super::text;
use crate::knowledge::Knowledge;

/// Records judged side by side.
const BATCH: usize = 4096;
/// Records a worker takes at a time.
const SLICE: usize = 256;
/// Bytes looked at to find the layout.
const SAMPLE: u64 = 1 << 20;
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

/// A file as it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Name as shown.
    pub file: String,
    /// Hash, size, lines and encoding.
    pub bytes: Bytes,
    /// Delimiter and heading.
    pub layout: Layout,
    /// Headings.
    pub headings: Vec<String>,
    /// The file is a quarantine file that is brought back.
    pub mended: bool,
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

/// An open table before its records are read.
struct Open {
    source: File,
    table: Table,
    map: Map,
    map_text: String,
    drafted: bool,
    rows: u64,
}

fn reading(error: std::io::Error) -> ExchangeError {
    ExchangeError::Read(error.to_string())
}

/// The records of a file from its first line, decoded as far as is needed.
pub(super) fn records(source: &File, coding: Coding, delimiter: u8) -> Result<Records<Box<dyn Read + '_>>, ExchangeError> {
    let mut source: &File = source;
    source.seek(SeekFrom::Start(coding.mark as u64)).map_err(reading)?;
    let bytes: Box<dyn Read> = if coding.cut_raw() {
        Box::new(source)
    } else {
        Box::new(text::Decoded::new(source, coding.encoding))
    };
    Ok(Records::new(bytes, delimiter, 1))
}

/// Encoding, layout and headings of a file.
///
/// # Errors
/// When it cannot be read or has no heading.
pub fn table(source: &File, file: &str, said: &map::FileSaid, encoding: Option<&str>) -> Result<Table, ExchangeError> {
    let stated = encoding.or(said.encoding.as_deref());
    let mut plain: &File = source;
    plain.seek(SeekFrom::Start(0)).map_err(reading)?;
    let bytes = encoding::look(source, stated)?;
    let coding = bytes.coding;
    let mut sample = Vec::new();
    plain.seek(SeekFrom::Start(coding.mark as u64)).map_err(reading)?;
    let mut limited: Box<dyn Read> = if coding.cut_raw() {
        Box::new(plain.take(SAMPLE))
    } else {
        Box::new(text::Decoded::new(plain, coding.encoding).take(SAMPLE))
    };
    limited.read_to_end(&mut sample).map_err(reading)?;
    drop(limited);
    let whole = (sample.len() as u64) < SAMPLE;
    let mended = quarantine::is_one(&sample);
    let delimiter = said.delimiter.as_ref().and_then(|d| match d.get_ref().as_str() {
        "tab" | "\\t" => Some(b'\t'),
        one => one.bytes().next().filter(|b| one.len() == 1 && !matches!(b, b'"' | b'\n' | b'\r')),
    });
    let layout = if mended {
        layout::find(&sample, whole, None, Some(1))
    } else {
        layout::find(&sample, whole, delimiter, said.header_line)
    };
    let mut table = Table {
        file: file.to_owned(),
        bytes,
        layout,
        headings: Vec::new(),
        mended,
    };
    let rows = heading_rows(said);
    table.headings = find_headings(source, &table, rows)?;
    Ok(table)
}

fn heading_rows(said: &map::FileSaid) -> u64 {
    said.header_rows.unwrap_or(1).clamp(1, 10)
}

fn find_headings(source: &File, table: &Table, rows: u64) -> Result<Vec<String>, ExchangeError> {
    let cells = table.layout.cells;
    if table.layout.header_line == 0 {
        return if table.bytes.size == 0 { Err(ExchangeError::NoHeading) } else { Ok(headings::names(&[], cells)) };
    }
    let mut records = records(source, table.bytes.coding, table.layout.delimiter)?;
    let mut record = Record::default();
    let mut found: Vec<Vec<String>> = Vec::new();
    while (found.len() as u64) < rows && records.next(&mut record).map_err(reading)? {
        if record.line_to >= table.layout.header_line {
            let cells = record.cells();
            let cells = cells.map(|c| text::composed(&text::cell(c, &table.bytes.coding).text).into_owned());
            found.push(cells.collect());
        }
    }
    if found.is_empty() {
        return Err(ExchangeError::NoHeading);
    }
    Ok(headings::names(&found, 0))
}

fn open(path: &Path, wishes: &Wishes, knowledge: &Knowledge) -> Result<Open, ExchangeError> {
    let source = File::open(path).map_err(reading)?;
    let stated = match &wishes.map {
        Some(text) => map::read(text).map_err(ExchangeError::Map)?,
        None => Map::default(),
    };
    let table = table(&source, &wishes.file, &stated.file, wishes.encoding.as_deref())?;
    let drafted = wishes.map.is_none();
    let (map, map_text) = match &wishes.map {
        Some(text) => (stated, text.clone()),
        None => {
            let own = quarantine::own_headings(&table.headings);
            let text = draft::text(&own, knowledge);
            (map::read(&text).map_err(ExchangeError::Map)?, text)
        }
    };
    let rows = heading_rows(&map.file);
    Ok(Open {
        source,
        table,
        map,
        map_text,
        drafted,
        rows,
    })
}

impl Open {
    /// Columns of the table itself, without those of a quarantine file.
    fn headings(&self) -> Vec<String> {
        if self.table.mended {
            quarantine::own_headings(&self.table.headings)
        } else {
            self.table.headings.clone()
        }
    }

    /// The records below the heading.
    fn body(&self) -> Result<Records<Box<dyn Read + '_>>, ExchangeError> {
        let mut records = records(&self.source, self.table.bytes.coding, self.table.layout.delimiter)?;
        let mut record = Record::default();
        let line = self.table.layout.header_line;
        if line == 0 {
            // A `sep=` line is no record.
            if self.table.layout.sep_line {
                records.next(&mut record).map_err(reading)?;
            }
            return Ok(records);
        }
        let mut rows = 0;
        while rows < self.rows && records.next(&mut record).map_err(reading)? {
            rows += u64::from(record.line_to >= line);
        }
        Ok(records)
    }

    fn plan(&self, seen: &[ColumnSeen], knowledge: &Knowledge) -> Result<Plan, ExchangeError> {
        plan::make(&self.map, &self.map_text, &self.headings(), seen, knowledge).map_err(ExchangeError::Map)
    }

    /// The first walk: decimal signs and dates of the columns that need them.
    fn survey(&self, plan: &Plan) -> Result<Vec<ColumnSeen>, ExchangeError> {
        let mut seen = vec![ColumnSeen::default(); plan.columns.len()];
        let wanted: Vec<(usize, bool)> = plan
            .columns
            .iter()
            .enumerate()
            .filter_map(|(at, column)| match column {
                Column::Date(..) => Some((at, true)),
                Column::Value(v) if matches!(v.reads, Reads::Numbers(..) | Reads::Bare(..)) => Some((at, false)),
                _ => None,
            })
            .collect();
        let shift = if self.table.mended { quarantine::LEADING } else { 0 };
        let mut records = self.body()?;
        let mut record = Record::default();
        while records.next(&mut record).map_err(reading)? {
            // Totals and broken records do not speak for a column.
            if record.len() != self.table.headings.len() {
                continue;
            }
            for (at, date) in &wanted {
                let cell = record.cell(at + shift);
                if cell.is_empty() {
                    continue;
                }
                let cell = text::cell(cell, &self.table.bytes.coding);
                if *date {
                    if !cell.text.is_empty() {
                        seen[*at].dates.look(&cell.text);
                    }
                } else {
                    seen[*at].numbers.look(&cell.text);
                }
            }
        }
        Ok(seen)
    }
}

/// Whether a map fits a file: its headings, and every name in it.
///
/// # Errors
/// When the file cannot be read, or every problem of the map.
pub fn check(path: &Path, wishes: &Wishes, knowledge: &Knowledge) -> Result<(Table, Plan), ExchangeError> {
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
        let phrases = if causes { &mut story.causes } else { &mut story.work };
        let wrong = phrases.add(rules);
        let known: Vec<String> = phrases.strange(|id| !causes || Story::new(knowledge).has_fault(id)).iter().map(|s| (*s).to_owned()).collect();
        let file = said.rules.clone().unwrap_or_default();
        let problem = |line, what| super::error::MapProblem {
            line,
            column: 1,
            what,
            try_: "write phrase,cause with the id of a fault".to_owned(),
        };
        let mut problems: Vec<_> = wrong.iter().map(|l| problem(*l, format!("{file}: this line is no phrase"))).collect();
        problems.extend(known.iter().map(|id| problem(0, format!("{file}: there is no fault `{id}`"))));
        if !problems.is_empty() {
            return Err(ExchangeError::Map(problems));
        }
    }
    Ok(story)
}

/// Hash that stays the same on every machine of one build.
pub(super) fn hash_of(value: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

/// Hash of a key, as [`Known::keys`] holds it.
#[must_use]
pub fn key_hash(key: &str) -> u64 {
    hash_of(key)
}

/// Hash of a source and a line, as [`Known::lines`] holds it.
#[must_use]
pub fn line_hash(sha256: &str, line: u64) -> u64 {
    hash_of((sha256, line))
}

/// Where a record goes, before its cells are judged.
enum Fate {
    Judge { key: String, content: u64, source: Option<(String, u64)> },
    Said(Level, Code, String, String),
}

/// Repeats and clashes of one import.
struct Repeats {
    /// Key: line and contents of the first record that has it.
    keys: HashMap<u64, (u64, u64)>,
    /// Contents of records that clashed or had no key.
    odd: HashMap<u64, u64>,
    /// Contents without the key of the last records, for near repeats.
    near: std::collections::VecDeque<(u64, u64)>,
}

/// Records back to which near repeats are looked for.
const NEAR: usize = 500;
/// Filled cells a record must have beside its key to be called a near repeat.
const NEAR_CELLS: usize = 5;

/// Imports a table.
///
/// # Errors
/// When it cannot be read or its map not used, or the sink fails.
pub fn run(path: &Path, wishes: &Wishes, known: &Known, knowledge: &Knowledge, sink: &mut dyn Sink) -> Result<Report, ExchangeError> {
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
        repeats: Repeats {
            keys: HashMap::new(),
            odd: HashMap::new(),
            near: std::collections::VecDeque::new(),
        },
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
        sink,
    };
    run.opening()?;
    run.records()?;
    let Run { mut report, unmapped, .. } = run;
    report.unmapped = unmapped.ranked().into_iter().map(|(t, n)| (t.to_owned(), n)).collect();
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

struct Run<'a> {
    context: Context<'a>,
    open: &'a Open,
    known: &'a Known,
    repeats: Repeats,
    report: Report,
    unmapped: Unmapped,
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
            let what = format!("read as Windows-1252, because byte {byte:02X} at line {line} is not UTF-8");
            self.say(whole(Code::EncodingGuess, line, what, "state the encoding if it is another one"))?;
        }
        if self.open.rows > 1 {
            let what = format!("{} heading rows were joined", self.open.rows);
            self.say(whole(Code::HeaderJoined, self.open.table.layout.header_line, what, ""))?;
        }
        Ok(())
    }

    fn say(&mut self, issue: Issue) -> Result<(), ExchangeError> {
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
        loop {
            let mut filled = 0;
            while filled < BATCH && source.next(&mut batch[filled]).map_err(reading)? {
                filled += 1;
            }
            let fates: Vec<Fate> = batch[..filled].iter_mut().map(|record| self.fate(record)).collect();
            let first = self.report.balance.records + 1;
            self.report.balance.records += filled as u64;
            let context = &self.context;
            let pairs: Vec<(usize, &Record, &Fate)> = batch[..filled].iter().zip(&fates).enumerate().map(|(at, (r, f))| (at, r, f)).collect();
            let judged: Vec<Option<Judged>> = pairs
                .par_chunks(SLICE)
                .flat_map_iter(|slice| {
                    let mut units = Units::default();
                    slice.iter().map(move |(at, record, fate)| {
                        let Fate::Judge { key, content, source } = fate else {
                            return None;
                        };
                        let numbered = Numbered {
                            record,
                            number: first + *at as u64,
                            source: source.as_ref().map(|(s, l)| (s.as_str(), *l)),
                            content: *content,
                            key,
                        };
                        Some(row::judge(context, &numbered, &mut units))
                    })
                })
                .collect();
            for (at, (fate, judged)) in fates.into_iter().zip(judged).enumerate() {
                self.settle(&batch[at], first + at as u64, fate, judged)?;
            }
            if filled < BATCH {
                return Ok(());
            }
        }
    }

    /// Blank, footer, exact repeat, cell count, key missing, key clash: in this order.
    fn fate(&mut self, record: &mut Record) -> Fate {
        let said = |level, code, what: &str, hint: &str| Fate::Said(level, code, what.to_owned(), hint.to_owned());
        if record.is_blank() {
            return said(Level::Note, Code::Blank, "the record is empty", "");
        }
        let source = if self.open.table.mended {
            quarantine::take_source(record, self.context.plan.headings.len())
        } else {
            None
        };
        let plan = self.context.plan;
        if self.is_footer(record) {
            return said(Level::Note, Code::Footer, "a total or note below the table", "");
        }
        let content = content_hash(record, None);
        let key = self.key(record);
        let key_hash = key.as_deref().map(key_hash);
        let line = source.as_ref().map_or(record.line_from, |(_, line)| *line);
        let before = key_hash.and_then(|k| self.repeats.keys.get(&k)).copied();
        let twin = before.filter(|(_, c)| *c == content).map(|(line, _)| line);
        if let Some(twin) = twin.or_else(|| self.repeats.odd.get(&content).copied()) {
            return said(Level::Note, Code::DupExact, &format!("equal to line {twin}; left out"), "");
        }
        let refuse = |repeats: &mut Repeats, code, what: &str, hint: &str| {
            repeats.odd.insert(content, line);
            said(Level::Row, code, what, hint)
        };
        if record.open_quote {
            return refuse(&mut self.repeats, Code::OpenQuote, "a quote is opened here and never closed", "close the quote; what follows was swallowed");
        }
        let wanted = plan.headings.len();
        if record.len() != wanted || quarantine::has_missing(record) {
            let what = format!("{} cells where the heading has {wanted}", record.len());
            return refuse(&mut self.repeats, Code::CellCount, &what, "quote a cell that holds the separator, or take out what is too much");
        }
        let (Some(key), Some(hash)) = (key, key_hash) else {
            return refuse(&mut self.repeats, Code::KeyMissing, "the record has no key", "give it a number of its own");
        };
        if let Some((first, _)) = before {
            let what = format!("`{key}` stands on line {first} with other contents");
            let hint = "a second visit? use key = job number and date; came back? give it a number of its own";
            return refuse(&mut self.repeats, Code::KeyClash, &what, hint);
        }
        let (from, at) = source.as_ref().map_or((self.context.sha256, record.line_from), |(s, l)| (s.as_str(), *l));
        let stands = self.known.keys.get(&hash);
        if stands == Some(&content) || self.known.lines.contains(&line_hash(from, at)) {
            self.repeats.keys.insert(hash, (line, content));
            return said(Level::Note, Code::Already, "imported before", "");
        }
        if stands.is_some() {
            let what = format!("`{key}` was imported before with other contents");
            return refuse(&mut self.repeats, Code::KeyClash, &what, "a second visit? use key = job number and date");
        }
        self.repeats.keys.insert(hash, (line, content));
        Fate::Judge { key, content, source }
    }

    fn is_footer(&self, record: &Record) -> bool {
        let Some(first) = record.cells().find(|c| !c.trim_ascii().is_empty()) else {
            return false;
        };
        let text = text::folded(&text::cell(first, &self.context.coding).text);
        self.context.plan.footers.iter().any(|f| match f.strip_suffix('*') {
            Some(start) => text.starts_with(start),
            None => text == *f,
        })
    }

    fn key(&self, record: &Record) -> Option<String> {
        let mut key = String::new();
        for at in &self.context.plan.key {
            let cell = text::cell(record.cell(*at), &self.context.coding);
            if cell.text.is_empty() {
                return None;
            }
            if !key.is_empty() {
                key.push('/');
            }
            let part = text::composed(&cell.text);
            match &self.context.plan.columns[*at] {
                Column::Date(spec, _) => match spec.read(&part) {
                    super::dates::Dated::Is(d) | super::dates::Dated::Serial(d) => key.push_str(&d),
                    _ => key.push_str(&part),
                },
                _ => key.push_str(&part),
            }
        }
        (!key.is_empty()).then_some(key)
    }

    fn settle(&mut self, record: &Record, number: u64, fate: Fate, judged: Option<Judged>) -> Result<(), ExchangeError> {
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
            (Fate::Judge { key, content, source }, Some(judged)) => {
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
                        self.repeats.odd.insert(content, source.map_or(record.line_from, |s| s.1));
                        let rows: Vec<Issue> = judged.issues.iter().filter(|i| i.level == Level::Row).cloned().collect();
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
                judged.issues.into_iter().try_for_each(|issue| self.say(issue))
            }
            // Every record that is to be judged was judged.
            (Fate::Judge { .. }, None) => Ok(()),
        }
    }

    fn aside(&mut self, record: &Record, issues: &[Issue]) -> Result<(), ExchangeError> {
        let aside = quarantine::Aside::new(record, issues, &self.context);
        self.sink.aside(&aside)
    }

    /// Lists a record that is like an earlier one in all but its key.
    fn near(&mut self, record: &Record, number: u64, key: &str) -> Result<(), ExchangeError> {
        let filled = record.cells().filter(|c| !c.trim_ascii().is_empty()).count();
        if filled < NEAR_CELLS + self.context.plan.key.len() {
            return Ok(());
        }
        let rest = content_hash(record, Some(&self.context.plan.key));
        let twin = self.repeats.near.iter().find(|(hash, _)| *hash == rest).map(|(_, line)| *line);
        if self.repeats.near.len() >= NEAR {
            self.repeats.near.pop_front();
        }
        self.repeats.near.push_back((rest, record.line_from));
        let Some(twin) = twin else { return Ok(()) };
        self.say(Issue {
            line_from: record.line_from,
            line_to: record.line_to,
            record: number,
            column: None,
            header: String::new(),
            raw: key.to_owned(),
            code: Code::NearDup,
            level: Level::Note,
            message: format!("like line {twin} in all but its key"),
            hint: "see whether it was entered twice".to_owned(),
        })
    }
}

/// Hash of the trimmed cells, those of the key left out if they are named.
fn content_hash(record: &Record, without: Option<&[usize]>) -> u64 {
    let mut hasher = DefaultHasher::new();
    for (at, cell) in record.cells().enumerate() {
        if without.is_none_or(|key| !key.contains(&at)) {
            cell.trim_ascii().hash(&mut hasher);
        }
    }
    hasher.finish()
}
