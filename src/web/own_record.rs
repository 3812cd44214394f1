//! How often what was said before a repair came true in this book: jobs judged once and kept.
//!
//! A page reads only what is new since the last one. Must not word anything.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::job::book::{Book, BookError};
use crate::knowledge::Knowledge;
use crate::scoring::came_true::{self, CameTrue, Judged, KIND, MOST_JOBS};

/// Entries a job had when it was judged, and what came of it; nothing where nothing was said.
type Aged = (usize, Option<Judged>);

/// Jobs judged.
#[derive(Debug, Default)]
pub struct Record(Mutex<BTreeMap<String, Aged>>);

impl Record {
    /// What came true in the book up to now.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn of(&self, book: &Book, knowledge: &Knowledge) -> Result<CameTrue, BookError> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut fresh = BTreeMap::new();
        for (job, entries) in book.proven(KIND, MOST_JOBS, knowledge)? {
            let aged = match kept.remove(&job) {
                Some(aged) if aged.0 == entries => aged,
                _ => (entries, came_true::of_job(book, &job, knowledge)?),
            };
            fresh.insert(job, aged);
        }
        *kept = fresh;
        Ok(CameTrue::of(kept.values().filter_map(|a| a.1.as_ref())))
    }
}
