//! What to do with each column of a file, once a map was laid over its headings.
//!
//! Must not read cells.

use std::collections::BTreeMap;

use super::cell::Meaning;
use super::dates::{DateSpec, SeenDates};
use super::decimal::{Decimal, Seen};
use super::numbers::Numbers;
use super::target::Place;
use crate::job::Proof;

/// How the cells of a column are read.
#[derive(Debug, Clone, PartialEq)]
pub enum Reads {
    /// A number with a unit, or one of some states.
    Numbers(Box<Numbers>, BTreeMap<String, String>),
    /// A bare number: decimal and thousands sign, whole only, bounds.
    Bare((Decimal, Option<char>), bool, (f64, f64)),
    /// One of some words.
    States(BTreeMap<String, String>),
    /// Any text.
    Free,
}

/// Repeats within a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repeat {
    /// Separator.
    pub separator: String,
    /// They are cylinders, not trials.
    pub cylinders: bool,
}

/// A column that holds a value.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueColumn {
    /// Where it goes.
    pub place: Place,
    /// How it is read.
    pub reads: Reads,
    /// Whether reasons for having no value can be kept there.
    pub absent: bool,
    /// Words of the map.
    pub words: BTreeMap<String, Meaning>,
    /// Cylinder of the column.
    pub cylinder: Option<u8>,
    /// Trial of the column.
    pub trial: Option<u32>,
    /// Repeats within a cell.
    pub repeat: Option<Repeat>,
}

/// What to do with a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// The date of the record, and the column of its time.
    Date(DateSpec, Option<usize>),
    /// A value.
    Value(Box<ValueColumn>),
    /// What was found.
    Cause,
    /// What was done.
    Action,
    /// How it was shown: word to level.
    Shown(BTreeMap<String, Proof>),
    /// Kept under its heading.
    Extra,
    /// Read elsewhere, or left out on purpose.
    Ignored,
}

/// What to do with every column.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Headings.
    pub headings: Vec<String>,
    /// Columns, in the same order.
    pub columns: Vec<Column>,
    /// Columns that name a job.
    pub key: Vec<usize>,
    /// What holds for every engine, key and JSON value.
    pub engine: Vec<(String, String)>,
    /// Number of cylinders, if the map says.
    pub cylinders: Option<u8>,
    /// Complaint of jobs without one.
    pub complaint: String,
    /// How findings are shown, if no column says.
    pub proof: Option<Proof>,
    /// First cells of totals, folded; `*` at the end stands for anything.
    pub footers: Vec<String>,
}

impl Plan {
    /// Number of columns that are not only kept under their heading.
    #[must_use]
    pub fn understood(&self) -> usize {
        let kept = self
            .columns
            .iter()
            .filter(|c| matches!(c, Column::Extra))
            .count();
        self.columns.len() - kept
    }
}

/// What the first walk through the file found in each column.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ColumnSeen {
    /// Decimal signs.
    pub numbers: Seen,
    /// Dates.
    pub dates: SeenDates,
}

impl ColumnSeen {
    /// Adds what was found in other cells of the column.
    pub fn add(&mut self, other: &Self) {
        self.numbers.add(&other.numbers);
        self.dates.add(&other.dates);
    }
}
