//! Steps downward: what a destination's derivative passes on to its operands.
//!
//! ```text
//! dst (+)= a * b    =>    slope a (+)= slope dst * b,    slope b (+)= slope dst * a
//! ```
//! Each step goes toward one operand, or toward both where one of them stands. Must not compute
//! values.

use pulp::{Simd, WithSimd};

use super::lanes::Wide;
use super::upward::{grow, scaled, times};
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
        if back.both {
            spread(simd, back, targets, values, from);
            continue;
        }
        let (mut target, mut factor) = (back.target, back.factor);
        for _ in 0..back.terms {
            match (factor, back.lane[2], back.step_factor) {
                (NO_CELL, ..) => {
                    one(simd, back, target, targets, from, |slope, _| *slope);
                }
                (at, true, 0) => {
                    let by = values[at as usize];
                    let value = |slope: &Wide, _| times(simd, slope, &by);
                    one(simd, back, target, targets, from, value);
                }
                (at, false, 0) => {
                    let by = fixed[at as usize];
                    let value = |slope: &Wide, _| scaled(simd, slope, by);
                    one(simd, back, target, targets, from, value);
                }
                (at, true, step) => {
                    let value = |slope: &Wide, n| times(simd, slope, &values[walk(at, step, n)]);
                    one(simd, back, target, targets, from, value);
                }
                (at, false, step) => {
                    let value = |slope: &Wide, n| scaled(simd, slope, fixed[walk(at, step, n)]);
                    one(simd, back, target, targets, from, value);
                }
            }
            target = target.wrapping_add_signed(back.jump);
            factor = match factor {
                NO_CELL => NO_CELL,
                factor => factor.wrapping_add_signed(back.jump_factor),
            };
        }
    }
}

#[inline(always)]
fn split(slopes: &mut [Wide], from: std::ops::Range<usize>) -> (&mut [Wide], &[Wide]) {
    let len = from.len();
    let (before, behind) = slopes.split_at_mut(from.start);
    (before, &behind[..len])
}

/// The cell `n` steps on.
#[inline(always)]
fn walk(first: u32, step: i32, n: usize) -> usize {
    (first as usize).wrapping_add_signed(step as isize * n.cast_signed())
}

/// The cells of a run that moves on.
#[inline(always)]
fn run(first: u32, step: i32, len: usize) -> std::ops::Range<usize> {
    first as usize..walk(first, step, len - 1) + 1
}

/// One run toward one operand; `value` is what a slope passes on, given its number.
#[inline(always)]
fn one<S: Simd>(
    simd: S,
    back: &Back,
    target: u32,
    targets: &mut [Wide],
    from: &[Wide],
    value: impl Fn(&Wide, usize) -> Wide,
) {
    match (back.step, back.first) {
        (0, first) => {
            let target = &mut targets[target as usize];
            let mut sum = if first { Wide::ZERO } else { *target };
            for (n, slope) in from.iter().enumerate() {
                grow(simd, &mut sum, &value(slope, n));
            }
            *target = sum;
        }
        (1, true) => {
            let targets = targets[run(target, 1, from.len())].iter_mut();
            for (n, (target, slope)) in targets.zip(from).enumerate() {
                *target = value(slope, n);
            }
        }
        (1, false) => {
            let targets = targets[run(target, 1, from.len())].iter_mut();
            for (n, (target, slope)) in targets.zip(from).enumerate() {
                grow(simd, target, &value(slope, n));
            }
        }
        (step, true) => {
            for (n, slope) in from.iter().enumerate() {
                targets[walk(target, step, n)] = value(slope, n);
            }
        }
        (step, false) => {
            for (n, slope) in from.iter().enumerate() {
                grow(simd, &mut targets[walk(target, step, n)], &value(slope, n));
            }
        }
    }
}

/// Runs toward both operands: the targets walk, the factor stands.
#[inline(always)]
fn spread<S: Simd>(simd: S, back: &Back, targets: &mut [Wide], values: &[Wide], from: &[Wide]) {
    let step = back.step.unsigned_abs() as usize;
    for t in 0..back.terms as usize {
        let run = run(
            walk(back.target, back.jump, t) as u32,
            back.step,
            from.len(),
        );
        let factor = walk(back.factor, back.jump_factor, t);
        let by = values[factor];
        let mut sum = if back.first_factor {
            Wide::ZERO
        } else {
            targets[factor]
        };
        let (targets_run, values) = (&mut targets[run.clone()], &values[run]);
        match (step, back.first) {
            (1, true) => {
                for ((target, value), slope) in targets_run.iter_mut().zip(values).zip(from) {
                    grow(simd, &mut sum, &times(simd, slope, value));
                    *target = times(simd, slope, &by);
                }
            }
            (1, false) => {
                for ((target, value), slope) in targets_run.iter_mut().zip(values).zip(from) {
                    grow(simd, &mut sum, &times(simd, slope, value));
                    grow(simd, target, &times(simd, slope, &by));
                }
            }
            (_, first) => {
                let walked = targets_run.chunks_mut(step).zip(values.chunks(step));
                for ((target, value), slope) in walked.zip(from) {
                    grow(simd, &mut sum, &times(simd, slope, &value[0]));
                    let share = times(simd, slope, &by);
                    match first {
                        true => target[0] = share,
                        false => grow(simd, &mut target[0], &share),
                    }
                }
            }
        }
        targets[factor] = sum;
    }
}
