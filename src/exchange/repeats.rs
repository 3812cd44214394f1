//! Where a record goes before its cells are looked at: blank, footer, repeat, cell count, key.
//!
//! What can be said of a record by itself ([`plain`]) is worked out side by side; what hangs on
//! the records before it ([`Repeats`]) one after the other. Keys are held only of records whose
//! [`mark`](super::survey::mark) stands in the file more than once, so memory does not grow with
//! the file, only with its repeats and with records that have no key.

use std::collections::{HashMap, VecDeque};
use std::hash::{BuildHasher, DefaultHasher, Hash, Hasher};

use foldhash::fast::{FixedState, RandomState};

use super::dates::Dated;
use super::issue::{Code, Level};
use super::judged::Context;
use super::known::Known;
use super::plan::Column;
use super::quarantine;
use super::records::Record;
use super::survey;
use super::text;

/// Hash that stays the same on every machine of one build.
fn hash_of(value: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

/// Hash of a key, as [`Known`] holds it.
#[must_use]
pub fn key_hash(key: &str) -> u64 {
    hash_of(key)
}

/// Hash of a source and a line, as [`Known`] holds it.
#[must_use]
pub fn line_hash(sha256: &str, line: u64) -> u64 {
    hash_of((sha256, line))
}

/// What kind of record it is, by its looks.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) enum Kind {
    Blank,
    Footer,
    #[default]
    Row,
}

/// What a record says without the others.
#[derive(Debug, Default)]
pub(super) struct Plain {
    pub kind: Kind,
    /// The key; empty if there is none.
    pub key: String,
    /// Hash of the contents.
    pub content: u64,
    /// Hash of the contents without the key, if they are enough to be called alike.
    pub rest: Option<u64>,
    /// A cell says that the record was too short there.
    pub missing: bool,
    /// Another record of the file may have this key.
    pub shared: bool,
    /// Hash of the source and line a quarantine file names.
    pub source: Option<(String, u64)>,
}

impl Plain {
    /// The line the record counts under.
    pub fn line(&self, record: &Record) -> u64 {
        self.source.as_ref().map_or(record.line_from, |s| s.1)
    }
}

/// Where a record goes, before its cells are judged.
#[derive(Debug)]
pub(super) enum Fate {
    Judge,
    Said(Level, Code, String, String),
}

/// Repeats and clashes of one import.
#[derive(Default)]
pub(super) struct Repeats {
    /// Key: line and contents of the first record that has it.
    keys: HashMap<u64, (u64, u64), RandomState>,
    /// Contents of records that clashed or had no key.
    odd: HashMap<u64, u64, RandomState>,
}

/// Contents without the key of the last records, for near repeats.
#[derive(Default)]
pub(super) struct Near {
    /// In their order, with their lines.
    last: VecDeque<(u64, u64)>,
    /// First line of each among them, and how often it is there.
    first: HashMap<u64, (u64, usize), RandomState>,
}

impl Near {
    /// Takes the contents of a line; the line of an earlier record that is like it.
    pub fn take(&mut self, content: u64, line: u64) -> Option<u64> {
        let twin = self.first.get(&content).map(|(line, _)| *line);
        if self.last.len() >= NEAR
            && let Some((old, _)) = self.last.pop_front()
            && let Some(known) = self.first.get_mut(&old)
        {
            known.1 -= 1;
            if known.1 == 0 {
                self.first.remove(&old);
            } else if let Some(next) = self.last.iter().find(|l| l.0 == old) {
                known.0 = next.1;
            }
        }
        self.last.push_back((content, line));
        self.first.entry(content).or_insert((line, 0)).1 += 1;
        twin
    }
}

/// Records back to which near repeats are looked for.
const NEAR: usize = 500;
/// Filled cells a record must have beside its key to be called a near repeat.
const NEAR_CELLS: usize = 5;

/// Looks at a record by itself; of one brought back from quarantine what was put before and
/// behind is taken off. `repeated` are the marks that stand in the file more than once; `room`
/// is there to be written over.
pub(super) fn plain(
    record: &mut Record,
    plain: &mut Plain,
    context: &Context<'_>,
    mended: bool,
    repeated: &[u64],
    room: &mut Vec<u8>,
) {
    plain.kind = Kind::Blank;
    plain.source = None;
    plain.key.clear();
    if record.is_blank() {
        return;
    }
    if mended {
        plain.source = quarantine::take_source(record, context.plan.headings.len());
    }
    if is_footer(record, context) {
        plain.kind = Kind::Footer;
        return;
    }
    plain.kind = Kind::Row;
    contents(record, &context.plan.key, plain, room);
    if !key(record, context, &mut plain.key) {
        plain.key.clear();
    }
    plain.shared = !repeated.is_empty()
        && survey::mark(context.plan, &context.coding, record, 0)
            .is_some_and(|mark| repeated.binary_search(&mark).is_ok());
}

