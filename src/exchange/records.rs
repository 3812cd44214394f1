//! Records of a delimited file with the physical lines they stand on.
//!
//! LF, CRLF and CR end a line, mixed too; a zero-length line is a record. Must not judge.

use std::io::Read;

/// First size of the buffer; it grows only for a record that is longer.
const BUFFER: usize = 1 << 18;

/// One record.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Record {
    bytes: Vec<u8>,
    ends: Vec<usize>,
    /// Line on which it starts, from 1.
    pub line_from: u64,
    /// Line on which it ends.
    pub line_to: u64,
    /// A quote was opened and never closed.
    pub open_quote: bool,
}

impl Record {
    /// Number of cells, at least one.
    #[must_use]
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there is no cell at all (only before anything was read).
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The bytes of one cell, quotes taken off; empty beyond the last.
    #[must_use]
    pub fn cell(&self, at: usize) -> &[u8] {
        let Some(&end) = self.ends.get(at) else {
            return &[];
        };
        let start = if at == 0 { 0 } else { self.ends[at - 1] };
        &self.bytes[start..end]
    }

    /// All cells.
    pub fn cells(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.len()).map(|at| self.cell(at))
    }

    /// Whether every cell is blank.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.bytes.iter().all(u8::is_ascii_whitespace)
    }

    /// All cells as one text, if they are plain: ASCII without NUL, so that no cell needs
    /// decoding.
    #[must_use]
    pub fn plain(&self) -> Option<&str> {
        if !self.bytes.is_ascii() || memchr::memchr(0, &self.bytes).is_some() {
            return None;
        }
        std::str::from_utf8(&self.bytes).ok()
    }

    /// One cell of that text.
    #[must_use]
    pub fn part<'t>(&self, plain: &'t str, at: usize) -> &'t str {
        let Some(&end) = self.ends.get(at) else {
            return "";
        };
        let start = if at == 0 { 0 } else { self.ends[at - 1] };
        plain.get(start..end).unwrap_or_default()
    }

    /// Keeps the cells `from..to` without the one at `without`.
    pub(super) fn narrow(&mut self, from: usize, to: usize, without: usize) {
        let kept: Vec<Vec<u8>> = (from..to)
            .filter(|at| *at != without)
            .map(|at| self.cell(at).to_vec())
            .collect();
        self.bytes.clear();
        self.ends.clear();
        for cell in kept {
            self.bytes.extend_from_slice(&cell);
            self.ends.push(self.bytes.len());
        }
    }

    fn clear(&mut self) {
        self.bytes.clear();
        self.ends.clear();
        self.open_quote = false;
    }
}

/// How a record ended in the buffer.
enum Ended {
    /// At this place of the buffer, the line end taken.
    At(usize),
    /// The buffer is too short.
    Short,
}

/// Reads records one after the other.
pub struct Records<R> {
    source: R,
    delimiter: u8,
    buffer: Vec<u8>,
    from: usize,
    to: usize,
    done: bool,
    line: u64,
}

impl<R: Read> Records<R> {
    /// Records of a source whose mark at the start is already taken. `line` is the number of
    /// its first line.
    pub fn new(source: R, delimiter: u8, line: u64) -> Self {
        Self {
            source,
            delimiter,
            buffer: vec![0; BUFFER],
            from: 0,
            to: 0,
            done: false,
            line,
        }
    }

    /// Reads the next record into `record`; false at the end.
    ///
    /// # Errors
    /// Those of the source.
    pub fn next(&mut self, record: &mut Record) -> std::io::Result<bool> {
        loop {
            if self.from == self.to && !self.fill()? {
                return Ok(false);
            }
            record.clear();
            record.line_from = self.line;
            let mut line = self.line;
            match self.cut(record, &mut line) {
                Ended::At(next) => {
                    self.from = next;
                    record.line_to = line;
                    self.line = line + 1;
                    return Ok(true);
                }
                Ended::Short => {
                    self.fill()?;
                }
            }
        }
    }

