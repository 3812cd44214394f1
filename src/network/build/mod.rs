//! From knowledge, an engine and what happened to it to a network.
//!
//! [`Builder`] adds parts and functions at once, then, in the order of events, conditions
//! (starts at a temperature), work (new slices of what it touched), signs and counted
//! variables. Must not see readings: those are likelihoods on what is built here.

mod builder;
mod cold;
mod counted;
mod functions;
mod leaves;
mod parts;
mod roots;
mod shape;
mod signs;
mod work;

pub use builder::{BuildError, Builder, Model};
pub use counted::Counted;
pub use parts::FaultVariable;
pub use roots::{
    RootChances, RootContext, SHOP as SHOP_CONTEXT, counted_share, moved_row, root_chances,
};
pub use shape::{Condition, Shape, band};
pub use work::Change;