impl Repeats {
    /// Blank, footer, exact repeat, cell count, key missing, key clash: in this order.
    pub fn fate(
        &mut self,
        record: &Record,
        plain: &Plain,
        context: &Context<'_>,
        known: &Known,
    ) -> Fate {
        let said = |level, code, what: &str, hint: &str| {
            Fate::Said(level, code, what.to_owned(), hint.to_owned())
        };
        match plain.kind {
            Kind::Blank => return said(Level::Note, Code::Blank, "the record is empty", ""),
            Kind::Footer => {
                let what = "a total or note below the table";
                return said(Level::Note, Code::Footer, what, "");
            }
            Kind::Row => {}
        }
        let content = plain.content;
        let line = plain.line(record);
        // A record of a key that stands once is like no other one.
        let alone = !plain.key.is_empty() && !plain.shared;
        let hash = if alone && known.is_empty() || plain.key.is_empty() {
            None
        } else {
            Some(key_hash(&plain.key))
        };
        let before = hash
            .filter(|_| !alone)
            .and_then(|hash| self.keys.get(&hash))
            .copied();
        let twin = before.filter(|(_, c)| *c == content).map(|(line, _)| line);
        let odd = || self.odd.get(&content).copied().filter(|_| !alone);
        if let Some(twin) = twin.or_else(odd) {
            return said(
                Level::Note,
                Code::DupExact,
                &format!("equal to line {twin}; left out"),
                "",
            );
        }
        let refuse = |repeats: &mut Repeats, code, what: &str, hint: &str| {
            if !alone {
                repeats.odd.insert(content, line);
            }
            said(Level::Row, code, what, hint)
        };
        if record.open_quote {
            return refuse(
                self,
                Code::OpenQuote,
                "a quote is opened here and never closed",
                "close the quote; what follows was swallowed",
            );
        }
        let wanted = context.plan.headings.len();
        if record.len() != wanted || plain.missing {
            let what = format!("{} cells where the heading has {wanted}", record.len());
            return refuse(
                self,
                Code::CellCount,
                &what,
                "quote a cell that holds the separator, or take out what is too much",
            );
        }
        if plain.key.is_empty() {
            return refuse(
                self,
                Code::KeyMissing,
                "the record has no key",
                "give it a number of its own",
            );
        }
        let key = &plain.key;
        if let Some((first, _)) = before {
            let what = format!("`{key}` stands on line {first} with other contents");
            let hint = "a second visit? use key = job number and date; came back? give it a number of its own";
            return refuse(self, Code::KeyClash, &what, hint);
        }
        if let Some(hash) = hash {
            let from = plain
                .source
                .as_ref()
                .map_or(context.sha256, |s| s.0.as_str());
            let stands = known.content(hash);
            let already = stands == Some(content) || known.has_line(from, line);
            if stands.is_some() && !already {
                let what = format!("`{key}` was imported before with other contents");
                return refuse(
                    self,
                    Code::KeyClash,
                    &what,
                    "a second visit? use key = job number and date",
                );
            }
            if !alone {
                self.keys.insert(hash, (line, content));
            }
            if already {
                return said(Level::Note, Code::Already, "imported before", "");
            }
        }
        Fate::Judge
    }

    /// A record that was not taken does not hold its key.
    pub fn refused(&mut self, record: &Record, plain: &Plain) {
        if plain.shared {
            self.keys.remove(&key_hash(&plain.key));
            self.odd.insert(plain.content, plain.line(record));
        }
    }
}

fn is_footer(record: &Record, context: &Context<'_>) -> bool {
    let Some(first) = record.cells().find(|c| !c.trim_ascii().is_empty()) else {
        return false;
    };
    let footers = &context.plan.footers;
    // Hardly any record begins with the letter of a footer.
    let letter = first.trim_ascii()[0].to_ascii_lowercase();
    let other = |f: &String| f.bytes().next().is_some_and(|b| b != letter && b != b'*');
    if letter.is_ascii_alphanumeric() && first.is_ascii() && footers.iter().all(other) {
        return false;
    }
    let text = text::folded(&text::cell(first, &context.coding).text);
    footers.iter().any(|f| match f.strip_suffix('*') {
        Some(start) => text.starts_with(start),
        None => text == *f,
    })
}

