//! What was made of cells and texts before: tables of shops say the same things over and over.
//!
//! One store a thread, bounded, so that memory stays flat. What is kept is what would be made
//! again, so it changes no answer. Must not understand anything itself.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::cell::{Remark, Units, Value};
use super::phrases::{Parsed, Phrases};

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

/// One thread's store.
#[derive(Debug, Default)]
pub struct Memo {
    /// Units already looked up.
    pub units: Units,
    columns: Vec<HashMap<Box<str>, Arc<Read>>>,
    causes: HashMap<Box<str>, Arc<Parsed>>,
    work: HashMap<Box<str>, Arc<Parsed>>,
}

impl Memo {
    /// What was made of this text in this column.
    pub(super) fn cell(&self, column: usize, text: &str) -> Option<Arc<Read>> {
        self.columns.get(column)?.get(text).cloned()
    }

    /// Keeps it.
    pub(super) fn keep(&mut self, column: usize, text: &str, read: Arc<Read>) {
        if self.columns.len() <= column {
            self.columns.resize_with(column + 1, HashMap::new);
        }
        let known = &mut self.columns[column];
        if known.len() < MOST && text.len() <= LONGEST {
            known.insert(text.into(), read);
        }
    }

    /// A text of causes taken apart.
    pub fn causes(&mut self, phrases: &Phrases, text: &str) -> Arc<Parsed> {
        parsed(&mut self.causes, phrases, text)
    }

    /// A text of work taken apart.
    pub fn work(&mut self, phrases: &Phrases, text: &str) -> Arc<Parsed> {
        parsed(&mut self.work, phrases, text)
    }
}

fn parsed(
    known: &mut HashMap<Box<str>, Arc<Parsed>>,
    phrases: &Phrases,
    text: &str,
) -> Arc<Parsed> {
    if let Some(parsed) = known.get(text) {
        return Arc::clone(parsed);
    }
    let parsed = Arc::new(phrases.read(text));
    if known.len() < MOST && text.len() <= LONGEST {
        known.insert(text.into(), Arc::clone(&parsed));
    }
    parsed
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
