//! The only bridge from job to network: readings become likelihood vectors. Never thresholds a
//! number into yes or no.
//!
//! Reading order: [`item`] (what evidence is), [`kinds`] (which engines it may be about),
//! [`gather`] (a job, entry by entry), `together` (readings of one check between two works),
//! [`sign`] and [`reading`] (what one entry says), [`repeat`] (the same check again), [`nominal`]
//! (rated values nobody knows), [`law`] (the densities), [`trials`] and [`timed`] (repeated
//! timings); then how it is asked: `aligned` (the same items on every kind of engine), `switched`
//! (each item can be left out), `terms` (what ties cylinders together as a sum).

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
