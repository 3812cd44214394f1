//! One run of the downward sweep: how slopes are passed on from a destination to its operands.
//! Must not lay anything out.

use serde::{Deserialize, Serialize};

use super::instruction::{NO_CELL, jumps};

/// Runs of steps down, one for each term, done `times` over:
///
/// ```text
/// slope[target + n * step + t * jump + r * again] (+)=
///     slope[dst + n + r * len] * value[factor + n * step_factor + t * jump_factor + r * again_factor]
/// ```
/// and, toward both, where the factor stands and the targets walk
///
/// ```text
/// slope[factor + t * jump_factor + r * again_factor] (+)= slope[dst + n + r * len] * value[target + ...]
/// ```
/// Toward both, no factor is a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::network) struct Back {
    /// Whether target, destination and factor are lane cells.
    pub lane: [bool; 3],
    /// Nothing was added to the targets before: the first sets.
    pub first: bool,
    /// The slope of the factor takes its share in the same run.
    pub both: bool,
    /// Then, whether nothing was added to it before.
    pub first_factor: bool,
    pub len: u32,
    pub target: u32,
    pub step: u32,
    /// Cell of the destination; it moves on by one.
    pub dst: u32,
    /// Cell of the value of the other operand; `NO_CELL` for copies.
    pub factor: u32,
    pub step_factor: u32,
    pub terms: u32,
    pub jump: i32,
    pub jump_factor: i32,
    pub times: u32,
    pub again: u32,
    pub again_factor: u32,
}

impl Back {
    /// Operations in all; those toward both operands count twice.
    pub fn operations(&self) -> u64 {
        let each = u64::from(self.len) * u64::from(self.terms) * u64::from(self.times);
        if self.both { 2 * each } else { each }
    }

    /// Takes a run over the same destinations in as a further term, if it lies as far on as the
    /// last term; the second term fixes how far.
    pub fn gathers(&mut self, more: &Self) -> bool {
        let alike = Self {
            target: self.target,
            factor: self.factor,
            terms: self.terms,
            jump: self.jump,
            jump_factor: self.jump_factor,
            ..*more
        };
        if alike != *self || more.terms != 1 || self.times != 1 {
            return false;
        }
        let (first, next) = ([self.target, self.factor], [more.target, more.factor]);
        let known = [self.jump, self.jump_factor];
        let Some([target, factor]) = jumps(first, next, self.terms, known) else {
            return false;
        };
        let grown = Self {
            terms: self.terms + 1,
            jump: target,
            jump_factor: factor,
            ..*self
        };
        // The slopes of all factors are held back until the run is over.
        if self.both && (factor == 0 || grown.meets()) {
            return false;
        }
        *self = grown;
        true
    }

    /// Lets a run be done once more, if the other differs from it in its place only and stands
    /// just before it: what is laid out in reverse is done forward again.
    pub fn repeats(&mut self, before: &Self) -> bool {
        let alike = Self {
            dst: self.dst,
            target: self.target,
            factor: self.factor,
            first_factor: self.first_factor,
            times: self.times,
            again: self.again,
            again_factor: self.again_factor,
            ..*before
        };
        let follows = before.dst + before.len == self.dst;
        if alike != *self || before.times != 1 || !follows || !self.copies_as(before) {
            return false;
        }
        let far = |first: u32, next: u32| next.checked_sub(first);
        let (Some(target), Some(factor)) = (
            far(before.target, self.target),
            far(before.factor, self.factor),
        ) else {
            return false;
        };
        if self.times > 1 && (target, factor) != (self.again, self.again_factor) {
            return false;
        }
        // Where the factor stands, the first run sets its slope and the others add to it.
        if self.both && factor != 0 && before.first_factor != self.first_factor {
            return false;
        }
        let grown = Self {
            first_factor: self.first_factor || before.first_factor,
            times: self.times + 1,
            again: target,
            again_factor: factor,
            ..*before
        };
        if self.both && factor == 0 && grown.meets() {
            return false;
        }
        *self = grown;
        true
    }

    /// Whether both are copies or neither is.
    fn copies_as(&self, other: &Self) -> bool {
        (self.factor == NO_CELL) == (other.factor == NO_CELL)
    }

    /// Whether a factor may lie among the targets.
    fn meets(&self) -> bool {
        let last = i64::from(self.terms) - 1;
        let far = |first: u32, jump: i32| {
            let (first, far) = (i64::from(first), last * i64::from(jump));
            (first.min(first + far), first.max(first + far))
        };
        let (from, to) = far(self.target, self.jump);
        let walked = (i64::from(self.len) - 1) * i64::from(self.step);
        let to = to + walked + (i64::from(self.times) - 1) * i64::from(self.again);
        let factors = far(self.factor, self.jump_factor);
        factors.0 <= to && from <= factors.1
    }
}
