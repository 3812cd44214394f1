//! The second walk through a table: every record judged, and handed on in the order of the file.
//!
//! While the records of one batch are judged side by side, those before it are handed on and
//! those behind it are read; no more than three batches are in memory. Must not judge itself.

use rayon::prelude::*;

use super::encoding::How;
use super::error::ExchangeError;
use super::import::{MOST_KEPT, Report, Sink, Takes, hand_on};
use super::issue::{Code, Issue, Level};
use super::judged::{Context, Judged, Numbered, Said};
use super::known::Known;
use super::memo::Memos;
use super::open::Open;
use super::phrases::Unmapped;
use super::quarantine;
use super::records::Record;
use super::repeats::{self, Fate, Near, Plain, Repeats};
use super::row;
use super::survey::fill;

/// Records judged side by side. A record that was not taken holds its key until all of them
/// are judged, so this number is part of the outcome.
const BATCH: usize = 4096;
/// Records a worker takes at a time.
const SLICE: usize = 128;

/// Judged records of one worker, one behind the other.
#[derive(Default)]
struct Slice {
    /// Jobs, each line with its end.
    lines: String,
    said: Said,
    judged: Vec<Judged>,
}

/// Records on their way.
struct Batch {
    records: Vec<Record>,
    plain: Vec<Plain>,
    filled: usize,
    /// Number of the first one.
    first: u64,
    fates: Vec<Fate>,
    slices: Vec<Slice>,
}

impl Batch {
    fn new() -> Self {
        let mut plain = Vec::new();
        plain.resize_with(BATCH, Plain::default);
        let mut slices = Vec::new();
        slices.resize_with(BATCH.div_ceil(SLICE), Slice::default);
        Self {
            records: vec![Record::default(); BATCH],
            plain,
            filled: 0,
            first: 1,
            fates: Vec::with_capacity(BATCH),
            slices,
        }
    }

    /// Judges every record that has to be. Issues are kept one by one if `keep`, and written as
    /// lines if `asked`.
    fn judge(&mut self, context: &Context<'_>, memos: &Memos, asked: bool, keep: bool) {
        let Self {
            records,
            plain,
            fates,
            first,
            slices,
            ..
        } = self;
        slices.par_iter_mut().enumerate().for_each(|(n, slice)| {
            slice.lines.clear();
            slice.said.clear(asked, keep);
            slice.judged.clear();
            let from = n * SLICE;
            let Some(fates) = fates.get(from..) else {
                return;
            };
            let mut memo = memos.own();
            for (fate, at) in fates.iter().take(SLICE).zip(from..) {
                if !matches!(fate, Fate::Judge) {
                    continue;
                }
                let plain = &plain[at];
                let numbered = Numbered {
                    record: &records[at],
                    number: *first + at as u64,
                    source: plain.source.as_ref().map(|(s, l)| (s.as_str(), *l)),
                    content: plain.content,
                    key: &plain.key,
                };
                let Slice { lines, said, .. } = &mut *slice;
                let judged = row::judge(context, &numbered, &mut memo, lines, said);
                slice.judged.push(judged);
            }
        });
    }
}

/// Where judged records go.
struct Out<'a> {
    context: &'a Context<'a>,
    report: Report,
    unmapped: Unmapped,
    near: Near,
    sink: &'a mut dyn Sink,
}

