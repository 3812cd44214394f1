//! Past jobs scored: how good the chances were, with intervals, beside simple rivals. Never tunes.
//!
//! Reading order: [`interval`] and [`measure`] (arithmetic), [`isotonic`] (calibration),
//! [`label`] (what was true, as far as anybody knows), [`take`] (which entries count, shared with the fit),
//! [`solve`] (chances of many jobs; `apart`, of one too wide for that), [`known`] (answers given before), [`line`] (one job's score), [`summary`] (sums over jobs),
//! [`split`] (who is held out), [`batch`] (many jobs at once), [`worst`] (the most misled), [`settle`] (minutes under the suggested order, on a sample),
//! [`rival`] (simple rivals; `classifier`, those of a library), [`compare`] (two scorings, paired), [`came_true`] (what a book said, held against its own proofs), [`condition`] (`--fail-if`).
//! Holds no files and no threads of its own beyond those of a batch.

mod apart;
pub mod batch;
pub mod came_true;
#[cfg(feature = "classifiers")]
pub mod classifier;
pub mod compare;
pub mod condition;
pub mod interval;
pub mod isotonic;
pub mod known;
pub mod label;
pub mod line;
pub mod measure;
pub mod reliability;
pub mod rival;
pub mod settle;
pub mod solve;
pub mod split;
pub mod summary;
pub mod worst;

pub use crate::learning::take;
