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

/// Whether a spreadsheet could take a text for a formula. Numbers stay numbers.
fn like_a_formula(cell: &str) -> bool {
    let begins = cell.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ]);
    let plain_number = cell.strip_prefix('-').is_some_and(|rest| {
        rest.starts_with(|c: char| c.is_ascii_digit()) && cell.parse::<f64>().is_ok()
    });
    begins && !plain_number
}

/// A plain number with this decimal sign in it.
fn is_number(cell: &str, sign: char) -> bool {
    let plain = |c: char| c.is_ascii_digit() || c == '-' || c == sign;
    cell.contains(sign) && cell.chars().all(plain) && cell.replace(sign, ".").parse::<f64>().is_ok()
}

/// Whether a cell gets a quote before it, so that it comes back as it was: one that is like a
/// formula, or in a column of comma numbers a text that is like one of them.
fn quoted(cell: &str, commas: bool) -> bool {
    let inner = cell.trim_start_matches('\'');
    like_a_formula(inner) || (commas && is_number(inner, ','))
}

/// Columns whose numbers get the decimal sign of a spreadsheet: not those of typed texts.
fn number_columns(headings: &[impl AsRef<str>]) -> Vec<bool> {
    let long = headings.iter().any(|h| h.as_ref() == "property");
    let one = |heading: &str| match heading.rsplit_once("__") {
        _ if long => heading == "value_num",
        Some((_, column)) if COLUMNS.contains(&column) => column == "value_num",
        _ => heading != "job_id",
    };
    headings.iter().map(|h| one(h.as_ref())).collect()
}

fn styled(cell: &str, number: bool, style: &Style) -> String {
    let Some((_, comma)) = style.spreadsheet else {
        return cell.to_owned();
    };
    if comma && number && is_number(cell, '.') {
        return cell.replace('.', ",");
    }
    if quoted(cell, comma && number) {
        return format!("'{cell}");
    }
    cell.to_owned()
}

/// What was written by [`styled`].
fn unstyled(cell: &str, number: bool, comma: bool) -> String {
    if comma && number && is_number(cell, ',') {
        return cell.replace(',', ".");
    }
    match cell.strip_prefix('\'') {
        Some(inner) if quoted(inner, comma && number) => inner.to_owned(),
        _ => cell.to_owned(),
    }
}

/// Writes rows one after the other.
pub struct Writer<W: Write> {
    inner: csv::Writer<W>,
    style: Style,
    numbers: Vec<bool>,
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
        let mut writer = Self {
            inner,
            style,
            numbers: Vec::new(),
        };
        writer.row(headings)?;
        writer.numbers = number_columns(headings);
        Ok(writer)
    }

    /// Writes one row.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn row<S: AsRef<str>>(&mut self, cells: &[S]) -> Result<(), ExchangeError> {
        let (style, numbers) = (self.style, &self.numbers);
        let cells = cells.iter().enumerate().map(|(at, cell)| {
            let number = numbers.get(at).copied().unwrap_or(false);
            styled(cell.as_ref(), number, &style)
        });
        self.inner.write_record(cells).map_err(failed)
    }

    /// Ends the table.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> Result<(), ExchangeError> {
        Ok(self.inner.flush()?)
    }
}

/// Separator of a table of ours: the one of which the heading row has most outside quotes.
fn separator(bytes: &[u8]) -> u8 {
    let (mut within, mut counts) = (false, [(b',', 0), (b';', 0), (b'\t', 0)]);
    for byte in bytes {
        match byte {
            b'"' => within = !within,
            b'\n' | b'\r' if !within => break,
            _ if !within => {
                let known = counts.iter_mut().find(|(sign, _)| sign == byte);
                known.into_iter().for_each(|(_, count)| *count += 1);
            }
            _ => {}
        }
    }
    // Of several alike the first.
    let most = counts.iter().rev().max_by_key(|(_, count)| *count);
    most.map_or(b',', |(sign, _)| *sign)
}