/// Walks through the table. `repeated` are the marks that stand in it more than once, `report`
/// is one in which nothing is counted yet.
///
/// # Errors
/// When the table cannot be read, or the sink fails.
pub(super) fn run(
    open: &Open,
    context: &Context<'_>,
    known: &Known,
    repeated: &[u64],
    report: Report,
    sink: &mut dyn Sink,
) -> Result<Report, ExchangeError> {
    let mut out = Out {
        context,
        report,
        unmapped: Unmapped::default(),
        near: Near::default(),
        sink,
    };
    out.opening(open)?;
    let memos = Memos::default();
    let mut repeats = Repeats::default();
    let mut source = open.body()?;
    let [mut done, mut now, mut next] = [Batch::new(), Batch::new(), Batch::new()];
    let prepare = |batch: &mut Batch| {
        let records = batch.records[..batch.filled].par_chunks_mut(SLICE);
        let slices = records.zip(batch.plain.par_chunks_mut(SLICE));
        slices.for_each(|(records, plain)| {
            let mut room = Vec::new();
            for (record, plain) in records.iter_mut().zip(plain) {
                let mended = open.table.mended;
                repeats::plain(record, plain, context, mended, repeated, &mut room);
            }
        });
    };
    now.filled = fill(&mut source, &mut now.records)?;
    prepare(&mut now);
    while now.filled > 0 {
        let read = now.records[..now.filled].iter().zip(&now.plain);
        let fates = read.map(|(record, plain)| repeats.fate(record, plain, context, known));
        now.fates.clear();
        now.fates.extend(fates);
        next.first = now.first + now.filled as u64;
        let (mut side, mut read) = (Ok(()), Ok(0));
        let takes = out.sink.takes();
        let (asked, keep) = (
            takes == Takes::Lines,
            takes == Takes::Each || out.has_room(),
        );
        let (judging, coming) = (&mut now, &mut next);
        rayon::in_place_scope(|scope| {
            scope.spawn(|_| judging.judge(context, &memos, asked, keep));
            read = fill(&mut source, &mut coming.records);
            coming.filled = *read.as_ref().unwrap_or(&0);
            scope.spawn(|_| prepare(coming));
            side = out.settle(&mut done);
        });
        side?;
        read?;
        for (at, judged) in now.judged() {
            if !judged.taken {
                repeats.refused(&now.records[at], &now.plain[at]);
            }
        }
        std::mem::swap(&mut done, &mut now);
        std::mem::swap(&mut now, &mut next);
    }
    out.settle(&mut done)?;
    let ranked = out.unmapped.ranked().into_iter();
    out.report.unmapped = ranked.map(|(t, n)| (t.to_owned(), n)).collect();
    Ok(out.report)
}

impl Batch {
    /// Judged records with their places.
    fn judged(&self) -> impl Iterator<Item = (usize, &Judged)> {
        let judged = self.slices.iter().flat_map(|s| &s.judged);
        let asked = self.fates.iter().enumerate();
        let asked = asked.filter(|(_, fate)| matches!(fate, Fate::Judge));
        asked.map(|(at, _)| at).zip(judged)
    }
}

