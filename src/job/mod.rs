//! Jobs: engine, bench and entries; reading and writing job files; states and proof.
//!
//! Never computes a chance. Reading order: `record`, `engine`, `bench`, `entry`, `seen`,
//! `reading`; `read_job` and the files it names; `rows` and `write`; `cold`, `proof`, `state`, `withdraw`; [`book`].

mod bench;
pub mod book;
mod cold;
mod engine;
mod entry;
mod fields;
mod from_json;
mod from_toml;
mod kept;
mod names;
mod problem;
mod proof;
mod read_engine;
mod read_entry;
mod read_job;
mod read_place;
mod read_quantity;
mod read_seen;
mod read_value;
mod read_word;
mod reader;
mod reading;
mod record;
mod rows;
mod schema;
mod seen;
mod state;
mod suggest;
mod suppose;
mod tree;
mod window;
mod withdraw;
mod write;

pub use bench::{Arrived, Bench, Cannot};
pub use cold::{
    LEAST_SOAK_HOURS, StartAfter, Verification, WARMER_BY, WhyNot, starts_since_work, verdict,
    verification, was_right,
};
pub use engine::{Chamber, CylinderOne, Engine, MOST_CYLINDERS, PreheatKind, PumpKind, Wiring};
pub use entry::{
    Aside, CannotDo, Entry, EntryBody, Finding, Later, Mark, Opinion, Position, Proof, Sure, Undo,
    Withdrawn, Work,
};
pub use kept::{Extra, Kept};
pub use problem::{JobErrors, JobNote, JobProblem};
pub use proof::{WorkProof, finding_proof, first_work, mends, work_proofs};
pub use read_job::{JobLine, Parsed, read_bytes, read_json, read_ndjson, read_toml};
pub use reading::{Absent, Measured, Reading, ReadingValue, Repeat};
pub use record::{Job, SCHEMA, SHOP, SHOP_ID, shop};
pub use schema::schema_json;
pub use seen::{Fact, SeenSign, Start, StartResult, Told};
pub use state::{JobState, state};
pub use suppose::{SupposeProblem, suppose};
pub use window::{START_TEMPERATURE, Window, window};
pub use write::{to_json, to_toml};
