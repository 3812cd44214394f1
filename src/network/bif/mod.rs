//! The interchange format of Bayesian networks (BIF): reading any discrete network, writing
//! ours so that any other engine can check it.
//!
//! Reading order: `token` (words with their places), `syntax` (blocks), `read` (a network),
//! `noisy_max` (tables that are noisy maxima become folds), `write` (folds become tables).
//! Must not touch files: it takes and gives text.
//!
//! # Reference
//! Cozman 1998, "The Interchange Format for Bayesian Networks", version 0.15.

mod noisy_max;
mod problem;
mod read;
mod syntax;
mod table;
mod token;
mod write;

pub use noisy_max::with_noisy_maxima;
pub use problem::Problem;
pub use read::{Bif, read};
pub use write::{Virtual, write};
