//! Which encoding a file is in, and why; its hash, size and lines on the way.
//!
//! What is stated wins, then a byte-order mark, then strict UTF-8, then UTF-16 by its zeros,
//! then Windows-1252 with a warning. Reads the whole file once and keeps none of it.

use std::io::Read;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use sha2::{Digest, Sha256};

use super::error::ExchangeError;

/// Bytes read at a time.
const CHUNK: usize = 1 << 18;
/// Share of zeros at every second place that shows UTF-16 (own judgement).
const ZEROS: f64 = 0.3;

/// Why this encoding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Stated by a person.
    Stated,
    /// A mark at the start of the file.
    Mark,
    /// Every byte fits UTF-8.
    Fits,
    /// Zeros at every second place.
    Zeros,
    /// Guessed, because this byte on this line does not fit UTF-8.
    Guessed {
        /// The byte.
        byte: u8,
        /// Its line, from 1.
        line: u64,
    },
}

/// The encoding of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Coding {
    /// The encoding.
    pub encoding: &'static Encoding,
    /// Why.
    pub how: How,
    /// Bytes of the mark at the start.
    pub mark: usize,
}

impl Coding {
    /// Whether records can be cut in the raw bytes and decoded cell by cell.
    #[must_use]
    pub fn cut_raw(&self) -> bool {
        self.encoding == UTF_8 || self.encoding.is_single_byte()
    }
}

/// What the first walk through a file found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bytes {
    /// Hash of all bytes, hexadecimal.
    pub sha256: String,
    /// Number of bytes.
    pub size: u64,
    /// Lines as an editor counts them: LF, CRLF and CR each end one. Of the raw bytes, so only
    /// of use where [`Coding::cut_raw`] holds.
    pub lines: u64,
    /// The encoding.
    pub coding: Coding,
}

/// UTF-8 as it is checked piece by piece.
#[derive(Default)]
struct Checked {
    carry: Vec<u8>,
    /// First byte that does not fit, and its line.
    bad: Option<(u8, u64)>,
}

impl Checked {
    /// `line` is the line on which `chunk` starts.
    fn feed(&mut self, chunk: &[u8], line: u64) {
        if self.bad.is_some() {
            return;
        }
        // The carry holds no line end: it is the start of one character.
        let joined;
        let bytes = if self.carry.is_empty() {
            chunk
        } else {
            joined = [self.carry.as_slice(), chunk].concat();
            &joined
        };
        match std::str::from_utf8(bytes) {
            Ok(_) => self.carry.clear(),
            Err(error) => {
                let at = error.valid_up_to();
                if error.error_len().is_some() {
                    let lines = line_ends(&bytes[..at], false).0;
                    self.bad = bytes.get(at).map(|b| (*b, line + lines));
                } else {
                    self.carry = bytes[at..].to_vec();
                }
            }
        }
    }

    fn finish(mut self, line: u64) -> Option<(u8, u64)> {
        if self.bad.is_none() {
            self.bad = self.carry.first().map(|b| (*b, line));
        }
        self.bad
    }
}

/// Line ends in `bytes`, and whether the last byte is a CR. `after_cr`: the byte before was one.
pub(super) fn line_ends(bytes: &[u8], after_cr: bool) -> (u64, bool) {
    let mut ends = 0;
    let mut before = if after_cr { Some(0) } else { None };
    for at in memchr::memchr2_iter(b'\n', b'\r', bytes) {
        // A LF right behind a CR belongs to it.
        if !(bytes[at] == b'\n' && before == Some(at)) {
            ends += 1;
        }
        before = (bytes[at] == b'\r').then_some(at + 1);
    }
    (ends, bytes.last().map_or(after_cr, |b| *b == b'\r'))
}

/// UTF-16 by the place of its zeros.
fn by_zeros(head: &[u8]) -> Option<&'static Encoding> {
    let pairs = head.len() / 2;
    if pairs == 0 {
        return None;
    }
    let zeros = |from: usize| {
        head.iter()
            .skip(from)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd) = (zeros(0) as f64, zeros(1) as f64);
    let many = ZEROS * pairs as f64;
    match (even > many, odd > many) {
        (false, true) => Some(UTF_16LE),
        (true, false) => Some(UTF_16BE),
        _ => None,
    }
}

