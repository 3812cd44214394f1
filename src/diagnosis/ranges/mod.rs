//! Ranges: how far a chance may be off because the figures behind it are thin.
//!
//! Every figure of the knowledge that can matter to a job is a parameter with a spread that its
//! strength gives (`spread`). What a small move of it does to every table of the job's networks is
//! found by moving it and building them anew (`moves`); what the tables do to every chance comes
//! exactly from the kernel's downward sweep (`slopes`). Reading order: `cells` (where a figure
//! stands), `figure` (which figures there are), `spread`, `moves`, `slopes`, `range` (80 % ranges
//! and the figures that matter most), `tipping` (how far one must move to change the head of the
//! list), `draws` (the same by drawing figures at random, to check the rest). Must not word.

mod cells;
mod draws;
mod figure;
mod moves;
mod range;
mod slopes;
mod spread;
mod tipping;

pub use draws::{Drawn, draws};
pub use figure::Figure;
pub use range::{CauseRange, Matters, Ranges, ranges};
pub use tipping::{Tipping, chances_with, tipping};
