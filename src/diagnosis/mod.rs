//! Ranking, what moved it, misfit, standing. Never formats.
//!
//! Reading order: [`answer`] (what comes out), [`reckoner`] (chances for any subset of the
//! evidence, over all kinds of engine), [`ranking`] (all causes in order), [`misfit`] (readings
//! that do not fit together), [`why`] (what moved a cause), [`closing`] (what stands against
//! closing a job), [`bearable`] (no more evidence than can be reckoned with), [`ranges`] (how far chances may be off).

pub mod answer;
mod bearable;
pub mod closing;
mod error;
pub mod misfit;
pub mod ranges;
pub mod ranking;
pub mod reckoner;
pub mod why;

pub use answer::{Cause, Misfit, Ranking, Standing, SystemChance};
pub use bearable::bearable;
pub use closing::{Against, Closing, closing};
pub use error::DiagnosisError;
pub use ranking::causes;
pub use reckoner::{FaultPlace, Reckoner};
pub use why::{Moved, Why, why};
