//! Jobs: engine, bench and entries; reading and writing job files; states and proof.
//!
//! Never computes a chance. Reading order: `record`, `engine`, `bench`, `entry`, `seen`,
//! `reading`.

mod bench;
mod engine;
mod entry;
mod kept;
mod names;
mod reading;
mod record;
mod seen;

pub use bench::{Bench, Cannot};
pub use engine::{Chamber, CylinderOne, Engine, MOST_CYLINDERS, PreheatKind, PumpKind, Wiring};
pub use entry::{CannotDo, Entry, EntryBody, Finding, Mark, Opinion, Position, Proof, Sure, Work};
pub use kept::{Extra, Kept};
pub use reading::{Absent, Measured, Reading, ReadingValue};
pub use record::{Job, SCHEMA};
pub use seen::{Fact, SeenSign, Start, StartResult, Told};
