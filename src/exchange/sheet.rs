//! Our own tables written and read: plain for programs, or for people who double-click.
//!
//! Plain is UTF-8 without a mark, comma, dot and `\n`. For a spreadsheet a cell that begins like
//! a formula is made harmless. Must not know what a column means.

use std::io::{Read, Write};

use super::error::ExchangeError;
use super::long::{COLUMNS, Row};
use super::wide::Wide;

/// How a table is written.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Style {
    /// For a spreadsheet: separator, and whether the decimal sign is a comma.
    pub spreadsheet: Option<(u8, bool)>,
    /// Lines end with CRLF.
    pub crlf: bool,
}

/// The mark by which spreadsheets know UTF-8.
const MARK: &[u8] = b"\xef\xbb\xbf";

/// A cell a spreadsheet takes as text, whatever it begins with. Numbers stay numbers.
#[must_use]
pub fn harmless(cell: &str) -> String {
    let begins = cell.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ]);
    let plain_number = cell.strip_prefix('-').is_some_and(|rest| {
        rest.starts_with(|c: char| c.is_ascii_digit()) && cell.parse::<f64>().is_ok()
    });
    if begins && !plain_number {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

fn styled(cell: &str, style: &Style) -> String {
    let Some((_, comma)) = style.spreadsheet else {
        return cell.to_owned();
    };
    let number = comma
        && cell.contains('.')
        && cell
            .bytes()
            .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-'))
        && cell.parse::<f64>().is_ok();
    let safe = harmless(cell);
    if number { safe.replace('.', ",") } else { safe }
}

/// Writes rows one after the other.
pub struct Writer<W: Write> {
    inner: csv::Writer<W>,
    style: Style,
}

fn failed(error: csv::Error) -> ExchangeError {
    ExchangeError::Write(error.to_string())
}

impl<W: Write> Writer<W> {
    /// Begins a table.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn new<S: AsRef<str>>(
        mut out: W,
        style: Style,
        headings: &[S],
    ) -> Result<Self, ExchangeError> {
        if style.spreadsheet.is_some() {
            out.write_all(MARK)?;
        }
        let end = if style.crlf {
            csv::Terminator::CRLF
        } else {
            csv::Terminator::Any(b'\n')
        };
        let delimiter = style.spreadsheet.map_or(b',', |(d, _)| d);
        let inner = csv::WriterBuilder::new()
            .delimiter(delimiter)
            .terminator(end)
            .from_writer(out);
        let mut writer = Self { inner, style };
        writer.row(headings)?;
        Ok(writer)
    }

    /// Writes one row.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn row<S: AsRef<str>>(&mut self, cells: &[S]) -> Result<(), ExchangeError> {
        let style = self.style;
        self.inner
            .write_record(cells.iter().map(|c| styled(c.as_ref(), &style)))
            .map_err(failed)
    }

    /// Ends the table.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> Result<(), ExchangeError> {
        Ok(self.inner.flush()?)
    }
}

/// Reads a table of ours as it is written for programs.
///
/// # Errors
/// When it is no table.
pub fn read(source: impl Read) -> Result<Wide, ExchangeError> {
    let wrong = |e: csv::Error| ExchangeError::Table(format!("this is no table of ours: {e}"));
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(source);
    let mut rows = Vec::new();
    for row in reader.records() {
        rows.push(
            row.map_err(wrong)?
                .iter()
                .map(str::to_owned)
                .collect::<Vec<_>>(),
        );
    }
    if rows.is_empty() {
        return Err(ExchangeError::NoHeading);
    }
    let headings = rows.remove(0);
    Ok(Wide { headings, rows })
}

/// The rows of a long table of ours; columns may stand in any order or be missing.
///
/// # Errors
/// When it has no `job_id` or no `property`.
pub fn long_rows(table: &Wide) -> Result<Vec<Row>, ExchangeError> {
    let place = |column: &str| table.headings.iter().position(|h| h == column);
    for needed in ["job_id", "property"] {
        if place(needed).is_none() {
            return Err(ExchangeError::Table(format!(
                "a long table has a column `{needed}`"
            )));
        }
    }
    let places = COLUMNS.map(place);
    let rows = table.rows.iter().map(|cells| {
        Row(std::array::from_fn(|n| {
            let cell = places[n]
                .and_then(|at| cells.get(at))
                .filter(|c| !c.is_empty());
            cell.map_or_else(|| super::long::NA.to_owned(), Clone::clone)
        }))
    });
    Ok(rows.collect())
}

/// Whether the headings are those of a long table of ours.
#[must_use]
pub fn is_long(headings: &[String]) -> bool {
    let has = |name: &str| headings.iter().any(|h| h == name);
    has("job_id") && has("seq") && has("property")
}

/// Whether the headings are those of a wide table of ours.
#[must_use]
pub fn is_wide(headings: &[String]) -> bool {
    headings.first().is_some_and(|h| h == "job_id") && headings.iter().any(|h| h.ends_with("__seq"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_that_begin_like_a_formula_are_harmless() {
        for cell in ["=1+1", "+x", "-x", "@sum", "\t=1", "-1+2", "=cmd|'/c'!A1"] {
            assert!(harmless(cell).starts_with('\''), "{cell}");
        }
        for cell in ["-5", "-5.5", "8.4", "NA", "a=b"] {
            assert_eq!(harmless(cell), cell);
        }
    }

    #[test]
    fn a_spreadsheet_gets_its_mark_separator_and_comma() {
        let mut out = Vec::new();
        let style = Style {
            spreadsheet: Some((b';', true)),
            crlf: true,
        };
        let mut writer = Writer::new(&mut out, style, &["a", "b"]).unwrap();
        writer.row(&["8.4", "=x"]).unwrap();
        writer.finish().unwrap();
        assert_eq!(out, b"\xef\xbb\xbfa;b\r\n8,4;'=x\r\n");
    }
}
