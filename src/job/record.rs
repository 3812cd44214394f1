//! The job: one engine, one complaint, and an ordered list of entries.
//!
//! Must not read or write files.

use super::bench::Bench;
use super::engine::Engine;
use super::entry::Entry;
use super::kept::{Extra, Kept};

/// The `schema` of job files.
pub const SCHEMA: &str = "hardstart/job/1";

/// Key under which a job names its shop, among those this program carries along.
pub const SHOP: &str = "shop";
/// The same in exchanged tables.
pub const SHOP_ID: &str = "shop_id";

/// The shop a job comes from, if it says.
#[must_use]
pub fn shop(job: &Job) -> Option<&str> {
    match job.extra.get(SHOP).or_else(|| job.extra.get(SHOP_ID))? {
        Kept::Text(text) => Some(text),
        _ => None,
    }
}

/// All of it for one engine and one complaint.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// [`SCHEMA`].
    pub schema: String,
    /// Number or name of the job.
    pub job: String,
    /// The complaint, in words.
    pub complaint: String,
    /// The engine.
    pub engine: Engine,
    /// The bench.
    pub bench: Bench,
    /// The entries, oldest first; only ever added to.
    pub entries: Vec<Entry>,
    /// Unknown keys.
    pub extra: Extra,
}

impl Job {
    /// An empty job.
    #[must_use]
    pub fn new(job: &str, complaint: &str) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            job: job.to_owned(),
            complaint: complaint.to_owned(),
            engine: Engine::default(),
            bench: Bench::default(),
            entries: Vec::new(),
            extra: Extra::new(),
        }
    }

    /// The same job without the places its entries had in a file.
    #[must_use]
    pub fn without_positions(mut self) -> Self {
        for entry in &mut self.entries {
            entry.position = None;
        }
        self
    }
}
