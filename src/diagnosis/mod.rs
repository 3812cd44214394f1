//! Ranking, what moved it, misfit, standing. Never formats.
//!
//! Reading order: [`answer`] (what comes out), [`reckon`] (chances over all kinds of engine),
//! [`misfit`] (readings that do not fit together), [`why`] (what moved a cause), [`closing`] (what stands
//! against closing a job).

pub mod answer;
pub mod closing;
pub mod misfit;
pub mod reckon;
pub mod why;

pub use answer::{Cause, Misfit, Ranking, Standing, SystemChance};
pub use closing::{Against, Closing, closing};
pub use reckon::{DiagnosisError, Reckoner, causes};
pub use why::{Moved, Why, why};