/// Writes the key; false if there is none.
fn key(record: &Record, context: &Context<'_>, key: &mut String) -> bool {
    for at in &context.plan.key {
        let cell = text::cell(record.cell(*at), &context.coding);
        if cell.text.is_empty() {
            return false;
        }
        if !key.is_empty() {
            key.push('/');
        }
        let part = text::composed(&cell.text);
        match &context.plan.columns[*at] {
            Column::Date(spec, _) => match spec.read(&part) {
                Dated::Is(d) | Dated::Serial(d) => key.push_str(&d),
                _ => key.push_str(&part),
            },
            _ => key.push_str(&part),
        }
    }
    !key.is_empty()
}

/// Hash of the trimmed cells, each with its length, which is written into jobs; another one of
/// those that are not of the key; and whether a cell says that it is missing.
fn contents(record: &Record, key: &[usize], plain: &mut Plain, room: &mut Vec<u8>) {
    room.clear();
    plain.missing = false;
    let mut rest = FixedState::default().build_hasher();
    let (mut filled, mut from) = (0, 0);
    for (at, cell) in record.cells().enumerate() {
        plain.missing |= quarantine::is_missing(cell);
        let cell = cell.trim_ascii();
        filled += usize::from(!cell.is_empty());
        let start = room.len();
        room.extend_from_slice(&cell.len().to_ne_bytes());
        room.extend_from_slice(cell);
        if key.contains(&at) {
            rest.write(&room[from..start]);
            from = room.len();
        }
    }
    rest.write(&room[from..]);
    plain.rest = (filled >= NEAR_CELLS + key.len()).then(|| rest.finish());
    // Many bytes at once are hashed faster than the same bytes cell by cell.
    let mut hasher = DefaultHasher::new();
    hasher.write(room);
    plain.content = hasher.finish();
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: the hash of one cell after the other, as jobs of earlier imports hold it.
    #[test]
    fn contents_are_hashed_as_they_always_were() {
        let mut records = crate::exchange::records::Records::new(&b" a ;\"b;c\";;d"[..], b';', 1);
        let mut record = Record::default();
        records.next(&mut record).unwrap();
        let mut hasher = DefaultHasher::new();
        for cell in [&b"a"[..], b"b;c", b"", b"d"] {
            cell.hash(&mut hasher);
        }
        let mut plain = Plain::default();
        contents(&record, &[0], &mut plain, &mut vec![1, 2]);
        assert_eq!(plain.content, hasher.finish());
        assert!(!plain.missing && plain.rest.is_none());
    }

    /// Records that differ in their key alone are alike; others are not, nor are those with too
    /// little beside it.
    #[test]
    fn records_are_alike_by_all_but_their_key() {
        let rest = |text: &[u8], key: &[usize]| {
            let mut records = crate::exchange::records::Records::new(text, b';', 1);
            let mut record = Record::default();
            records.next(&mut record).unwrap();
            let mut plain = Plain::default();
            contents(&record, key, &mut plain, &mut Vec::new());
            plain.rest
        };
        let one = rest(b"k1;a;b;c;x;d;e", &[0, 4]);
        assert!(one.is_some());
        assert_eq!(rest(b"k23; a;b ;c;;d;e", &[0, 4]), None);
        assert_eq!(rest(b"k23; a;b ;c;yy;d;e", &[0, 4]), one);
        assert_eq!(rest(b"k23; a;b ;c;yy;d;e", &[4, 0]), one);
        assert_ne!(rest(b"k1;a;b;cx;;d;e;f", &[0, 4]), one);
        assert_ne!(rest(b"k1;a;bc;x;y;d;e", &[0, 4]), one);
    }

    /// Expected: by looking through the last records one by one.
    #[test]
    fn near_repeats_are_found_among_the_last_records_only() {
        let mut near = Near::default();
        let mut last: Vec<(u64, u64)> = Vec::new();
        for line in 0..5000 {
            let content = line * line % 701;
            let window = &last[last.len().saturating_sub(NEAR)..];
            let twin = window.iter().find(|l| l.0 == content).map(|l| l.1);
            assert_eq!(near.take(content, line), twin, "line {line}");
            last.push((content, line));
        }
        assert!(near.first.len() <= NEAR && near.last.len() == NEAR);
    }
}
