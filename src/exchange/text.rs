//! The text of a cell: decoded, with what does not fit kept as `\xNN`.
//!
//! Must not know what the text means.

use std::borrow::Cow;
use std::io::Read;

use encoding_rs::{Decoder, Encoding, UTF_8};
use unicode_normalization::{UnicodeNormalization, is_nfc_quick};

use super::encoding::{Coding, How};

/// A decoded cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text<'c> {
    /// The text, blanks at both ends taken off.
    pub text: Cow<'c, str>,
    /// A byte does not fit the encoding, or stands for nothing.
    pub bad: bool,
}

/// Decodes one cell.
#[must_use]
pub fn cell<'c>(bytes: &'c [u8], coding: &Coding) -> Text<'c> {
    let bytes = bytes.trim_ascii();
    if bytes.is_ascii() {
        // ASCII is UTF-8; the fallback is never met.
        let text = std::str::from_utf8(bytes).unwrap_or_default();
        let bad = memchr::memchr(0, bytes).is_some();
        let text = Cow::Borrowed(text);
        return Text { text, bad };
    }
    if coding.encoding == UTF_8 || !coding.cut_raw() {
        return match std::str::from_utf8(bytes) {
            Ok(text) => {
                let bad = text.contains(['\0', '\u{fffd}']);
                let text = Cow::Borrowed(text.trim());
                Text { text, bad }
            }
            Err(_) => Text {
                text: Cow::Owned(lossy(bytes)),
                bad: true,
            },
        };
    }
    let (text, _) = coding.encoding.decode_without_bom_handling(bytes);
    // Bytes that stand for nothing come out as control characters; a cell that is whole UTF-8
    // in a file guessed otherwise was written by another program.
    let foreign = matches!(coding.how, How::Guessed { .. }) && std::str::from_utf8(bytes).is_ok();
    let nothing = |c: char| c == '\0' || c == '\u{fffd}' || ('\u{80}'..='\u{9f}').contains(&c);
    let bad = foreign || text.contains(nothing);
    let text = Cow::Owned(text.trim().to_owned());
    Text { text, bad }
}

/// UTF-8 with the bytes that do not fit written as `\xNN`.
fn lossy(bytes: &[u8]) -> String {
    let mut out = String::new();
    for chunk in bytes.utf8_chunks() {
        out.push_str(chunk.valid());
        for byte in chunk.invalid() {
            out.push_str(&format!("\\x{byte:02X}"));
        }
    }
    out.trim().to_owned()
}

/// The text in composed form, as keys are compared.
#[must_use]
pub fn composed(text: &str) -> Cow<'_, str> {
    use unicode_normalization::IsNormalized::Yes;
    if text.is_ascii() || is_nfc_quick(text.chars()) == Yes {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.nfc().collect())
}

/// A text as words are compared: composed, lower case, blanks single.
#[must_use]
pub fn folded(text: &str) -> String {
    let text = composed(text.trim());
    let mut out = String::with_capacity(text.len());
    let mut blank = false;
    for c in text.chars() {
        if c.is_whitespace() {
            blank = true;
            continue;
        }
        if blank && !out.is_empty() {
            out.push(' ');
        }
        blank = false;
        // Most texts are of plain letters, which need no table of letters.
        if c.is_ascii() {
            out.push(c.to_ascii_lowercase());
        } else {
            out.extend(c.to_lowercase());
        }
    }
    out
}

/// A source decoded to UTF-8 on the way, for encodings in which records cannot be cut raw.
pub struct Decoded<R> {
    source: R,
    decoder: Decoder,
    input: Vec<u8>,
    from: usize,
    to: usize,
    ended: bool,
    finished: bool,
    spare: Vec<u8>,
    spare_from: usize,
}

impl<R: Read> Decoded<R> {
    /// Decodes a source whose mark at the start is already taken.
    pub fn new(source: R, encoding: &'static Encoding) -> Self {
        Self {
            source,
            decoder: encoding.new_decoder_without_bom_handling(),
            input: vec![0; 1 << 16],
            from: 0,
            to: 0,
            ended: false,
            finished: false,
            spare: Vec::new(),
            spare_from: 0,
        }
    }
}

impl<R: Read> Read for Decoded<R> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        loop {
            if self.spare_from < self.spare.len() {
                let many = out.len().min(self.spare.len() - self.spare_from);
                out[..many].copy_from_slice(&self.spare[self.spare_from..][..many]);
                self.spare_from += many;
                return Ok(many);
            }
            if self.finished || out.is_empty() {
                return Ok(0);
            }
            if self.from == self.to && !self.ended {
                self.from = 0;
                self.to = self.source.read(&mut self.input)?;
                self.ended = self.to == 0;
            }
            // Three bytes out for one in is the most there can be, and a little room.
            self.spare.resize(3 * (self.to - self.from) + 16, 0);
            let input = &self.input[self.from..self.to];
            let (result, read, written, _) =
                self.decoder
                    .decode_to_utf8(input, &mut self.spare, self.ended);
            self.spare.truncate(written);
            self.spare_from = 0;
            self.from += read;
            self.finished = self.ended && result == encoding_rs::CoderResult::InputEmpty;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::encoding::look;

    fn shown(file: &[u8], bytes: &[u8]) -> (String, bool) {
        let coding = look(file, None).unwrap().coding;
        let cell = cell(bytes, &coding);
        (cell.text.into_owned(), cell.bad)
    }

    #[test]
    fn what_does_not_fit_is_kept_and_marked() {
        let guessed = b"\xb0";
        assert_eq!(
            shown(guessed, b" 5 \xb0F "),
            ("5 \u{b0}F".to_owned(), false)
        );
        assert!(shown(guessed, b"a\x81b").1);
        // Two bytes that are one letter in UTF-8, in a file that is not UTF-8.
        assert!(shown(guessed, "Kälte".as_bytes()).1);
        let stated = look(&b"x"[..], Some("utf-8")).unwrap().coding;
        let bad = cell(b"a\xb0b", &stated);
        assert_eq!((bad.text.as_ref(), bad.bad), ("a\\xB0b", true));
        assert!(cell(b"a\0b", &stated).bad);
    }

    #[test]
    fn wide_letters_come_out_as_utf_8_whatever_the_pieces() {
        let bytes: Vec<u8> = "5 °F;\u{1f527}\n"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        let mut out = String::new();
        Decoded::new(bytes.as_slice(), encoding_rs::UTF_16LE)
            .read_to_string(&mut out)
            .unwrap();
        assert_eq!(out, "5 °F;\u{1f527}\n");
    }

    #[test]
    fn words_are_compared_without_case_and_blanks() {
        assert_eq!(folded("  No\u{a0}\n Glow "), "no glow");
        assert_eq!(folded("e\u{301}"), "\u{e9}");
    }
}
