//! Instructions upward: values of cells from values of earlier cells.
//! Must not know derivatives.

use pulp::{Simd, WithSimd};

use super::lanes::{WIDE, Wide};
use crate::network::compile::{Instruction, Kind, NO_CELL};

/// Terms that are added up at once, in registers.
pub(super) const MOST_TERMS: usize = 6;

/// Where an operand of a run lies.
#[derive(Clone, Copy)]
struct Operand {
    first: usize,
    step: usize,
    jump: isize,
    again: usize,
    /// Cells from the first of a term to its last.
    most: usize,
}

impl Operand {
    #[inline(always)]
    fn a(i: &Instruction, term: u32) -> Self {
        Self::new(i, (i.a, i.step_a, i.jump_a, i.again_a), term)
    }

    #[inline(always)]
    fn b(i: &Instruction, term: u32) -> Self {
        Self::new(i, (i.b, i.step_b, i.jump_b, i.again_b), term)
    }

    #[inline(always)]
    fn new(i: &Instruction, walk: (u32, u32, i32, u32), term: u32) -> Self {
        let (first, step, jump, again) = walk;
        let (step, jump, again) = (step as usize, jump as isize, again as usize);
        Self {
            first: (first as usize).wrapping_add_signed(jump * term as isize),
            step,
            jump,
            again,
            most: (i.times as usize - 1) * again + (i.len as usize - 1) * step + 1,
        }
    }

    #[inline(always)]
    fn stands(&self) -> bool {
        self.most == 1
    }

    /// The cells that each term walks over.
    #[inline(always)]
    fn rows<'c, C, const T: usize>(&self, cells: &'c [C]) -> [&'c [C]; T] {
        let first = |t: usize| self.first.wrapping_add_signed(self.jump * t.cast_signed());
        std::array::from_fn(|t| &cells[first(t)..][..self.most])
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
    if i.kind == Kind::Scale {
        let (before, from) = lanes.split_at_mut(i.dst as usize);
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
    let sets = matches!(i.kind, Kind::SetProduct | Kind::SetCopy);
    let fixed_operand = !i.lane[1] || i.b != NO_CELL && !i.lane[2];
    if fixed_operand {
        for term in 0..i.terms {
            match sets && term == 0 {
                true => with_fixed::<S, true>(simd, i, term, lanes, fixed),
                false => with_fixed::<S, false>(simd, i, term, lanes, fixed),
            }
        }
        return;
    }
    for term in (0..i.terms).step_by(MOST_TERMS) {
        match (i.terms - term, sets && term == 0) {
            (1, true) => sums::<S, 1, true>(simd, i, term, lanes),
            (2, true) => sums::<S, 2, true>(simd, i, term, lanes),
            (3, true) => sums::<S, 3, true>(simd, i, term, lanes),
            (4, true) => sums::<S, 4, true>(simd, i, term, lanes),
            (5, true) => sums::<S, 5, true>(simd, i, term, lanes),
            (_, true) => sums::<S, MOST_TERMS, true>(simd, i, term, lanes),
            (1, false) => sums::<S, 1, false>(simd, i, term, lanes),
            (2, false) => sums::<S, 2, false>(simd, i, term, lanes),
            (3, false) => sums::<S, 3, false>(simd, i, term, lanes),
            (4, false) => sums::<S, 4, false>(simd, i, term, lanes),
            (5, false) => sums::<S, 5, false>(simd, i, term, lanes),
            (_, false) => sums::<S, MOST_TERMS, false>(simd, i, term, lanes),
        }
    }
}

/// `T` terms of a run, from this one on: the first of all set, if the run does, others are added.
#[inline(always)]
fn sums<S: Simd, const T: usize, const SET: bool>(
    simd: S,
    i: &Instruction,
    term: u32,
    lanes: &mut [Wide],
) {
    let (a, b) = (Operand::a(i, term), Operand::b(i, term));
    // A destination stands behind its operands, so the buffer splits there.
    let (before, from) = lanes.split_at_mut(i.dst as usize);
    let out = Runs::new(i, from);
    let copy = matches!(i.kind, Kind::SetCopy | Kind::AddCopy);
    if copy {
        let x = a.rows::<_, T>(before);
        fill::<S, T, SET>(simd, out, &a, &b, |t, n, _| x[t][n]);
    } else if b.stands() {
        let (x, y) = (a.rows::<_, T>(before), b.rows::<_, T>(before));
        let y: [Wide; T] = y.map(|row| row[0]);
        fill::<S, T, SET>(simd, out, &a, &b, |t, n, _| times(simd, &x[t][n], &y[t]));
    } else {
        let (x, y) = (a.rows::<_, T>(before), b.rows::<_, T>(before));
        fill::<S, T, SET>(simd, out, &a, &b, |t, n, m| times(simd, &x[t][n], &y[t][m]));
    }
}

/// As `sums`, of operands one of which at least is fixed; one term at a time.
#[inline(always)]
fn with_fixed<S: Simd, const SET: bool>(
    simd: S,
    i: &Instruction,
    term: u32,
    lanes: &mut [Wide],
    fixed: &[f64],
) {
    let (a, b) = (Operand::a(i, term), Operand::b(i, term));
    let (before, from) = lanes.split_at_mut(i.dst as usize);
    let out = Runs::new(i, from);
    let copy = matches!(i.kind, Kind::SetCopy | Kind::AddCopy);
    match (copy, i.lane[1], i.lane[2]) {
        (true, ..) => {
            let [x] = a.rows(fixed);
            fill::<S, 1, SET>(simd, out, &a, &b, |_, n, _| all(x[n]));
        }
        (false, true, _) => {
            let ([x], [y]) = (a.rows(before), b.rows(fixed));
            fill::<S, 1, SET>(simd, out, &a, &b, |_, n, m| scaled(simd, &x[n], y[m]));
        }
        (false, false, true) => {
            let ([x], [y]) = (a.rows(fixed), b.rows(before));
            fill::<S, 1, SET>(simd, out, &a, &b, |_, n, m| scaled(simd, &y[m], x[n]));
        }
        (false, false, false) => {
            let ([x], [y]) = (a.rows(fixed), b.rows(fixed));
            fill::<S, 1, SET>(simd, out, &a, &b, |_, n, m| all(x[n] * y[m]));
        }
    }
}

/// The destinations of a run, `len` at a time.
struct Runs<'a> {
    cells: &'a mut [Wide],
    len: usize,
    times: u32,
}

