//! A first look at a foreign table: what it is and what its columns seem to hold.
//!
//! Guesses only, and writes nothing. Stops after some records and says so.

use std::fs::File;
use std::path::Path;

use super::dates::{DateSpec, Dated, Serial};
use super::decimal::{self, Decimal};
use super::error::ExchangeError;
use super::import::{Table, table};
use super::map::FileSaid;
use super::open::{reading, records};
use super::records::Record;
use super::text::{self, folded};
use super::tokens::token;

/// Sample values shown of each column.
const SAMPLES: usize = 5;
/// Different values counted of each column.
const MOST_DIFFERENT: usize = 1000;
/// Records looked at.
const MOST_RECORDS: u64 = 100_000;

/// What the cells of a column seem to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Nothing in it.
    Empty,
    /// Numbers.
    Number,
    /// Numbers with a unit.
    NumberWithUnit,
    /// Dates.
    Date,
    /// Few words that come again.
    Words,
    /// Text.
    Text,
}

impl Kind {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::Empty => "empty",
            Kind::Number => "number",
            Kind::NumberWithUnit => "number with unit",
            Kind::Date => "date",
            Kind::Words => "words",
            Kind::Text => "text",
        }
    }
}

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnLook {
    /// Heading.
    pub heading: String,
    /// What it seems to hold.
    pub kind: Kind,
    /// Decimal sign, for numbers: `,`, `.`, or `?` where nobody can tell.
    pub decimal: Option<char>,
    /// Cells with something in them.
    pub filled: u64,
    /// Cells with a word for why there is no value.
    pub without: u64,
    /// Cells that are not of the kind.
    pub odd: u64,
    /// Different values, at most 1000 are counted.
    pub different: usize,
    /// The first different values.
    pub samples: Vec<String>,
}

/// A table as it looks.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// The file.
    pub table: Table,
    /// Records looked at.
    pub records: u64,
    /// Whether there were more.
    pub more: bool,
    /// The columns.
    pub columns: Vec<ColumnLook>,
}

#[derive(Default)]
struct Tally {
    seen: decimal::Seen,
    filled: u64,
    without: u64,
    numbers: u64,
    with_unit: u64,
    dates: u64,
    different: std::collections::HashSet<String>,
    samples: Vec<String>,
}

impl Tally {
    fn look(&mut self, text: &str, dates: &DateSpec) {
        if text.is_empty() {
            return;
        }
        self.filled += 1;
        if self.different.len() < MOST_DIFFERENT
            && self.different.insert(text.to_owned())
            && self.samples.len() < SAMPLES
        {
            self.samples.push(text.to_owned());
        }
        if token(&folded(text)).is_some() {
            self.without += 1;
            return;
        }
        let number = text.parse::<f64>().is_ok();
        if !number && !matches!(dates.read(text), Dated::Not | Dated::Impossible) {
            self.dates += 1;
            return;
        }
        match decimal::cut(text, None) {
            Some(cut) if cut.rest.is_empty() => self.numbers += 1,
            Some(cut) if cut.rest.chars().count() <= 8 && !cut.rest.contains(' ') => {
                self.with_unit += 1
            }
            _ => return,
        }
        self.seen.look(text);
    }

    fn finish(self, heading: String) -> ColumnLook {
        let values = self.filled - self.without;
        let numbers = self.numbers + self.with_unit;
        let most = |n: u64| n > 0 && n * 5 >= values * 4;
        let kind = if values == 0 {
            Kind::Empty
        } else if most(self.dates) {
            Kind::Date
        } else if most(numbers) && self.with_unit * 2 > numbers {
            Kind::NumberWithUnit
        } else if most(numbers) {
            Kind::Number
        } else if self.different.len() as u64 * 3 <= values {
            Kind::Words
        } else {
            Kind::Text
        };
        let of_kind = match kind {
            Kind::Date => self.dates,
            Kind::Number | Kind::NumberWithUnit => numbers,
            _ => values,
        };
        let decimal = matches!(kind, Kind::Number | Kind::NumberWithUnit).then(|| {
            match self.seen.decide(None) {
                Decimal::Comma => ',',
                Decimal::Dot => '.',
                Decimal::Unclear => '?',
            }
        });
        ColumnLook {
            heading,
            kind,
            decimal,
            filled: self.filled,
            without: self.without,
            odd: values - of_kind,
            different: self.different.len(),
            samples: self.samples,
        }
    }
}

/// Looks at a table.
///
/// # Errors
/// When it cannot be read or has no heading.
pub fn look(path: &Path, file: &str, encoding: Option<&str>) -> Result<Look, ExchangeError> {
    let source = File::open(path).map_err(reading)?;
    let table = table(&source, file, &FileSaid::default(), encoding)?;
    let mut records = records(&source, table.bytes.coding, table.layout.delimiter)?;
    let mut tallies: Vec<Tally> = table.headings.iter().map(|_| Tally::default()).collect();
    let dates = DateSpec {
        serial: Some(Serial::Y1900),
        pivot: Some(50),
        ..DateSpec::default()
    };
    let (mut count, mut more) = (0, false);
    let mut record = Record::default();
    while records.next(&mut record).map_err(reading)? {
        if record.line_to <= table.layout.header_line {
            continue;
        }
        if count == MOST_RECORDS {
            more = true;
            break;
        }
        count += 1;
        for (tally, cell) in tallies.iter_mut().zip(record.cells()) {
            tally.look(&text::cell(cell, &table.bytes.coding).text, &dates);
        }
    }
    let columns = tallies
        .into_iter()
        .zip(&table.headings)
        .map(|(t, h)| t.finish(h.clone()));
    let columns = columns.collect();
    Ok(Look {
        table,
        records: count,
        more,
        columns,
    })
}
