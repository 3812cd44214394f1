//! Many sets of plain observations on one network, answered with few programs.
//!
//! `place` decides once where an observation of each variable enters, `solve` answers jobs, `answered` holds
//! the answers.
//! Must not read evidence from text or know what variables mean.

mod answered;
mod place;
mod solve;

pub use answered::{Answer, Answered};
pub use solve::{Batch, Observation};