impl Out<'_> {
    /// What is to be said of the file as a whole.
    fn opening(&mut self, open: &Open) -> Result<(), ExchangeError> {
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
        if open.rows > 1 {
            let what = format!("{} heading rows were joined", open.rows);
            let line = open.table.layout.header_line;
            self.say(whole(Code::HeaderJoined, line, what, ""))?;
        }
        Ok(())
    }

    /// Whether the report still takes issues.
    fn has_room(&self) -> bool {
        self.report.issues.len() < MOST_KEPT
    }

    /// Says an issue of a record that was not judged, or of the file.
    fn say(&mut self, issue: Issue) -> Result<(), ExchangeError> {
        *self.report.codes.entry(issue.code).or_insert(0) += 1;
        hand_on(self.sink, &issue, &self.report.table)?;
        if self.has_room() {
            self.report.issues.push(issue);
        }
        Ok(())
    }

    /// Hands on a batch and empties it.
    fn settle(&mut self, batch: &mut Batch) -> Result<(), ExchangeError> {
        let mut fates = batch.fates.drain(..).enumerate();
        self.report.balance.records += fates.len() as u64;
        for slice in &mut batch.slices {
            self.sink.jobs(&slice.lines)?;
            let said = &slice.said;
            for (code, many) in Code::ALL.iter().zip(said.codes).filter(|(_, n)| *n > 0) {
                *self.report.codes.entry(*code).or_insert(0) += many;
            }
            // Lines up to here are handed on; more of them up to `to` may be.
            let (mut from, mut to) = (0, 0);
            let mut judged = slice.judged.drain(..);
            for (at, fate) in fates.by_ref().take(SLICE) {
                let (record, plain) = (&batch.records[at], &batch.plain[at]);
                let number = batch.first + at as u64;
                match fate {
                    Fate::Said(level, code, message, hint) => {
                        self.lines(said, &mut from, to)?;
                        let issue = of_record(record, number, code, level, message, &hint);
                        self.unjudged(record, issue)?;
                    }
                    Fate::Judge => {
                        // Every record that is to be judged was judged.
                        if let Some(judged) = judged.next() {
                            if let Some(issue) = self.near(record, plain, number) {
                                self.lines(said, &mut from, to)?;
                                self.say(issue)?;
                            }
                            to = judged.said;
                            self.judged(record, judged)?;
                        }
                    }
                }
            }
            self.lines(said, &mut from, to)?;
        }
        Ok(())
    }

    /// Hands on the lines from one place to another.
    fn lines(&mut self, said: &Said, from: &mut usize, to: usize) -> Result<(), ExchangeError> {
        let lines = said.lines.get(*from..to).unwrap_or_default();
        *from = to;
        if lines.is_empty() {
            return Ok(());
        }
        self.sink.issues(lines)
    }

    fn unjudged(&mut self, record: &Record, issue: Issue) -> Result<(), ExchangeError> {
        let balance = &mut self.report.balance;
        match (issue.level, issue.code) {
            (Level::Row, _) => balance.quarantined += 1,
            (_, Code::DupExact) => balance.duplicates += 1,
            (_, Code::Already) => balance.already += 1,
            _ => balance.ignored += 1,
        }
        if issue.level == Level::Row {
            self.aside(record, std::slice::from_ref(&issue))?;
        }
        self.say(issue)
    }

    /// What is said of a record that is like an earlier one.
    fn near(&mut self, record: &Record, plain: &Plain, number: u64) -> Option<Issue> {
        let twin = self.near.take(plain.rest?, record.line_from)?;
        let what = format!("like line {twin} in all but its key");
        let hint = "see whether it was entered twice";
        let issue = of_record(record, number, Code::NearDup, Level::Note, what, hint);
        let raw = plain.key.clone();
        Some(Issue { raw, ..issue })
    }

    fn judged(&mut self, record: &Record, judged: Judged) -> Result<(), ExchangeError> {
        if judged.taken {
            self.report.balance.accepted += 1;
        } else {
            self.report.balance.quarantined += 1;
            let rows = judged.issues.iter().filter(|i| i.level == Level::Row);
            let rows: Vec<Issue> = rows.cloned().collect();
            self.aside(record, &rows)?;
        }
        let (causes, counts) = (&mut self.report.causes, &judged.counts);
        causes.phrases += counts.phrases;
        causes.mapped += counts.mapped;
        causes.negated += counts.negated;
        causes.unmapped += counts.unmapped;
        counts.texts.iter().for_each(|t| self.unmapped.count(t));
        let each = self.sink.takes() == Takes::Each;
        for issue in judged.issues {
            if each {
                self.sink.issue(&issue)?;
            }
            if self.has_room() {
                self.report.issues.push(issue);
            }
        }
        Ok(())
    }

    fn aside(&mut self, record: &Record, issues: &[Issue]) -> Result<(), ExchangeError> {
        let aside = quarantine::Aside::new(record, issues, self.context);
        self.sink.aside(&aside)
    }
}

/// An issue of a record as a whole.
fn of_record(
    record: &Record,
    number: u64,
    code: Code,
    level: Level,
    message: String,
    hint: &str,
) -> Issue {
    Issue {
        line_from: record.line_from,
        line_to: record.line_to,
        record: number,
        column: None,
        header: String::new(),
        raw: String::new(),
        code,
        level,
        message,
        hint: hint.to_owned(),
    }
}
