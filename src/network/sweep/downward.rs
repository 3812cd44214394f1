//! Steps downward: what a destination's derivative passes on to its operands.
//!
//! ```text
//! dst (+)= a * b    =>    slope a (+)= slope dst * b,    slope b (+)= slope dst * a
//! ```
//! Each step goes toward one operand, or toward both where one of them stands. Must not compute
//! values.

use pulp::{Simd, WithSimd};

use super::lanes::Wide;
use super::upward::{MOST_TERMS, grow, scaled, times};
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
        for back in self.list {
            let dst = back.dst as usize..(back.dst + back.len * back.times) as usize;
            // A destination stands behind its operands, so the buffers split there.
            let (targets, from) = match (back.lane[0], back.lane[1]) {
                (true, _) => split(self.slopes, dst),
                (false, true) => (&mut self.fixed_slopes[..], &self.slopes[dst]),
                (false, false) => split(self.fixed_slopes, dst),
            };
            if back.both {
                both(simd, back, targets, self.values, from);
            } else {
                toward_one(simd, back, targets, (self.values, self.fixed), from);
            }
        }
    }
}

#[inline(always)]
fn split(slopes: &mut [Wide], from: std::ops::Range<usize>) -> (&mut [Wide], &[Wide]) {
    let len = from.len();
    let (before, behind) = slopes.split_at_mut(from.start);
    (before, &behind[..len])
}

/// The cell so many steps on.
#[inline(always)]
fn walk(first: usize, step: i32, n: usize) -> usize {
    first.wrapping_add_signed(step as isize * n.cast_signed())
}

/// All runs toward one operand.
#[inline(always)]
fn toward_one<S: Simd>(
    simd: S,
    back: &Back,
    targets: &mut [Wide],
    (values, fixed): (&[Wide], &[f64]),
    from: &[Wide],
) {
    let step = back.step_factor as usize;
    let (mut target, mut factor) = (back.target as usize, back.factor as usize);
    let mut rest = from;
    for _ in 0..back.times {
        let (from, behind) = rest.split_at(back.len as usize);
        rest = behind;
        let (mut target_now, mut factor_now) = (target, factor);
        for _ in 0..back.terms {
            let (target, factor) = (target_now, factor_now);
            match (back.factor, back.lane[2], step) {
                (NO_CELL, ..) => one(simd, back, target, targets, from, |slope, _| *slope),
                (_, true, 0) => {
                    let by = values[factor];
                    let value = |slope: &Wide, _| times(simd, slope, &by);
                    one(simd, back, target, targets, from, value);
                }
                (_, false, 0) => {
                    let by = fixed[factor];
                    let value = |slope: &Wide, _| scaled(simd, slope, by);
                    one(simd, back, target, targets, from, value);
                }
                (_, true, step) => {
                    let by = &values[factor..];
                    let value = |slope: &Wide, n| times(simd, slope, &by[n * step]);
                    one(simd, back, target, targets, from, value);
                }
                (_, false, step) => {
                    let by = &fixed[factor..];
                    let value = |slope: &Wide, n| scaled(simd, slope, by[n * step]);
                    one(simd, back, target, targets, from, value);
                }
            }
            target_now = walk(target_now, back.jump, 1);
            factor_now = walk(factor_now, back.jump_factor, 1);
        }
        target += back.again as usize;
        factor = factor.wrapping_add(back.again_factor as usize);
    }
}

/// One run toward one operand; `value` is what a slope passes on, given its number.
#[inline(always)]
fn one<S: Simd>(
    simd: S,
    back: &Back,
    target: usize,
    targets: &mut [Wide],
    from: &[Wide],
    value: impl Fn(&Wide, usize) -> Wide,
) {
    let step = back.step as usize;
    let targets = &mut targets[target..][..(from.len() - 1) * step + 1];
    match (step, back.first) {
        (0, first) => {
            let mut sum = if first { Wide::ZERO } else { targets[0] };
            for (n, slope) in from.iter().enumerate() {
                grow(simd, &mut sum, &value(slope, n));
            }
            targets[0] = sum;
        }
        (1, true) => {
            for (n, (target, slope)) in targets.iter_mut().zip(from).enumerate() {
                *target = value(slope, n);
            }
        }
        (1, false) => {
            for (n, (target, slope)) in targets.iter_mut().zip(from).enumerate() {
                grow(simd, target, &value(slope, n));
            }
        }
        (step, true) => {
            for (n, slope) in from.iter().enumerate() {
                targets[n * step] = value(slope, n);
            }
        }
        (step, false) => {
            for (n, slope) in from.iter().enumerate() {
                grow(simd, &mut targets[n * step], &value(slope, n));
            }
        }
    }
}

