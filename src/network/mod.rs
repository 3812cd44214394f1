//! The Bayesian network: variables and local models, compiled programs, the kernel, and
//! the enumeration oracle. Never sees TOML, files, clocks or text.
//!
//! Reading order: [`variable`] (what a network is), [`fold`] (the one local model),
//! [`enumerate`] (the oracle, by definition), `compile` (how a network and a class of
//! evidence become a program), [`kernel`] (how a program runs over lanes). [`bif`] reads and
//! writes networks as text, `gradient` says how much each figure moves a lane, `tally` sums chances over lanes, `cache` keeps
//! programs, `batch` answers many jobs on one network, `pool` many networks of few structures.
//! [`clamp`] lets states be ruled out lane by lane, `sweep` runs a program up and down for kernel and
//! gradient, `shape_key` says when two networks can share a program,
//! `shelf` keeps programs by that, some of them `packed`, the `least_used` making room.
//! `build` turns knowledge, an engine and its starts into a network; `sums` adds up evidence given
//! as terms.

mod batch;
pub mod bif;
pub mod build;
mod cache;
pub mod clamp;
mod compile;
pub mod enumerate;
pub mod fold;
mod gradient;
pub mod kernel;
mod least_used;
mod packed;
mod pool;
mod shape_key;
mod shelf;
mod sums;
mod sweep;
mod tally;
pub mod variable;

pub use batch::{Answer, Answered, Batch, Observation};
pub use cache::{Programs, Ready};
pub use compile::{CompileError, Program, Request, Seen, Slot, Width};
pub use fold::{Contribution, Fold, Step};
pub use gradient::{Gradient, Slopes};
pub use kernel::{Answers, Bound, KernelError, Lane};
pub use pool::{Pool, PoolBatch, PoolError, Ticket};
pub use shelf::{Shelf, Store};
pub use sums::{Group, Summed};
pub use tally::{Tally, Total};
pub use variable::{Network, NetworkError, Role, VarId, Variable};
