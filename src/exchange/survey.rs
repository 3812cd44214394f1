//! The first walk through a table: decimal signs and dates of its columns, and which numbers of
//! jobs stand more than once.
//!
//! What is found are sums and sets, so it does not matter in which order cells are looked at.
//! Must not judge records.

use std::hash::{BuildHasher, Hasher};

use foldhash::fast::FixedState;
use rayon::prelude::*;

use super::encoding::Coding;
use super::error::ExchangeError;
use super::open::{Open, reading};
use super::plan::{Column, ColumnSeen, Plan, Reads};
use super::quarantine;
use super::records::{Record, Records};
use super::text;
use super::twice::Twice;

/// Records looked at side by side.
const BATCH: usize = 2048;
/// Records a worker takes at a time.
const SLICE: usize = 256;

/// What the first walk found.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// Each column.
    pub columns: Vec<ColumnSeen>,
    /// Marks ([`mark`]) that stand more than once, in rising order.
    pub repeated: Vec<u64>,
}

/// Hash that is equal for records of equal keys, and hardly ever for others; `None` where there
/// is no key. `shift` columns stand before those of the plan.
///
/// Days are left out, because how they are read is not known before the walk; and of a key of
/// several cells, which are joined with `/`, only what stands before (or behind) all of them.
pub(super) fn mark(plan: &Plan, coding: &Coding, record: &Record, shift: usize) -> Option<u64> {
    let day = |at: &usize| matches!(plan.columns[*at], Column::Date(..));
    let (first, last) = (plan.key.first()?, plan.key.last()?);
    let whole = plan.key.len() == 1;
    let mut hasher = FixedState::default().build_hasher();
    let cell = |at: &usize| text::cell(record.cell(at + shift), coding).text;
    if !day(first) {
        let cell = cell(first);
        let key = text::composed(&cell);
        let before = key.split('/').next().filter(|_| !whole);
        hasher.write(before.unwrap_or(&key).as_bytes());
        return (!key.is_empty()).then(|| hasher.finish());
    }
    if !day(last) {
        let cell = cell(last);
        let key = text::composed(&cell);
        hasher.write(key.rsplit('/').next().unwrap_or_default().as_bytes());
        return (!key.is_empty()).then(|| hasher.finish());
    }
    Some(hasher.finish())
}

/// What one slice of records says.
#[derive(Default)]
struct Looked {
    columns: Vec<ColumnSeen>,
    marks: Vec<u64>,
}

struct Survey<'a> {
    open: &'a Open,
    plan: &'a Plan,
    /// Columns whose cells are looked at, and whether they hold dates.
    wanted: Vec<(usize, bool)>,
    shift: usize,
}

impl Survey<'_> {
    fn slice(&self, records: &[Record]) -> Looked {
        let coding = &self.open.table.bytes.coding;
        let mut looked = Looked {
            columns: vec![ColumnSeen::default(); self.plan.columns.len()],
            marks: Vec::with_capacity(records.len()),
        };
        for record in records {
            let mark = mark(self.plan, coding, record, self.shift);
            looked.marks.extend(mark);
            // Totals and broken records do not speak for a column.
            if record.len() != self.open.table.headings.len() {
                continue;
            }
            for (at, date) in &self.wanted {
                let cell = record.cell(at + self.shift);
                // A number without a sign in it says nothing of signs.
                let silent = || memchr::memchr2(b',', b'.', cell).is_none();
                if cell.is_empty() || !*date && silent() {
                    continue;
                }
                let cell = text::cell(cell, coding);
                if *date {
                    if !cell.text.is_empty() {
                        looked.columns[*at].dates.look(&cell.text);
                    }
                } else {
                    looked.columns[*at].numbers.look(&cell.text);
                }
            }
        }
        looked
    }
}

/// Fills records from the source; how many there were.
pub(super) fn fill<R: std::io::Read>(
    source: &mut Records<R>,
    records: &mut [Record],
) -> Result<usize, ExchangeError> {
    let mut filled = 0;
    while filled < records.len() && source.next(&mut records[filled]).map_err(reading)? {
        filled += 1;
    }
    Ok(filled)
}

