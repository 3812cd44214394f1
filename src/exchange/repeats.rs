//! Where a record goes before its cells are looked at: blank, footer, repeat, cell count, key.
//!
//! Holds some forty bytes a record, the only thing of an import that grows with the file.

use std::collections::{HashMap, VecDeque};
use std::hash::{BuildHasher, DefaultHasher, Hash, Hasher};

use foldhash::fast::{FixedState, RandomState};

use super::dates::Dated;
use super::error::ExchangeError;
use super::import::Run;
use super::issue::{Code, Issue, Level};
use super::plan::Column;
use super::quarantine;
use super::records::Record;
use super::text;

/// Hash that stays the same on every machine of one build.
pub(super) fn hash_of(value: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

/// Hash of a key, as [`Known::keys`] holds it.
#[must_use]
pub fn key_hash(key: &str) -> u64 {
    hash_of(key)
}

/// Hash of a source and a line, as [`Known::lines`] holds it.
#[must_use]
pub fn line_hash(sha256: &str, line: u64) -> u64 {
    hash_of((sha256, line))
}

/// Where a record goes, before its cells are judged.
pub(super) enum Fate {
    Judge {
        key: String,
        content: u64,
        source: Option<(String, u64)>,
    },
    Said(Level, Code, String, String),
}

/// Repeats and clashes of one import.
#[derive(Default)]
pub(super) struct Repeats {
    /// Key: line and contents of the first record that has it.
    pub keys: HashMap<u64, (u64, u64), RandomState>,
    /// Contents of records that clashed or had no key.
    pub odd: HashMap<u64, u64, RandomState>,
    near: Near,
}

/// Contents without the key of the last records, for near repeats.
#[derive(Default)]
struct Near {
    /// In their order, with their lines.
    last: VecDeque<(u64, u64)>,
    /// First line of each among them, and how often it is there.
    first: HashMap<u64, (u64, usize), RandomState>,
}

impl Near {
    /// Takes the contents of a line; the line of an earlier record that is like it.
    fn take(&mut self, content: u64, line: u64) -> Option<u64> {
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

impl Run<'_> {
    /// Blank, footer, exact repeat, cell count, key missing, key clash: in this order.
    pub(super) fn fate(&mut self, record: &mut Record) -> Fate {
        let said = |level, code, what: &str, hint: &str| {
            Fate::Said(level, code, what.to_owned(), hint.to_owned())
        };
        if record.is_blank() {
            return said(Level::Note, Code::Blank, "the record is empty", "");
        }
        let source = if self.open.table.mended {
            quarantine::take_source(record, self.context.plan.headings.len())
        } else {
            None
        };
        let plan = self.context.plan;
        if self.is_footer(record) {
            return said(
                Level::Note,
                Code::Footer,
                "a total or note below the table",
                "",
            );
        }
        let content = content_hash(record);
        let key = self.key(record);
        let key_hash = key.as_deref().map(key_hash);
        let line = source.as_ref().map_or(record.line_from, |(_, line)| *line);
        let before = key_hash.and_then(|k| self.repeats.keys.get(&k)).copied();
        let twin = before.filter(|(_, c)| *c == content).map(|(line, _)| line);
        if let Some(twin) = twin.or_else(|| self.repeats.odd.get(&content).copied()) {
            return said(
                Level::Note,
                Code::DupExact,
                &format!("equal to line {twin}; left out"),
                "",
            );
        }
        let refuse = |repeats: &mut Repeats, code, what: &str, hint: &str| {
            repeats.odd.insert(content, line);
            said(Level::Row, code, what, hint)
        };
        if record.open_quote {
            return refuse(
                &mut self.repeats,
                Code::OpenQuote,
                "a quote is opened here and never closed",
                "close the quote; what follows was swallowed",
            );
        }
        let wanted = plan.headings.len();
        if record.len() != wanted || quarantine::has_missing(record) {
            let what = format!("{} cells where the heading has {wanted}", record.len());
            return refuse(
                &mut self.repeats,
                Code::CellCount,
                &what,
                "quote a cell that holds the separator, or take out what is too much",
            );
        }
        let (Some(key), Some(hash)) = (key, key_hash) else {
            return refuse(
                &mut self.repeats,
                Code::KeyMissing,
                "the record has no key",
                "give it a number of its own",
            );
        };
        if let Some((first, _)) = before {
            let what = format!("`{key}` stands on line {first} with other contents");
            let hint = "a second visit? use key = job number and date; came back? give it a number of its own";
            return refuse(&mut self.repeats, Code::KeyClash, &what, hint);
        }
        let (from, at) = source
            .as_ref()
            .map_or((self.context.sha256, record.line_from), |(s, l)| {
                (s.as_str(), *l)
            });
        let stands = self.known.keys.get(&hash);
        let met =
            || !self.known.lines.is_empty() && self.known.lines.contains(&line_hash(from, at));
        if stands == Some(&content) || met() {
            self.repeats.keys.insert(hash, (line, content));
            return said(Level::Note, Code::Already, "imported before", "");
        }
        if stands.is_some() {
            let what = format!("`{key}` was imported before with other contents");
            return refuse(
                &mut self.repeats,
                Code::KeyClash,
                &what,
                "a second visit? use key = job number and date",
            );
        }
        self.repeats.keys.insert(hash, (line, content));
        Fate::Judge {
            key,
            content,
            source,
        }
    }

    fn is_footer(&self, record: &Record) -> bool {
        let Some(first) = record.cells().find(|c| !c.trim_ascii().is_empty()) else {
            return false;
        };
        let footers = &self.context.plan.footers;
        // Hardly any record begins with the letter of a footer.
        let letter = first.trim_ascii()[0].to_ascii_lowercase();
        let other = |f: &String| f.bytes().next().is_some_and(|b| b != letter && b != b'*');
        if letter.is_ascii_alphanumeric() && first.is_ascii() && footers.iter().all(other) {
            return false;
        }
        let text = text::folded(&text::cell(first, &self.context.coding).text);
        footers.iter().any(|f| match f.strip_suffix('*') {
            Some(start) => text.starts_with(start),
            None => text == *f,
        })
    }

    fn key(&self, record: &Record) -> Option<String> {
        let mut key = String::new();
        for at in &self.context.plan.key {
            let cell = text::cell(record.cell(*at), &self.context.coding);
            if cell.text.is_empty() {
                return None;
            }
            if !key.is_empty() {
                key.push('/');
            }
            let part = text::composed(&cell.text);
            match &self.context.plan.columns[*at] {
                Column::Date(spec, _) => match spec.read(&part) {
                    Dated::Is(d) | Dated::Serial(d) => key.push_str(&d),
                    _ => key.push_str(&part),
                },
                _ => key.push_str(&part),
            }
        }
        (!key.is_empty()).then_some(key)
    }

    /// Lists a record that is like an earlier one in all but its key.
    pub(super) fn near(
        &mut self,
        record: &Record,
        number: u64,
        key: &str,
    ) -> Result<(), ExchangeError> {
        let filled = record
            .cells()
            .filter(|c| !c.trim_ascii().is_empty())
            .count();
        if filled < NEAR_CELLS + self.context.plan.key.len() {
            return Ok(());
        }
        let rest = rest_hash(record, &self.context.plan.key);
        let twin = self.repeats.near.take(rest, record.line_from);
        let Some(twin) = twin else { return Ok(()) };
        self.say(Issue {
            line_from: record.line_from,
            line_to: record.line_to,
            record: number,
            column: None,
            header: String::new(),
            raw: key.to_owned(),
            code: Code::NearDup,
            level: Level::Note,
            message: format!("like line {twin} in all but its key"),
            hint: "see whether it was entered twice".to_owned(),
        })
    }
}

/// Hash of the trimmed cells; it is written into jobs.
fn content_hash(record: &Record) -> u64 {
    let mut hasher = DefaultHasher::new();
    record
        .cells()
        .for_each(|cell| cell.trim_ascii().hash(&mut hasher));
    hasher.finish()
}

/// Hash of the trimmed cells without those of the key.
fn rest_hash(record: &Record, key: &[usize]) -> u64 {
    let mut hasher = FixedState::default().build_hasher();
    for (at, cell) in record.cells().enumerate() {
        if !key.contains(&at) {
            cell.trim_ascii().hash(&mut hasher);
        }
    }
    hasher.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

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
