//! The only bridge from job to network: readings become likelihood vectors. Never thresholds a
//! number into yes or no.
//!
//! Reading order: [`item`] (what evidence is), [`gather`] (a job, entry by entry), [`sign`] and
//! [`reading`] (what one entry says), [`nominal`] (rated values nobody knows), [`law`] (the
//! densities), [`trials`] (repeated timings).

mod aligned;
pub mod gather;
pub mod item;
pub mod kinds;
pub mod law;
pub mod nominal;
pub mod reading;
pub mod repeat;
pub mod sign;
mod switched;
mod terms;
pub mod timed;
mod together;
pub mod trials;

pub use gather::{EvidenceError, gather};
pub use item::{Case, Evidence, Item, Remark, Source};
pub use switched::Switched;
