//! From a network and a class of evidence to a program.
//!
//! 1. `lower`: each local model becomes small factors over the variables and, inside folds,
//!    over running states; observed leaves become two-state chains (`seen_leaf`) or trees (`seen_maximum`,
//!    along `branches`), variables whose state is given fall apart (`known`).
//! 2. `order`: in which order the variables are summed out, made better by `anneal`; `cut`: which are not, but taken state by
//!    state, so that a wide program runs in little memory.
//! 3. `contract`: each sum becomes multiply-adds over cells; zeros vanish, ones alias, equal sums
//!    are one. `product` says which entries meet, `emit` strings operations into `runs`.
//! 4. `program`: the cells and instructions, ready to run; `backward` is the sweep down.
//!
//! `stored` turns programs into bytes and back.
//!
//! Must not hold the loops over lanes: they live in the kernel.

mod alike;
mod anneal;
mod back;
mod backward;
mod branches;
mod contract;
mod cut;
mod emit;
mod instruction;
mod known;
mod lower;
mod order;
mod product;
mod program;
mod runs;
mod seen_leaf;
mod seen_maximum;
mod stored;

pub(super) use back::Back;
pub(super) use backward::{Backward, Fixed, toward};
pub use instruction::Instruction;
pub(super) use instruction::{Kind, NO_CELL};
pub use program::{CompileError, Program, Request, Seen, Slot, Width};
pub(super) use program::{ENTRY_LIMIT, Turn};