/// Walks through the table once.
///
/// # Errors
/// When it cannot be read, or the disk has no room for the marks.
pub(super) fn survey(open: &Open, plan: &Plan) -> Result<Found, ExchangeError> {
    let kinds = plan.columns.iter().enumerate();
    let wanted = kinds.filter_map(|(at, column)| match column {
        Column::Date(..) => Some((at, true)),
        Column::Value(v) if matches!(v.reads, Reads::Numbers(..) | Reads::Bare(..)) => {
            Some((at, false))
        }
        _ => None,
    });
    let survey = Survey {
        open,
        plan,
        wanted: wanted.collect(),
        shift: if open.table.mended {
            quarantine::LEADING
        } else {
            0
        },
    };
    let mut columns = vec![ColumnSeen::default(); plan.columns.len()];
    let mut twice = Twice::default();
    let mut source = open.body()?;
    let mut now = vec![Record::default(); BATCH];
    let mut ahead = vec![Record::default(); BATCH];
    let mut filled = fill(&mut source, &mut now)?;
    while filled > 0 {
        let mut looked = Vec::new();
        let mut next = Ok(0);
        // The next records are read while these are looked at.
        rayon::in_place_scope(|scope| {
            scope.spawn(|_| {
                let slices = now[..filled].par_chunks(SLICE);
                looked = slices.map(|slice| survey.slice(slice)).collect();
            });
            next = fill(&mut source, &mut ahead);
        });
        for slice in looked {
            for (all, one) in columns.iter_mut().zip(&slice.columns) {
                all.add(one);
            }
            slice.marks.into_iter().try_for_each(|m| twice.push(m))?;
        }
        filled = next?;
        std::mem::swap(&mut now, &mut ahead);
    }
    Ok(Found {
        columns,
        repeated: twice.finish()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::dates::DateSpec;
    use crate::exchange::encoding::look;

    fn plan(key: &[usize], dates: &[usize]) -> Plan {
        let kind = |at: usize| {
            if dates.contains(&at) {
                Column::Date(DateSpec::default(), None)
            } else {
                Column::Ignored
            }
        };
        Plan {
            headings: vec!["a".to_owned(), "b".to_owned()],
            columns: vec![kind(0), kind(1)],
            key: key.to_vec(),
            engine: Vec::new(),
            cylinders: None,
            complaint: String::new(),
            proof: None,
            footers: Vec::new(),
        }
    }

    fn marked(plan: &Plan, text: &[u8]) -> Option<u64> {
        let coding = look(text, None).unwrap().coding;
        let mut record = Record::default();
        Records::new(text, b';', 1).next(&mut record).unwrap();
        mark(plan, &coding, &record, 0)
    }

    /// Equal keys are joined texts that are equal, so these pairs must not be told apart.
    #[test]
    fn records_of_equal_keys_have_equal_marks() {
        let one = plan(&[0], &[]);
        assert_eq!(marked(&one, b" a ;x"), marked(&one, b"a;y"));
        assert_ne!(marked(&one, b"a/1;x"), marked(&one, b"a/2;x"));
        assert_eq!(marked(&one, b" ;x"), None);
        let composed = ("e\u{301};x".as_bytes(), "\u{e9};x".as_bytes());
        assert_eq!(marked(&one, composed.0), marked(&one, composed.1));
        let two = plan(&[0, 1], &[]);
        assert_eq!(marked(&two, b"a/b;c"), marked(&two, b"a;b/c"));
        assert_ne!(marked(&two, b"a;c"), marked(&two, b"b;c"));
        let day_last = plan(&[0, 1], &[1]);
        let days = (&b"a;2023-12-05"[..], &b"a;45265"[..]);
        assert_eq!(marked(&day_last, days.0), marked(&day_last, days.1));
        let day_first = plan(&[1, 0], &[1]);
        assert_eq!(marked(&day_first, days.0), marked(&day_first, days.1));
        assert_ne!(marked(&day_first, b"a;1"), marked(&day_first, b"b;1"));
        let only_day = plan(&[1], &[1]);
        assert_eq!(marked(&only_day, days.0), marked(&only_day, days.1));
    }
}
