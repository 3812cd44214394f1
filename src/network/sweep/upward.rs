//! Instructions upward: values of cells from values of earlier cells.
//! Must not know derivatives.

use super::lanes::{WIDE, Wide};
use crate::network::compile::{Instruction, Kind};

/// A place that moves by a fixed step.
#[derive(Clone, Copy)]
pub(super) struct Walker {
    at: usize,
    step: isize,
}

impl Walker {
    #[inline(always)]
    pub fn new(first: u32, step: i32) -> Self {
        Self {
            at: first as usize,
            step: step as isize,
        }
    }

    /// Whether it stays where it is.
    #[inline(always)]
    pub fn stands(&self) -> bool {
        self.step == 0
    }

    #[inline(always)]
    pub fn next(&mut self) -> usize {
        let at = self.at;
        self.at = at.wrapping_add_signed(self.step);
        at
    }
}

/// The power of two that brings `most` to between one and two; one for nought.
#[inline(always)]
fn power(most: f64) -> f64 {
    /// Bits of the fraction of a double.
    const FRACTION: u32 = 52;
    /// Twice the bias of the exponent of a double.
    const BIAS: u64 = 2046;
    if most == 0.0 || !most.is_finite() {
        return 1.0;
    }
    let exponent = (most.to_bits() >> FRACTION) & 2047;
    f64::from_bits(BIAS.saturating_sub(exponent).max(1) << FRACTION)
}

/// All lane instructions.
#[inline(always)]
pub(super) fn upward(list: &[Instruction], lanes: &mut [Wide], fixed: &[f64]) {
    for i in list {
        one(i, lanes, fixed);
    }
}

#[inline(always)]
fn one(i: &Instruction, lanes: &mut [Wide], fixed: &[f64]) {
    // A destination stands behind its operands, so the buffer splits there.
    let (before, from) = lanes.split_at_mut(i.dst as usize);
    if i.kind == Kind::Scale {
        let mut most = [0.0_f64; WIDE];
        for cell in &before[i.a as usize..(i.a + i.len) as usize] {
            for (m, v) in most.iter_mut().zip(cell.0) {
                // Terms of a sum may have signs.
                *m = if v.abs() > *m { v.abs() } else { *m };
            }
        }
        from[0] = Wide(most.map(power));
        return;
    }
    let out = &mut from[..i.len as usize];
    let (a, b) = (Walker::new(i.a, i.step_a), Walker::new(i.b, i.step_b));
    match (i.kind, i.lane[1], i.lane[2]) {
        (Kind::SetProduct, true, true) => set(out, a, b, |a, b| times(&before[a], &before[b])),
        (Kind::AddProduct, true, true) => add(out, a, b, |a, b| times(&before[a], &before[b])),
        (Kind::SetProduct, true, false) => set(out, a, b, |a, b| scaled(&before[a], fixed[b])),
        (Kind::AddProduct, true, false) => add(out, a, b, |a, b| scaled(&before[a], fixed[b])),
        (Kind::SetProduct, false, true) => set(out, a, b, |a, b| scaled(&before[b], fixed[a])),
        (Kind::AddProduct, false, true) => add(out, a, b, |a, b| scaled(&before[b], fixed[a])),
        (Kind::SetProduct, false, false) => set(out, a, b, |a, b| all(fixed[a] * fixed[b])),
        (Kind::AddProduct, false, false) => add(out, a, b, |a, b| all(fixed[a] * fixed[b])),
        (Kind::SetCopy, true, _) => set(out, a, b, |a, _| before[a]),
        (Kind::AddCopy, true, _) => add(out, a, b, |a, _| before[a]),
        (Kind::SetCopy, false, _) => set(out, a, b, |a, _| all(fixed[a])),
        (Kind::AddCopy, false, _) => add(out, a, b, |a, _| all(fixed[a])),
        (Kind::Scale, ..) => {}
    }
}

#[inline(always)]
fn all(value: f64) -> Wide {
    Wide([value; WIDE])
}

#[inline(always)]
pub(super) fn times(a: &Wide, b: &Wide) -> Wide {
    let mut out = *a;
    for l in 0..WIDE {
        out.0[l] *= b.0[l];
    }
    out
}

#[inline(always)]
pub(super) fn scaled(a: &Wide, by: f64) -> Wide {
    let mut out = *a;
    for l in 0..WIDE {
        out.0[l] *= by;
    }
    out
}

#[inline(always)]
pub(super) fn grow(cell: &mut Wide, more: &Wide) {
    for l in 0..WIDE {
        cell.0[l] += more.0[l];
    }
}

#[inline(always)]
fn set(out: &mut [Wide], mut a: Walker, mut b: Walker, value: impl Fn(usize, usize) -> Wide) {
    for cell in out {
        *cell = value(a.next(), b.next());
    }
}

#[inline(always)]
fn add(out: &mut [Wide], mut a: Walker, mut b: Walker, value: impl Fn(usize, usize) -> Wide) {
    for cell in out {
        grow(cell, &value(a.next(), b.next()));
    }
}

/// All prologue instructions: every cell is fixed.
pub(in crate::network) fn prologue(list: &[Instruction], fixed: &mut [f64]) {
    for i in list {
        let (before, from) = fixed.split_at_mut(i.dst as usize);
        let (mut a, mut b) = (Walker::new(i.a, i.step_a), Walker::new(i.b, i.step_b));
        if i.kind == Kind::Scale {
            let cells = &before[i.a as usize..(i.a + i.len) as usize];
            from[0] = power(cells.iter().copied().fold(0.0, f64::max));
            continue;
        }
        for cell in &mut from[..i.len as usize] {
            let (a, b) = (a.next(), b.next());
            match i.kind {
                Kind::SetProduct => *cell = before[a] * before[b],
                Kind::AddProduct => *cell += before[a] * before[b],
                Kind::SetCopy => *cell = before[a],
                Kind::AddCopy => *cell += before[a],
                Kind::Scale => {}
            }
        }
    }
}