/// Reads a table of ours, as it is written for programs or for a spreadsheet.
///
/// # Errors
/// When it is no table.
pub fn read(mut source: impl Read) -> Result<Wide, ExchangeError> {
    let wrong = |e: csv::Error| ExchangeError::Table(format!("this is no table of ours: {e}"));
    let mut bytes = Vec::new();
    let read = source.read_to_end(&mut bytes);
    read.map_err(|e| ExchangeError::Read(e.to_string()))?;
    let marked = bytes.strip_prefix(MARK);
    let text = marked.unwrap_or(&bytes);
    let separator = separator(text);
    let plain = marked.is_none() && separator == b',';
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .delimiter(separator)
        .from_reader(text);
    let mut rows = reader.records();
    let Some(headings) = rows.next() else {
        return Err(ExchangeError::NoHeading);
    };
    let headings: Vec<String> = headings
        .map_err(wrong)?
        .iter()
        .map(|h| {
            if plain {
                h.to_owned()
            } else {
                unstyled(h, false, false)
            }
        })
        .collect();
    let numbers = number_columns(&headings);
    let rows = rows.map(|row| {
        let row = row.map_err(wrong)?;
        let cells = row.iter().zip(&numbers).map(|(cell, number)| {
            if plain {
                cell.to_owned()
            } else {
                unstyled(cell, *number, separator == b';')
            }
        });
        Ok(cells.collect())
    });
    Ok(Wide {
        rows: rows.collect::<Result<_, ExchangeError>>()?,
        headings,
    })
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

    const GERMAN: Style = Style {
        spreadsheet: Some((b';', true)),
        crlf: true,
    };

    #[test]
    fn cells_that_begin_like_a_formula_are_harmless() {
        for cell in ["=1+1", "+x", "-x", "@sum", "\t=1", "-1+2", "=cmd|'/c'!A1"] {
            assert_eq!(styled(cell, true, &GERMAN), format!("'{cell}"));
        }
        for cell in ["-5", "8 bar", "NA", "a=b", "'tis"] {
            assert_eq!(styled(cell, true, &GERMAN), cell);
        }
        assert_eq!(styled("-5.5", true, &GERMAN), "-5,5");
    }

    #[test]
    fn what_is_written_for_a_spreadsheet_is_read_as_it_was() {
        let headings = ["job_id", "seq", "property", "value_num", "raw_text"];
        let cells = [
            "8.4", "8,4", "-8.4", "-8,4", "=x", "'=x", "''=x", "'", "'8,4", "8.", "1;2", "a\"b",
            "8,4 s", "NA", "", "1e5", "+3",
        ];
        let styles = [
            None,
            Some((b';', true)),
            Some((b',', false)),
            Some((b'\t', false)),
        ];
        for spreadsheet in styles {
            let mut out = Vec::new();
            let style = Style {
                spreadsheet,
                crlf: spreadsheet.is_some(),
            };
            let mut writer = Writer::new(&mut out, style, &headings).unwrap();
            for cell in cells {
                writer.row(&["1", "2", "p", cell, cell]).unwrap();
            }
            writer.finish().unwrap();
            let table = read(out.as_slice()).unwrap();
            assert_eq!(table.headings, headings);
            let wanted: Vec<Vec<&str>> = cells.iter().map(|c| vec!["1", "2", "p", c, c]).collect();
            assert_eq!(table.rows, wanted, "{style:?}");
        }
    }

    #[test]
    fn a_spreadsheet_gets_its_mark_separator_and_comma() {
        let mut out = Vec::new();
        let mut writer = Writer::new(&mut out, GERMAN, &["a", "b"]).unwrap();
        writer.row(&["8.4", "=x"]).unwrap();
        writer.finish().unwrap();
        assert_eq!(out, b"\xef\xbb\xbfa;b\r\n8,4;'=x\r\n");
    }
}
