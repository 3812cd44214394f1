//! Instructions upward: values of cells from values of earlier cells.
//! Must not know derivatives.

use pulp::{Simd, WithSimd};

use super::lanes::{WIDE, Wide};
use crate::network::compile::{Instruction, Kind};

/// A place that moves by a fixed step.
#[derive(Clone, Copy)]
struct Walker {
    at: usize,
    step: isize,
}

impl Walker {
    #[inline(always)]
    fn new(first: u32, step: i32) -> Self {
        Self {
            at: first as usize,
            step: step as isize,
        }
    }

    #[inline(always)]
    fn next(&mut self) -> usize {
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
///
/// A struct and not a closure: a closure reaches its body through a function of its own, which is
/// not inlined and so is not compiled for the instructions that were chosen.
pub(super) struct Upward<'a> {
    pub list: &'a [Instruction],
    pub lanes: &'a mut [Wide],
    pub fixed: &'a [f64],
}

impl WithSimd for Upward<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        for i in self.list {
            one(simd, i, self.lanes, self.fixed);
        }
    }
}

#[inline(always)]
fn one<S: Simd>(simd: S, i: &Instruction, lanes: &mut [Wide], fixed: &[f64]) {
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
    match (i.kind, i.lane[1], i.lane[2]) {
        (Kind::SetProduct, true, true) => {
            set(simd, i, out, |a, b| times(simd, &before[a], &before[b]))
        }
        (Kind::AddProduct, true, true) => {
            add(simd, i, out, |a, b| times(simd, &before[a], &before[b]))
        }
        (Kind::SetProduct, true, false) => {
            set(simd, i, out, |a, b| scaled(simd, &before[a], fixed[b]))
        }
        (Kind::AddProduct, true, false) => {
            add(simd, i, out, |a, b| scaled(simd, &before[a], fixed[b]))
        }
        (Kind::SetProduct, false, true) => {
            set(simd, i, out, |a, b| scaled(simd, &before[b], fixed[a]))
        }
        (Kind::AddProduct, false, true) => {
            add(simd, i, out, |a, b| scaled(simd, &before[b], fixed[a]))
        }
        (Kind::SetProduct, false, false) => set(simd, i, out, |a, b| all(fixed[a] * fixed[b])),
        (Kind::AddProduct, false, false) => add(simd, i, out, |a, b| all(fixed[a] * fixed[b])),
        (Kind::SetCopy, true, _) => set(simd, i, out, |a, _| before[a]),
        (Kind::AddCopy, true, _) => add(simd, i, out, |a, _| before[a]),
        (Kind::SetCopy, false, _) => set(simd, i, out, |a, _| all(fixed[a])),
        (Kind::AddCopy, false, _) => add(simd, i, out, |a, _| all(fixed[a])),
        (Kind::Scale, ..) => {}
    }
}

#[inline(always)]
fn all(value: f64) -> Wide {
    Wide([value; WIDE])
}

/// Lane by lane, in registers.
#[inline(always)]
fn each<S: Simd>(a: &Wide, b: &Wide, what: impl Fn(S::f64s, S::f64s) -> S::f64s) -> Wide {
    let mut out = Wide::ZERO;
    // Eight lanes are a whole number of registers on every machine.
    let (to, _) = S::as_mut_simd_f64s(&mut out.0);
    let ((a, _), (b, _)) = (S::as_simd_f64s(&a.0), S::as_simd_f64s(&b.0));
    for ((to, a), b) in to.iter_mut().zip(a).zip(b) {
        *to = what(*a, *b);
    }
    out
}

#[inline(always)]
pub(super) fn times<S: Simd>(simd: S, a: &Wide, b: &Wide) -> Wide {
    each::<S>(a, b, |a, b| simd.mul_f64s(a, b))
}

#[inline(always)]
pub(super) fn scaled<S: Simd>(simd: S, a: &Wide, by: f64) -> Wide {
    let by = simd.splat_f64s(by);
    each::<S>(a, a, |a, _| simd.mul_f64s(a, by))
}

#[inline(always)]
pub(super) fn grow<S: Simd>(simd: S, cell: &mut Wide, more: &Wide) {
    *cell = each::<S>(cell, more, |a, b| simd.add_f64s(a, b));
}

#[inline(always)]
fn set<S: Simd>(simd: S, i: &Instruction, out: &mut [Wide], value: impl Fn(usize, usize) -> Wide) {
    let (mut a, mut b) = (Walker::new(i.a, i.step_a), Walker::new(i.b, i.step_b));
    for cell in out {
        let (a, b) = (a.next(), b.next());
        let mut sum = value(a, b);
        more(simd, i, &mut sum, a, b, &value);
        *cell = sum;
    }
}

#[inline(always)]
fn add<S: Simd>(simd: S, i: &Instruction, out: &mut [Wide], value: impl Fn(usize, usize) -> Wide) {
    let (mut a, mut b) = (Walker::new(i.a, i.step_a), Walker::new(i.b, i.step_b));
    for cell in out {
        let (a, b) = (a.next(), b.next());
        let mut sum = *cell;
        grow(simd, &mut sum, &value(a, b));
        more(simd, i, &mut sum, a, b, &value);
        *cell = sum;
    }
}

/// All terms but the first, whose operands are given.
#[inline(always)]
fn more<S: Simd>(
    simd: S,
    i: &Instruction,
    sum: &mut Wide,
    mut a: usize,
    mut b: usize,
    value: impl Fn(usize, usize) -> Wide,
) {
    for _ in 1..i.terms {
        a = a.wrapping_add_signed(i.jump_a as isize);
        b = b.wrapping_add_signed(i.jump_b as isize);
        grow(simd, sum, &value(a, b));
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