    /// Brings more bytes into the buffer; false if there are none.
    fn fill(&mut self) -> std::io::Result<bool> {
        if self.done {
            return Ok(false);
        }
        self.buffer.copy_within(self.from..self.to, 0);
        self.to -= self.from;
        self.from = 0;
        if self.to == self.buffer.len() {
            self.buffer.resize(self.buffer.len() * 2, 0);
        }
        loop {
            match self.source.read(&mut self.buffer[self.to..]) {
                Ok(0) => {
                    self.done = true;
                    return Ok(false);
                }
                Ok(read) => {
                    self.to += read;
                    return Ok(true);
                }
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }

    fn cut(&self, record: &mut Record, line: &mut u64) -> Ended {
        let bytes = &self.buffer[self.from..self.to];
        let mut at = 0;
        loop {
            // At the start of a cell.
            if bytes.get(at) == Some(&b'"') {
                match quoted(bytes, at + 1, record, line, self.done) {
                    Some(next) => at = next,
                    None if self.done => {
                        record.open_quote = true;
                        record.ends.push(record.bytes.len());
                        return Ended::At(self.to);
                    }
                    None => return Ended::Short,
                }
            }
            let rest = &bytes[at..];
            let Some(found) = memchr::memchr3(self.delimiter, b'\n', b'\r', rest) else {
                if !self.done {
                    return Ended::Short;
                }
                record.bytes.extend_from_slice(rest);
                record.ends.push(record.bytes.len());
                return Ended::At(self.to);
            };
            record.bytes.extend_from_slice(&rest[..found]);
            record.ends.push(record.bytes.len());
            at += found + 1;
            if bytes[at - 1] == self.delimiter {
                continue;
            }
            if bytes[at - 1] == b'\r' {
                match bytes.get(at) {
                    Some(b'\n') => at += 1,
                    Some(_) => {}
                    None if self.done => {}
                    None => return Ended::Short,
                }
            }
            return Ended::At(self.from + at);
        }
    }
}

/// Takes the inside of a quoted cell; the place behind its closing quote, or `None` if the
/// bytes end before.
fn quoted(
    bytes: &[u8],
    mut at: usize,
    record: &mut Record,
    line: &mut u64,
    done: bool,
) -> Option<usize> {
    loop {
        let Some(found) = memchr::memchr(b'"', &bytes[at..]) else {
            if done {
                *line += inner_lines(&bytes[at..]);
                record.bytes.extend_from_slice(&bytes[at..]);
            }
            return None;
        };
        let piece = &bytes[at..at + found];
        *line += inner_lines(piece);
        record.bytes.extend_from_slice(piece);
        at += found + 1;
        match bytes.get(at) {
            Some(b'"') => {
                record.bytes.push(b'"');
                at += 1;
            }
            // Whether a second quote follows is not known yet.
            None if !done => return None,
            _ => return Some(at),
        }
    }
}

fn inner_lines(bytes: &[u8]) -> u64 {
    super::encoding::line_ends(bytes, false).0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(bytes: &[u8]) -> Vec<(u64, u64, Vec<String>, bool)> {
        let mut records = Records::new(bytes, b';', 1);
        let mut record = Record::default();
        let mut found = Vec::new();
        while records.next(&mut record).unwrap() {
            let cells = record.cells();
            let cells = cells.map(|c| String::from_utf8_lossy(c).into_owned());
            let cells = cells.collect();
            found.push((record.line_from, record.line_to, cells, record.open_quote));
        }
        found
    }

    fn plain(from: u64, to: u64, cells: &[&str]) -> (u64, u64, Vec<String>, bool) {
        let cells = cells.iter().map(|c| (*c).to_owned()).collect();
        (from, to, cells, false)
    }

    #[test]
    fn records_know_their_lines_whatever_ends_them() {
        assert_eq!(
            all(b"a;b\r\n\rc;\"d\r\ne\"\n;\n"),
            [
                plain(1, 1, &["a", "b"]),
                plain(2, 2, &[""]),
                plain(3, 4, &["c", "d\r\ne"]),
                plain(5, 5, &["", ""]),
            ]
        );
        assert_eq!(
            all(b"a\n\nb"),
            [plain(1, 1, &["a"]), plain(2, 2, &[""]), plain(3, 3, &["b"])]
        );
        assert!(all(b"").is_empty());
    }

    #[test]
    fn quotes_double_inside_and_mean_nothing_in_the_middle() {
        assert_eq!(all(b"\"a\"\"b\";8\"4\n"), [plain(1, 1, &["a\"b", "8\"4"])]);
        assert_eq!(all(b"\"a\"x;b"), [plain(1, 1, &["ax", "b"])]);
    }

    #[test]
    fn an_open_quote_swallows_the_rest_and_says_so() {
        let found = all(b"a;b\n\"c;d\ne\n");
        assert_eq!(found[1].2, ["c;d\ne\n"]);
        assert!(found[1].3);
        assert_eq!((found[1].0, found[1].1), (2, 4));
    }

    /// Gives one byte at a time, so that every cut of the buffer is met.
    struct Drip<'a>(&'a [u8]);

    impl Read for Drip<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
            let Some((first, rest)) = self.0.split_first() else {
                return Ok(0);
            };
            buffer[0] = *first;
            self.0 = rest;
            Ok(1)
        }
    }

    #[test]
    fn where_the_buffer_is_cut_does_not_matter() {
        let text: &[u8] = b"a;\"b\"\"c\r\nd\"\r\n\r\n\"open;\r\nx";
        let mut records = Records::new(Drip(text), b';', 1);
        let mut record = Record::default();
        let mut dripped = Vec::new();
        while records.next(&mut record).unwrap() {
            let cells = record.cells();
            let cells = cells.map(|c| String::from_utf8_lossy(c).into_owned());
            let cells = cells.collect();
            dripped.push((record.line_from, record.line_to, cells, record.open_quote));
        }
        assert_eq!(dripped, all(text));
    }
}