/// All runs toward both operands: the targets walk, the factor stands.
#[inline(always)]
fn both<S: Simd>(simd: S, back: &Back, targets: &mut [Wide], values: &[Wide], from: &[Wide]) {
    for term in (0..back.terms as usize).step_by(MOST_TERMS) {
        match (back.terms as usize - term, back.first) {
            (1, true) => spread::<S, 1, true>(simd, back, term, targets, values, from),
            (2, true) => spread::<S, 2, true>(simd, back, term, targets, values, from),
            (3, true) => spread::<S, 3, true>(simd, back, term, targets, values, from),
            (4, true) => spread::<S, 4, true>(simd, back, term, targets, values, from),
            (5, true) => spread::<S, 5, true>(simd, back, term, targets, values, from),
            (_, true) => spread::<S, MOST_TERMS, true>(simd, back, term, targets, values, from),
            (1, false) => spread::<S, 1, false>(simd, back, term, targets, values, from),
            (2, false) => spread::<S, 2, false>(simd, back, term, targets, values, from),
            (3, false) => spread::<S, 3, false>(simd, back, term, targets, values, from),
            (4, false) => spread::<S, 4, false>(simd, back, term, targets, values, from),
            (5, false) => spread::<S, 5, false>(simd, back, term, targets, values, from),
            (_, false) => spread::<S, MOST_TERMS, false>(simd, back, term, targets, values, from),
        }
    }
}

/// `T` terms from this one on, side by side; the slopes of their factors are made in registers.
#[inline(always)]
fn spread<S: Simd, const T: usize, const FIRST: bool>(
    simd: S,
    back: &Back,
    term: usize,
    targets: &mut [Wide],
    values: &[Wide],
    from: &[Wide],
) {
    let (step, again) = (back.step as usize, back.again as usize);
    let len = back.len as usize;
    // Where the factor goes on, each time is a run of its own.
    let (times_held, apart) = match back.again_factor {
        0 => (back.times as usize, 1),
        _ => (1, back.times),
    };
    let most = (times_held - 1) * again + (len - 1) * step + 1;
    let mut target_first = walk(back.target as usize, back.jump, term);
    let mut factor_first = walk(back.factor as usize, back.jump_factor, term);
    let mut rest = from;
    for _ in 0..apart {
        let target: [usize; T] = std::array::from_fn(|t| walk(target_first, back.jump, t));
        let factor: [usize; T] = std::array::from_fn(|t| walk(factor_first, back.jump_factor, t));
        let value: [&[Wide]; T] = std::array::from_fn(|t| &values[target[t]..][..most]);
        let by: [Wide; T] = std::array::from_fn(|t| values[factor[t]]);
        let mut sum = [Wide::ZERO; T];
        if !back.first_factor {
            sum = std::array::from_fn(|t| targets[factor[t]]);
        }
        let mut first = 0;
        for _ in 0..times_held {
            let (from, behind) = rest.split_at(len);
            rest = behind;
            let mut at = first;
            for slope in from {
                let slope = *slope;
                for t in 0..T {
                    grow(simd, &mut sum[t], &times(simd, &slope, &value[t][at]));
                    let share = times(simd, &slope, &by[t]);
                    let target = &mut targets[target[t] + at];
                    match FIRST {
                        true => *target = share,
                        false => grow(simd, target, &share),
                    }
                }
                at += step;
            }
            first += again;
        }
        for t in 0..T {
            targets[factor[t]] = sum[t];
        }
        target_first += again;
        factor_first += back.again_factor as usize;
    }
}
