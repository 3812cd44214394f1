//! Where the table begins and what separates its cells.
//!
//! A `sep=` line is honoured; else the delimiter is the one that gives the most constant number
//! of cells. Never by the name of the file. Must not read beyond the sample it is given.

use super::records::{Record, Records};

/// Delimiters that are tried.
const CANDIDATES: [u8; 4] = [b',', b';', b'\t', b'|'];
/// Records looked at.
const SAMPLE: usize = 200;
/// Share of a heading's cells that must be words (own judgement).
const WORDY: f64 = 0.6;

/// Why this delimiter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Chosen {
    /// Stated by a person.
    Stated,
    /// A `sep=` line says so.
    SepLine,
    /// This share of the records has the same number of cells.
    Constant(f64),
}

/// The layout of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The delimiter.
    pub delimiter: u8,
    /// Why.
    pub chosen: Chosen,
    /// Whether the first line is a `sep=` line.
    pub sep_line: bool,
    /// Number of cells of most records.
    pub cells: usize,
    /// Line on which the heading was found or stated; 0 where there is none.
    pub header_line: u64,
}

/// The delimiter a `sep=` line names, if the sample opens with one.
fn sep_line(sample: &[u8]) -> Option<u8> {
    let rest = sample
        .strip_prefix(b"sep=")
        .or_else(|| sample.strip_prefix(b"\"sep="))?;
    match rest.get(1) {
        None | Some(b'\r' | b'\n' | b';' | b',' | b'"') => rest.first().copied(),
        Some(_) => None,
    }
}

fn sampled(sample: &[u8], delimiter: u8, whole: bool) -> Vec<Record> {
    let mut records = Records::new(sample, delimiter, 1);
    let mut found = Vec::new();
    let mut record = Record::default();
    // A slice cannot fail to be read.
    while found.len() < SAMPLE && records.next(&mut record).unwrap_or(false) {
        found.push(record.clone());
    }
    // The last record of a cut sample is likely cut too.
    if !whole && found.len() > 1 && found.len() < SAMPLE {
        found.pop();
    }
    found
}

/// Most common number of cells among records that are not blank, and its share.
fn constant(records: &[Record]) -> (usize, f64) {
    let mut counts = std::collections::BTreeMap::new();
    let filled: Vec<&Record> = records.iter().filter(|r| !r.is_blank()).collect();
    for record in &filled {
        *counts.entry(record.len()).or_insert(0_usize) += 1;
    }
    let best = counts.iter().max_by_key(|(cells, n)| (**n, **cells));
    best.map_or((1, 0.0), |(cells, n)| {
        (*cells, *n as f64 / filled.len() as f64)
    })
}

/// Finds the layout in the first bytes of a file (decoded, the mark taken off). `whole`: the
/// sample is the whole file.
#[must_use]
pub fn find(sample: &[u8], whole: bool, delimiter: Option<u8>, header_line: Option<u64>) -> Layout {
    let sep = sep_line(sample);
    let (delimiter, chosen) = match (delimiter, sep) {
        (Some(stated), _) => (stated, Chosen::Stated),
        (None, Some(sep)) => (sep, Chosen::SepLine),
        (None, None) => {
            let mut best = (b',', 0.0, 1);
            for candidate in CANDIDATES {
                let (cells, share) = constant(&sampled(sample, candidate, whole));
                if cells > 1 && (share, cells) > (best.1, best.2) {
                    best = (candidate, share, cells);
                }
            }
            (best.0, Chosen::Constant(best.1))
        }
    };
    let records = sampled(sample, delimiter, whole);
    let (cells, _) = constant(&records);
    let header_line = header_line.unwrap_or_else(|| heading(&records, sep.is_some(), cells));
    Layout {
        delimiter,
        chosen,
        sep_line: sep.is_some(),
        cells,
        header_line,
    }
}

/// Line of the first record that looks like a heading: as wide as the table, filled, in words.
fn heading(records: &[Record], sep: bool, cells: usize) -> u64 {
    let records = || {
        records
            .iter()
            .skip(usize::from(sep))
            .filter(|r| !r.is_blank())
    };
    let full = |r: &&Record| {
        let filled = r.cells().filter(|c| !c.trim_ascii().is_empty()).count();
        r.len() == cells && filled as f64 >= WORDY * cells as f64
    };
    let wordy = |r: &&Record| {
        let filled: Vec<&[u8]> = r.cells().filter(|c| !c.trim_ascii().is_empty()).collect();
        let words = filled.iter().filter(|c| is_wordy(c)).count();
        words as f64 >= WORDY * filled.len() as f64
    };
    let first = records().find(|r| full(r) && wordy(r));
    first
        .or_else(|| records().find(full))
        .or_else(|| records().next())
        .map_or(0, |r| r.line_from)
}

/// Starts with a letter or holds more letters than digits.
fn is_wordy(cell: &[u8]) -> bool {
    let letters = cell
        .iter()
        .filter(|b| b.is_ascii_alphabetic() || **b >= 0x80)
        .count();
    let digits = cell.iter().filter(|b| b.is_ascii_digit()).count();
    letters > digits
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layout(text: &str) -> (char, u64) {
        let found = find(text.as_bytes(), true, None, None);
        (char::from(found.delimiter), found.header_line)
    }

    #[test]
    fn the_most_constant_delimiter_wins() {
        assert_eq!(layout("job;note\n1;a, b, c\n2;a, b\n"), (';', 1));
        assert_eq!(layout("job\tt\n1\t8,2\n"), ('\t', 1));
        assert_eq!(layout("job,\"a;b\"\n1,\"c;d;e\"\n"), (',', 1));
        assert_eq!(layout("one column\n1\n"), (',', 1));
    }

    #[test]
    fn title_rows_are_stepped_over() {
        assert_eq!(
            layout("sep=|\nWinter jobs||\n||\njob|volts|found\n1|9|x\n"),
            ('|', 4)
        );
        assert_eq!(
            layout("Winter jobs\n\njob,volts,found\n1,9,x\n2,8,y\n"),
            (',', 3)
        );
    }
}