/// Walks through a file once.
///
/// # Errors
/// When it cannot be read, when the stated encoding is not known, or when a mark at the start
/// says another one.
pub fn look(mut source: impl Read, stated: Option<&str>) -> Result<Bytes, ExchangeError> {
    let stated = match stated {
        None => None,
        Some(label) => Some(Encoding::for_label(label.trim().as_bytes()).ok_or_else(|| {
            ExchangeError::UnknownEncoding {
                label: label.to_owned(),
            }
        })?),
    };
    let mut hash = Sha256::new();
    let (mut size, mut lines, mut after_cr) = (0_u64, 0_u64, false);
    let mut head: Vec<u8> = Vec::new();
    let mut checked = Checked::default();
    let mut chunk = vec![0; CHUNK];
    let mut ends_line = true;
    loop {
        let read = match source.read(&mut chunk) {
            Ok(0) => break,
            Ok(read) => read,
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(ExchangeError::Read(error.to_string())),
        };
        let bytes = &chunk[..read];
        if head.len() < CHUNK {
            head.extend_from_slice(&bytes[..read.min(CHUNK - head.len())]);
        }
        let ((), (ends, cr)) = rayon::join(
            || hash.update(bytes),
            || {
                checked.feed(bytes, lines + 1);
                line_ends(bytes, after_cr)
            },
        );
        lines += ends;
        after_cr = cr;
        size += read as u64;
        ends_line = matches!(bytes[read - 1], b'\n' | b'\r');
    }
    if !ends_line {
        lines += 1;
    }
    let bad = checked.finish(lines.max(1));
    let sha256 = hex(&hash.finalize());
    let coding = decide(&head, stated, bad)?;
    Ok(Bytes {
        sha256,
        size,
        lines,
        coding,
    })
}

fn decide(
    head: &[u8],
    stated: Option<&'static Encoding>,
    bad: Option<(u8, u64)>,
) -> Result<Coding, ExchangeError> {
    let mark = Encoding::for_bom(head);
    let coding = |encoding, how, mark| Coding {
        encoding,
        how,
        mark,
    };
    Ok(match (stated, mark) {
        (Some(said), Some((marked, _))) if said != marked => {
            return Err(ExchangeError::MarkDisagrees {
                stated: said.name(),
                mark: marked.name(),
            });
        }
        (Some(said), mark) => coding(said, How::Stated, mark.map_or(0, |m| m.1)),
        (None, Some((marked, length))) => coding(marked, How::Mark, length),
        // Plain letters in UTF-16 are valid UTF-8 with zeros between, so the zeros come first.
        (None, None) => match (by_zeros(head), bad) {
            (Some(utf16), _) => coding(utf16, How::Zeros, 0),
            (None, None) => coding(UTF_8, How::Fits, 0),
            (None, Some((byte, line))) => coding(WINDOWS_1252, How::Guessed { byte, line }, 0),
        },
    })
}

/// Bytes in hexadecimal.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(bytes: &[u8]) -> (&'static str, How) {
        let coding = look(bytes, None).unwrap().coding;
        (coding.encoding.name(), coding.how)
    }

    #[test]
    fn marks_zeros_and_stray_bytes_are_told_apart() {
        assert_eq!(found(b"a;b\n"), ("UTF-8", How::Fits));
        assert_eq!(found(b"\xef\xbb\xbfa"), ("UTF-8", How::Mark));
        assert_eq!(found(b"\xff\xfea\0"), ("UTF-16LE", How::Mark));
        assert_eq!(found(b"\xfe\xff\0a"), ("UTF-16BE", How::Mark));
        assert_eq!(found(b"a\0;\0b\0\n\0"), ("UTF-16LE", How::Zeros));
        assert_eq!(found(b"\0a\0;\0b\0\n"), ("UTF-16BE", How::Zeros));
        let guessed = How::Guessed {
            byte: 0xb0,
            line: 3,
        };
        assert_eq!(found(b"a\r\nb\r5 \xb0F\n"), ("windows-1252", guessed));
        assert_eq!(found("5 °F\n".as_bytes()), ("UTF-8", How::Fits));
        assert_eq!(found(b""), ("UTF-8", How::Fits));
    }

    #[test]
    fn what_is_stated_wins_unless_a_mark_disagrees() {
        let said = look(&b"5 \xb0"[..], Some("latin1")).unwrap();
        assert_eq!(said.coding.how, How::Stated);
        assert!(look(&b"\xef\xbb\xbfa"[..], Some("latin1")).is_err());
        assert!(look(&b"a"[..], Some("klingon")).is_err());
    }

    #[test]
    fn lines_end_with_any_of_three_ends() {
        let lines = |bytes: &[u8]| look(bytes, None).unwrap().lines;
        assert_eq!(lines(b""), 0);
        assert_eq!(lines(b"a"), 1);
        assert_eq!(lines(b"a\n"), 1);
        assert_eq!(lines(b"a\r\nb\rc\nd"), 4);
        assert_eq!(line_ends(b"\nb", true), (0, false));
    }

    #[test]
    fn a_character_cut_between_two_pieces_still_fits() {
        let mut checked = Checked::default();
        checked.feed(b"5 \xc2", 1);
        checked.feed(b"\xb0F", 1);
        assert_eq!(checked.finish(1), None);
    }
}
