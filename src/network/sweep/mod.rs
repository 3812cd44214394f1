//! Running a program over eight lanes at once: upward, then downward.
//!
//! The loops go over eight numbers side by side; the widest instructions of the
//! machine are chosen at run time, once a sweep. Products and sums are never fused, so that
//! every machine gives the same bits. Must not know what cells mean.

mod downward;
mod lanes;
mod upward;

pub(super) use lanes::{Buffers, Sweep, WIDE, Wide};
pub(super) use upward::prologue;
