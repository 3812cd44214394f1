//! Whole jobs drawn from the network: an engine, a cold start, checks, work and findings.
//!
//! Reading order: [`settings`] (what is drawn), [`shop`] (shops that differ), [`world`] (what is
//! wrong with one engine and what it would show), `looks` (what is told and seen), `checks`
//! (what is read), `ending` (work, the start after it, findings), [`draw`] (one job).
//! Nothing here writes files, and the same seed gives the same job whatever was drawn before it.

mod checks;
pub mod draw;
mod ending;
mod looks;
mod luck;
pub mod settings;
pub mod shop;
pub mod world;

pub use draw::{Drawn, Simulator};
pub use luck::Luck;
pub use settings::{Routine, SimulationError, SimulationSettings};
pub use shop::{Shop, shops};
