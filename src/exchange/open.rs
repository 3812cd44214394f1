//! A table opened: encoding, layout and headings.
//!
//! Must not judge records.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use super::draft;
use super::encoding::{self, Bytes, Coding};
use super::error::ExchangeError;
use super::headings;
use super::import::Wishes;
use super::lay;
use super::layout::{self, Layout};
use super::map::{self, Map};
use super::plan::{ColumnSeen, Plan};
use super::quarantine;
use super::records::{Record, Records};
use super::text;
use crate::knowledge::Knowledge;

/// Bytes looked at to find the layout.
const SAMPLE: u64 = 1 << 20;

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

/// An open table before its records are read.
pub(super) struct Open {
    source: File,
    pub table: Table,
    pub map: Map,
    pub map_text: String,
    pub drafted: bool,
    pub rows: u64,
}

pub(super) fn reading(error: std::io::Error) -> ExchangeError {
    ExchangeError::Read(error.to_string())
}

/// The records of a file from its first line, decoded as far as is needed.
pub(super) fn records(
    source: &File,
    coding: Coding,
    delimiter: u8,
) -> Result<Records<Box<dyn Read + Send + '_>>, ExchangeError> {
    let mut source: &File = source;
    source
        .seek(SeekFrom::Start(coding.mark as u64))
        .map_err(reading)?;
    let bytes: Box<dyn Read + Send> = if coding.cut_raw() {
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
pub fn table(
    source: &File,
    file: &str,
    said: &map::FileSaid,
    encoding: Option<&str>,
) -> Result<Table, ExchangeError> {
    let mut plain: &File = source;
    plain.seek(SeekFrom::Start(0)).map_err(reading)?;
    let mut head = Vec::new();
    plain.take(64).read_to_end(&mut head).map_err(reading)?;
    // What the map says of the source does not hold for the table of what was put aside.
    let mended = quarantine::is_one(head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&head));
    let stated = encoding.or(said.encoding.as_deref().filter(|_| !mended));
    plain.seek(SeekFrom::Start(0)).map_err(reading)?;
    let bytes = encoding::look(source, stated)?;
    let coding = bytes.coding;
    let mut sample = Vec::new();
    plain
        .seek(SeekFrom::Start(coding.mark as u64))
        .map_err(reading)?;
    let mut limited: Box<dyn Read + Send> = if coding.cut_raw() {
        Box::new(plain.take(SAMPLE))
    } else {
        Box::new(text::Decoded::new(plain, coding.encoding).take(SAMPLE))
    };
    limited.read_to_end(&mut sample).map_err(reading)?;
    drop(limited);
    let whole = (sample.len() as u64) < SAMPLE;
    let delimiter = said
        .delimiter
        .as_ref()
        .and_then(|d| match d.get_ref().as_str() {
            "tab" | "\\t" => Some(b'\t'),
            one => one
                .bytes()
                .next()
                .filter(|b| one.len() == 1 && !matches!(b, b'"' | b'\n' | b'\r')),
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
    let rows = if mended { 1 } else { heading_rows(said) };
    table.headings = find_headings(source, &table, rows)?;
    Ok(table)
}

fn heading_rows(said: &map::FileSaid) -> u64 {
    said.header_rows.unwrap_or(1).clamp(1, 10)
}

fn find_headings(source: &File, table: &Table, rows: u64) -> Result<Vec<String>, ExchangeError> {
    let cells = table.layout.cells;
    if table.layout.header_line == 0 {
        return if table.bytes.size == 0 {
            Err(ExchangeError::NoHeading)
        } else {
            Ok(headings::names(&[], cells))
        };
    }
    let mut records = records(source, table.bytes.coding, table.layout.delimiter)?;
    let mut record = Record::default();
    let mut found: Vec<Vec<String>> = Vec::new();
    while (found.len() as u64) < rows && records.next(&mut record).map_err(reading)? {
        if record.line_to >= table.layout.header_line {
            let cells = record.cells();
            let cells = cells
                .map(|c| text::composed(&text::cell(c, &table.bytes.coding).text).into_owned());
            found.push(cells.collect());
        }
    }
    if found.is_empty() {
        return Err(ExchangeError::NoHeading);
    }
    Ok(headings::names(&found, 0))
}

pub(super) fn open(
    path: &Path,
    wishes: &Wishes,
    knowledge: &Knowledge,
) -> Result<Open, ExchangeError> {
    let source = File::open(path).map_err(reading)?;
    let stated = match &wishes.map {
        Some(text) => map::read(text).map_err(ExchangeError::Map)?,
        None => Map::default(),
    };
    let table = table(
        &source,
        &wishes.file,
        &stated.file,
        wishes.encoding.as_deref(),
    )?;
    let drafted = wishes.map.is_none();
    let (map, map_text) = match &wishes.map {
        Some(text) => (stated, text.clone()),
        None => {
            let own = quarantine::own_headings(&table.headings);
            let text = draft::text(&own, knowledge);
            (map::read(&text).map_err(ExchangeError::Map)?, text)
        }
    };
    let rows = if table.mended {
        1
    } else {
        heading_rows(&map.file)
    };
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
    pub fn body(&self) -> Result<Records<Box<dyn Read + Send + '_>>, ExchangeError> {
        let mut records = records(
            &self.source,
            self.table.bytes.coding,
            self.table.layout.delimiter,
        )?;
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

    pub fn plan(&self, seen: &[ColumnSeen], knowledge: &Knowledge) -> Result<Plan, ExchangeError> {
        lay::make(&self.map, &self.map_text, &self.headings(), seen, knowledge)
            .map_err(ExchangeError::Map)
    }
}
