//! The job book: many jobs in one SQLite file, entries only ever added.
//!
//! Reading order: `error`, `layout` (tables and versions), `file` (opening), `write` (new jobs
//! and entries), `read` (a job as the files have it), `slip` (the list, and who waits for a cold
//! start), `said` (answers as they were given), `copy` (backup). Must not know what an answer is.

mod copy;
mod error;
mod file;
mod layout;
mod read;
mod said;
mod slip;
mod write;

pub use error::BookError;
pub use file::{Access, Book};
pub use layout::VERSION;
pub use said::Said;
pub use slip::{Slip, Waiting};
pub use write::Added;
