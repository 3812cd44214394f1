//! Many sets of plain observations on one network, answered with few programs.
//!
//! `place` decides once where an observation of each variable enters, `solve` answers jobs.
//! Must not read evidence from text or know what variables mean.

mod place;
mod solve;

pub use solve::{Batch, Observation};
