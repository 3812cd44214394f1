//! Records that could not be taken, as a table that can be mended and brought back.
//!
//! First `_line`, `_codes` and `_why`, then the cells as they were, then `_source` (the hash of
//! the file they came from) and cells too many. Bringing it back closes the record by its line.

use super::encoding::Coding;
use super::issue::Issue;
use super::judged::Context;
use super::records::Record;
use super::text;

/// Columns before the cells.
pub const LEADING: usize = 3;
/// Heading of the hash.
const SOURCE: &str = "_source";
/// Stands where the record had no cell, so that a short record stays short.
const MISSING: &str = "_missing";
/// How the table begins.
const START: &[u8] = b"_line,_codes,_why,";

/// One record put aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// Line in the source, from 1.
    pub line: u64,
    /// Hash of the source.
    pub source: String,
    /// Codes.
    pub codes: Vec<&'static str>,
    /// Reasons, each with its hint.
    pub why: Vec<String>,
    /// The cells, as they were.
    pub cells: Vec<String>,
}

impl Aside {
    /// A record with its reasons.
    #[must_use]
    pub fn new(record: &Record, issues: &[Issue], context: &Context<'_>) -> Self {
        let cells = record.cells().map(|c| verbatim(c, &context.coding));
        let why = issues.iter().map(|i| match i.hint.as_str() {
            "" => i.message.clone(),
            hint => format!("{} ({hint})", i.message),
        });
        Self {
            line: record.line_from,
            source: context.sha256.to_owned(),
            codes: issues.iter().map(|i| i.code.word()).collect(),
            why: why.collect(),
            cells: cells.collect(),
        }
    }

    /// The record as a row under [`heading`] with room for `extra` cells too many.
    #[must_use]
    pub fn row(&self, columns: usize, extra: usize) -> Vec<String> {
        let mut row = vec![
            self.line.to_string(),
            self.codes.join(" "),
            self.why.join("; "),
        ];
        for at in 0..columns {
            row.push(
                self.cells
                    .get(at)
                    .cloned()
                    .unwrap_or_else(|| MISSING.to_owned()),
            );
        }
        row.push(self.source.clone());
        row.extend((0..extra).map(|at| self.cells.get(columns + at).cloned().unwrap_or_default()));
        row
    }
}

/// The text of a cell with its blanks.
fn verbatim(bytes: &[u8], coding: &Coding) -> String {
    let cell = text::cell(bytes, coding);
    let (front, back) = (
        bytes.len() - bytes.trim_ascii_start().len(),
        bytes.len() - bytes.trim_ascii_end().len(),
    );
    if cell.text.is_empty() || front + back == 0 {
        return cell.text.into_owned();
    }
    // Blanks are ASCII, so they may be taken from the raw bytes.
    let blank = |part: &[u8]| String::from_utf8_lossy(part).into_owned();
    format!(
        "{}{}{}",
        blank(&bytes[..front]),
        cell.text,
        blank(&bytes[bytes.len() - back..])
    )
}

/// The heading row.
#[must_use]
pub fn heading(own: &[String], extra: usize) -> Vec<String> {
    let leading = ["_line", "_codes", "_why"].map(str::to_owned);
    let extras = (1..=extra).map(|n| format!("_extra_{n}"));
    leading
        .into_iter()
        .chain(own.iter().cloned())
        .chain([SOURCE.to_owned()])
        .chain(extras)
        .collect()
}

/// Whether a table is one of these.
#[must_use]
pub fn is_one(sample: &[u8]) -> bool {
    // A spreadsheet may have saved it with another separator.
    let start: Vec<u8> = sample
        .iter()
        .take(START.len())
        .map(|b| if matches!(b, b';' | b'\t') { b',' } else { *b })
        .collect();
    start == START
}

/// Headings of the original table.
#[must_use]
pub fn own_headings(headings: &[String]) -> Vec<String> {
    if headings.first().is_none_or(|h| h != "_line") {
        return headings.to_vec();
    }
    let to = headings
        .iter()
        .rposition(|h| h == SOURCE)
        .unwrap_or(headings.len());
    headings.get(LEADING..to).unwrap_or_default().to_vec()
}

/// Cuts a row of this table down to its own cells; gives the source and line it names.
pub fn take_source(record: &mut Record, own: usize) -> Option<(String, u64)> {
    let cell = |at: usize| String::from_utf8_lossy(record.cell(at)).trim().to_owned();
    let line = cell(0).parse().ok();
    let hash = cell(LEADING + own);
    let mut to = record.len();
    while to > LEADING + own
        && (to == LEADING + own + 1 || record.cell(to - 1).trim_ascii().is_empty())
    {
        to -= 1;
    }
    record.narrow(LEADING, to, LEADING + own);
    let is_hash = hash.len() == 64 && hash.bytes().all(|b| b.is_ascii_hexdigit());
    line.filter(|_| is_hash).map(|line| (hash, line))
}

/// Whether a cell says that the record was too short there.
#[must_use]
pub fn is_missing(cell: &[u8]) -> bool {
    cell == MISSING.as_bytes()
}

/// Names of columns too many.
#[must_use]
pub fn extra_cells(aside: &Aside, columns: usize) -> usize {
    aside.cells.len().saturating_sub(columns)
}
