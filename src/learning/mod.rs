//! Learning: starting chances fitted to stated shares. Never reads text.
//!
//! Must not change the network's structure.

mod alone;
pub mod em;
pub mod exact_sum;
pub mod fit;
pub mod labels;
mod layer;
mod roots;
mod shares;
pub mod shrink;
pub mod simulate;
pub mod take;

pub use alone::{Alone, SignQuestion, sign_alone};
pub use layer::root_layer_toml;
pub use roots::{CellFit, RootFitError, fit_cell, fit_roots, ordinary, summarise_cell};
pub use shares::{Target, targets};