impl<'a> Runs<'a> {
    #[inline(always)]
    fn new(i: &Instruction, cells: &'a mut [Wide]) -> Self {
        let (len, times) = (i.len as usize, i.times);
        Self { cells, len, times }
    }
}

/// Each destination gets its sum, which is made in a register; `value` is a term of it, given
/// how far the operands are on their rows.
#[inline(always)]
fn fill<S: Simd, const T: usize, const SET: bool>(
    simd: S,
    out: Runs<'_>,
    a: &Operand,
    b: &Operand,
    value: impl Fn(usize, usize, usize) -> Wide,
) {
    let (mut a_first, mut b_first) = (0, 0);
    let mut rest = out.cells;
    for _ in 0..out.times {
        let (cells, behind) = rest.split_at_mut(out.len);
        rest = behind;
        let (mut n, mut m) = (a_first, b_first);
        for cell in cells {
            let mut sum = value(0, n, m);
            if !SET {
                let first = sum;
                sum = *cell;
                grow(simd, &mut sum, &first);
            }
            for t in 1..T {
                grow(simd, &mut sum, &value(t, n, m));
            }
            *cell = sum;
            n += a.step;
            m += b.step;
        }
        a_first += a.again;
        b_first += b.again;
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

/// All prologue instructions: every cell is fixed, and every run single.
pub(in crate::network) fn prologue(list: &[Instruction], fixed: &mut [f64]) {
    for i in list {
        let (before, from) = fixed.split_at_mut(i.dst as usize);
        if i.kind == Kind::Scale {
            let cells = &before[i.a as usize..(i.a + i.len) as usize];
            from[0] = power(cells.iter().copied().fold(0.0, f64::max));
            continue;
        }
        let (a, b) = (Operand::a(i, 0), Operand::b(i, 0));
        for (n, cell) in from[..i.len as usize].iter_mut().enumerate() {
            let (a, b) = (a.first + n * a.step, b.first + n * b.step);
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
