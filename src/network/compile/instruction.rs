//! One instruction of a program: a run of equal operations that walk through the cells.
//! Must not run anything.

use serde::{Deserialize, Serialize};

/// Marks an operand that is not there.
pub(in crate::network) const NO_CELL: u32 = u32::MAX;

/// What an instruction does to its destination.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub(in crate::network) enum Kind {
    /// `dst = a * b`
    SetProduct,
    /// `dst = a`
    SetCopy,
    /// `dst` = the power of two that brings the largest of the `len` cells at `a` near one
    Scale,
    /// `dst += a * b`
    AddProduct,
    /// `dst += a`
    AddCopy,
}

impl Kind {
    /// What further terms of a sum do.
    pub fn adds(self) -> Self {
        match self {
            Self::SetProduct | Self::AddProduct => Self::AddProduct,
            Self::SetCopy | Self::AddCopy => Self::AddCopy,
            Self::Scale => Self::Scale,
        }
    }
}

/// A run of equal operations on `len` cells, each a sum of `terms` products or copies, done
/// `times` over:
///
/// ```text
/// dst[n + r * len] (+)= sum over t of  a[n * step_a + t * jump_a + r * again_a]
///                                    * b[n * step_b + t * jump_b + r * again_b]
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Instruction {
    pub(in crate::network) kind: Kind,
    /// Whether the destination, `a` and `b` are lane cells.
    pub(in crate::network) lane: [bool; 3],
    pub(in crate::network) len: u32,
    pub(in crate::network) dst: u32,
    pub(in crate::network) a: u32,
    pub(in crate::network) b: u32,
    pub(in crate::network) step_a: u32,
    pub(in crate::network) step_b: u32,
    pub(in crate::network) terms: u32,
    pub(in crate::network) jump_a: i32,
    pub(in crate::network) jump_b: i32,
    pub(in crate::network) times: u32,
    pub(in crate::network) again_a: u32,
    pub(in crate::network) again_b: u32,
}

impl Instruction {
    /// One operation.
    pub(super) fn one(kind: Kind, lane: [bool; 3], dst: u32, a: u32, b: u32) -> Self {
        Self {
            kind,
            lane,
            len: 1,
            dst,
            a,
            b,
            step_a: 0,
            step_b: 0,
            terms: 1,
            jump_a: 0,
            jump_b: 0,
            times: 1,
            again_a: 0,
            again_b: 0,
        }
    }

    /// Operations in all.
    pub(super) fn operations(&self) -> u64 {
        u64::from(self.len) * u64::from(self.terms) * u64::from(self.times)
    }

    /// A part of it: `terms` of its terms, the first being `term`, of the run done `time` times
    /// before.
    pub(super) fn part(&self, time: u32, term: u32, terms: u32) -> Self {
        let at = |cell: u32, jump: i32, again: u32| match cell {
            NO_CELL => cell,
            cell => moved(cell, jump, term) + again * time,
        };
        Self {
            kind: if term == 0 {
                self.kind
            } else {
                self.kind.adds()
            },
            dst: self.dst + time * self.len,
            a: at(self.a, self.jump_a, self.again_a),
            b: at(self.b, self.jump_b, self.again_b),
            terms,
            times: 1,
            ..*self
        }
    }

    /// All runs of single terms, in the order in which they are done.
    pub(super) fn single(&self) -> impl DoubleEndedIterator<Item = Self> {
        let times = (0..self.times).flat_map(|r| (0..self.terms).map(move |t| (r, t)));
        times.map(|(r, t)| self.part(r, t, 1))
    }
}

/// The cell `n` steps on.
pub(super) fn moved(cell: u32, step: i32, n: u32) -> u32 {
    let at = i64::from(cell) + i64::from(n) * i64::from(step);
    u32::try_from(at).expect("a cell of the program")
}

/// How far each of so many lies from the one before, if the next lies as far on.
fn jump(first: u32, next: u32, count: u32) -> Option<i32> {
    let far = i64::from(next) - i64::from(first);
    let count = i64::from(count);
    (far % count == 0).then(|| i32::try_from(far / count).ok())?
}

/// The same for both operands of `count` alike: there are as many operands as before, and from the
/// third one on they lie as far on as `known`.
pub(super) fn jumps(
    first: [u32; 2],
    next: [u32; 2],
    count: u32,
    known: [i32; 2],
) -> Option<[i32; 2]> {
    let there = |operands: [u32; 2]| operands.map(|cell| cell != NO_CELL);
    if there(first) != there(next) {
        return None;
    }
    let far = [
        jump(first[0], next[0], count)?,
        jump(first[1], next[1], count)?,
    ];
    (count == 1 || far == known).then_some(far)
}
