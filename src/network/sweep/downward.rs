//! Instructions downward: what a destination's derivative passes on to its operands.
//!
//! ```text
//! dst (+)= a * b    =>    slope a += slope dst * b,    slope b += slope dst * a
//! ```
//! Must not compute values.

use pulp::{Simd, WithSimd};

use super::lanes::Wide;
use super::upward::{Walker, grow, scaled, times};
use crate::network::compile::{Back, Kind};

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
        let op = &back.op;
        let copy = matches!(op.kind, Kind::SetCopy | Kind::AddCopy);
        let at = op.dst as usize;
        if !op.lane[0] {
            let (before, from) = fixed_slopes.split_at_mut(at);
            prologue(simd, back, copy, fixed, before, &from[..op.len as usize]);
            continue;
        }
        let (before, from) = slopes.split_at_mut(at);
        let from = &from[..op.len as usize];
        let (mut a, mut b) = (Walker::new(op.a, op.step_a), Walker::new(op.b, op.step_b));
        match (op.lane[1], op.lane[2], copy) {
            (true, _, true) => {
                for slope in from {
                    grow(simd, &mut before[a.next()], slope);
                }
            }
            (false, _, true) => {
                for slope in from {
                    grow(simd, &mut fixed_slopes[a.next()], slope);
                }
            }
            (true, true, false) if back.to_a && back.to_b && (a.stands() || b.stands()) => {
                // One operand is the same throughout: let it be `b`, and add up its slope aside.
                if !b.stands() {
                    std::mem::swap(&mut a, &mut b);
                }
                let b = b.next();
                let (by, mut sum) = (values[b], Wide::ZERO);
                for slope in from {
                    let a = a.next();
                    grow(simd, &mut before[a], &times(simd, slope, &by));
                    grow(simd, &mut sum, &times(simd, slope, &values[a]));
                }
                grow(simd, &mut before[b], &sum);
            }
            (true, true, false) if back.to_a && back.to_b => {
                for slope in from {
                    let (a, b) = (a.next(), b.next());
                    grow(simd, &mut before[a], &times(simd, slope, &values[b]));
                    grow(simd, &mut before[b], &times(simd, slope, &values[a]));
                }
            }
            (true, true, false) => {
                // Only one of the two: let it be `a`.
                if back.to_b {
                    std::mem::swap(&mut a, &mut b);
                }
                for slope in from {
                    grow(
                        simd,
                        &mut before[a.next()],
                        &times(simd, slope, &values[b.next()]),
                    );
                }
            }
            (false, false, false) => {
                for slope in from {
                    let (a, b) = (a.next(), b.next());
                    if back.to_a {
                        grow(simd, &mut fixed_slopes[a], &scaled(simd, slope, fixed[b]));
                    }
                    if back.to_b {
                        grow(simd, &mut fixed_slopes[b], &scaled(simd, slope, fixed[a]));
                    }
                }
            }
            (lane_a, _, false) => {
                // One lane, one fixed: let the lane be `a`.
                let (mut to_lane, mut to_fixed) = (back.to_a, back.to_b);
                if !lane_a {
                    std::mem::swap(&mut a, &mut b);
                    std::mem::swap(&mut to_lane, &mut to_fixed);
                }
                match (to_lane, to_fixed) {
                    (true, true) => {
                        for slope in from {
                            let (a, b) = (a.next(), b.next());
                            grow(simd, &mut before[a], &scaled(simd, slope, fixed[b]));
                            grow(simd, &mut fixed_slopes[b], &times(simd, slope, &values[a]));
                        }
                    }
                    (true, false) => {
                        for slope in from {
                            grow(
                                simd,
                                &mut before[a.next()],
                                &scaled(simd, slope, fixed[b.next()]),
                            );
                        }
                    }
                    _ if b.stands() => {
                        let mut sum = Wide::ZERO;
                        for slope in from {
                            grow(simd, &mut sum, &times(simd, slope, &values[a.next()]));
                        }
                        grow(simd, &mut fixed_slopes[b.next()], &sum);
                    }
                    _ => {
                        for slope in from {
                            let by = times(simd, slope, &values[a.next()]);
                            grow(simd, &mut fixed_slopes[b.next()], &by);
                        }
                    }
                }
            }
        }
    }
}

#[inline(always)]
fn prologue<S: Simd>(
    simd: S,
    back: &Back,
    copy: bool,
    fixed: &[f64],
    before: &mut [Wide],
    from: &[Wide],
) {
    let op = &back.op;
    let (mut a, mut b) = (Walker::new(op.a, op.step_a), Walker::new(op.b, op.step_b));
    for slope in from {
        let (a, b) = (a.next(), b.next());
        if copy {
            grow(simd, &mut before[a], slope);
            continue;
        }
        if back.to_a {
            grow(simd, &mut before[a], &scaled(simd, slope, fixed[b]));
        }
        if back.to_b {
            grow(simd, &mut before[b], &scaled(simd, slope, fixed[a]));
        }
    }
}
