//! Quantities: parsing what a mechanic types, and exact conversion. Never guesses a unit.
//!
//! Reading order: `dimension`, `unit` and its `table`, `error`, `number`, `clock`
//! (minutes and seconds), `quantity`, `parse`, and `physics` (small published formulas
//! that the rooms above share).

mod clock;
mod dimension;
mod error;
mod number;
mod parse;
pub mod physics;
mod quantity;
mod scan;
mod table;
mod unit;

pub use dimension::Dimension;
pub use error::UnitError;
pub use quantity::{Cmp, Parsed, Quantity};
pub use unit::{Unit, list};
