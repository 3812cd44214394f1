//! Steps downward: what a destination's derivative passes on to its operands.
//!
//! ```text
//! dst (+)= a * b    =>    slope a (+)= slope dst * b,    slope b (+)= slope dst * a
//! ```
//! Each step goes toward one operand. Must not compute values.

use pulp::{Simd, WithSimd};

use super::lanes::Wide;
use super::upward::{Walker, grow, scaled, times};
use crate::network::compile::{Back, NO_CELL};

/// All instructions, in the order of the list; a struct for the same reason as upward.
pub(super) struct Downward<'a> {
    pub list: &'a [Back],
    pub values: &'a [Wide],
    pub fixed: &'a [f64],
    pub slopes: &'a mut [Wide],
    pub fixed_slopes: &'a mut [Wide],
}

impl WithSimd for Downward<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        downward(
            simd,
            self.list,
            self.values,
            self.fixed,
            self.slopes,
            self.fixed_slopes,
        );
    }
}

#[inline(always)]
fn downward<S: Simd>(
    simd: S,
    list: &[Back],
    values: &[Wide],
    fixed: &[f64],
    slopes: &mut [Wide],
    fixed_slopes: &mut [Wide],
) {
    for back in list {
        let from = back.dst as usize..(back.dst + back.len) as usize;
        // A destination stands behind its operands, so the buffers split there.
        let (targets, from) = match (back.lane[0], back.lane[1]) {
            (true, _) => split(slopes, from),
            (false, true) => (&mut fixed_slopes[..], &slopes[from]),
            (false, false) => split(fixed_slopes, from),
        };
        match (back.factor, back.lane[2]) {
            (NO_CELL, _) => pass(simd, back, targets, from, |slope, _| *slope),
            (_, true) => pass(simd, back, targets, from, |slope, factor| {
                times(simd, slope, &values[factor])
            }),
            (_, false) => pass(simd, back, targets, from, |slope, factor| {
                scaled(simd, slope, fixed[factor])
            }),
        }
    }
}

#[inline(always)]
fn split(slopes: &mut [Wide], from: std::ops::Range<usize>) -> (&mut [Wide], &[Wide]) {
    let len = from.len();
    let (before, behind) = slopes.split_at_mut(from.start);
    (before, &behind[..len])
}

/// One run; `value` is what a slope passes on, given the cell of the factor.
#[inline(always)]
fn pass<S: Simd>(
    simd: S,
    back: &Back,
    targets: &mut [Wide],
    from: &[Wide],
    value: impl Fn(&Wide, usize) -> Wide,
) {
    let mut target = Walker::new(back.target, back.step);
    let mut factor = Walker::new(back.factor, back.step_factor);
    if target.stands() {
        let target = &mut targets[target.next()];
        let mut sum = if back.first { Wide::ZERO } else { *target };
        for slope in from {
            grow(simd, &mut sum, &value(slope, factor.next()));
        }
        *target = sum;
    } else if back.first {
        for slope in from {
            targets[target.next()] = value(slope, factor.next());
        }
    } else {
        for slope in from {
            grow(
                simd,
                &mut targets[target.next()],
                &value(slope, factor.next()),
            );
        }
    }
}
