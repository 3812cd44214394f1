//! What was made of cells and texts before: tables of shops say the same things over and over.
//!
//! One store a thread, bounded, so that memory stays flat. What is kept is what would be made
//! again, so it changes no answer. Must not understand anything itself.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use foldhash::fast::RandomState;

use super::cell::{Remark, Units, Value};
use super::dates::Dated;
use super::draft_job::Entries;
use super::phrases::{Parsed, Phrases};
use super::story::Done;

/// Different texts kept a column, and a kind of text.
const MOST: usize = 4096;
/// Longer texts are hardly ever met twice.
const LONGEST: usize = 80;

/// A cell understood.
#[derive(Debug, Clone)]
pub(super) struct Read {
    pub value: Value,
    pub remarks: Vec<Remark>,
    /// The entry it makes, where it makes always the same one.
    pub entry: Option<String>,
}

/// Texts with what was made of them.
type Kept<T> = HashMap<Box<str>, Arc<T>, RandomState>;

/// One thread's store.
#[derive(Debug, Default)]
pub struct Memo {
    /// Units already looked up.
    pub units: Units,
    columns: Vec<Kept<Read>>,
    dates: Vec<Kept<Dated>>,
    causes: Kept<Parsed>,
    pieces: Kept<Parsed>,
    work: Kept<Done>,
    work_pieces: Kept<Parsed>,
    /// Room for the entries of a record, used again for the next.
    pub(super) spare: [Entries; 2],
}

impl Memo {
    /// What was made of this text in this column.
    pub(super) fn cell(&self, column: usize, text: &str) -> Option<Arc<Read>> {
        self.columns.get(column)?.get(text).cloned()
    }

    /// Keeps it.
    pub(super) fn keep(&mut self, column: usize, text: &str, read: Arc<Read>) {
        keep(of_column(&mut self.columns, column), text, &read);
    }

    /// A date of a column.
    pub(super) fn date(
        &mut self,
        column: usize,
        text: &str,
        make: impl FnOnce() -> Dated,
    ) -> Arc<Dated> {
        kept(of_column(&mut self.dates, column), text, make)
    }

    /// A text of causes taken apart; pieces of it are met more often than the whole.
    pub fn causes(&mut self, phrases: &Phrases, text: &str) -> Arc<Parsed> {
        let pieces = &mut self.pieces;
        kept(&mut self.causes, text, || parsed(pieces, phrases, text))
    }

    /// What a text of work says, made of the text taken apart.
    pub(super) fn work(
        &mut self,
        phrases: &Phrases,
        text: &str,
        make: impl FnOnce(Parsed) -> Done,
    ) -> Arc<Done> {
        let pieces = &mut self.work_pieces;
        kept(&mut self.work, text, || make(parsed(pieces, phrases, text)))
    }
}

fn parsed(pieces: &mut Kept<Parsed>, phrases: &Phrases, text: &str) -> Parsed {
    let mut parsed = Parsed::default();
    Phrases::each(text, |piece| {
        parsed.extend(&kept(pieces, piece, || phrases.one(piece)));
    });
    parsed
}

fn of_column<T>(columns: &mut Vec<Kept<T>>, at: usize) -> &mut Kept<T> {
    if columns.len() <= at {
        columns.resize_with(at + 1, HashMap::default);
    }
    &mut columns[at]
}

fn keep<T>(known: &mut Kept<T>, text: &str, made: &Arc<T>) {
    if known.len() < MOST && text.len() <= LONGEST {
        known.insert(text.into(), Arc::clone(made));
    }
}

fn kept<T>(known: &mut Kept<T>, text: &str, make: impl FnOnce() -> T) -> Arc<T> {
    if let Some(made) = known.get(text) {
        return Arc::clone(made);
    }
    let made = Arc::new(make());
    keep(known, text, &made);
    made
}

/// The stores of all threads.
#[derive(Debug)]
pub struct Memos(Vec<Mutex<Memo>>);

impl Default for Memos {
    fn default() -> Self {
        let threads = rayon::current_num_threads().max(1);
        Self((0..=threads).map(|_| Mutex::default()).collect())
    }
}

impl Memos {
    /// The store of the thread that asks.
    pub fn own(&self) -> MutexGuard<'_, Memo> {
        let at = rayon::current_thread_index().map_or(0, |at| at + 1);
        let memo = &self.0[at.min(self.0.len() - 1)];
        memo.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
