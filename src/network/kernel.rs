//! The kernel: runs a compiled program over lanes of evidence.
//!
//! Axis order is `[entry][lane]`: the values of one table entry for all lanes lie side by
//! side, so that the inner loop is one multiply-add over lanes. Upward gives P(evidence);
//! downward is reverse-mode differentiation of the same instructions, so that
//!
//! ```text
//! weight of a query cell = cell * d P(evidence) / d cell,   cell = 1
//! ```
//! and no message is ever divided. Answers do not depend on the number of lanes, on their
//! order, or on threads. Must not know what variables mean.

use rayon::prelude::*;

use super::compile::{Instruction, Kind, NO_CELL, Program};

/// Lanes run side by side.
const WIDE: usize = 8;
/// Below this P(evidence), after the scaling of the inputs, digits are being lost.
const LEAST_WEIGHT: f64 = 1e-290;

/// One set of evidence: the soft slots' likelihoods one after another.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lane {
    /// Likelihoods, `[slot][joint state]`.
    pub inputs: Vec<f64>,
    /// Natural logarithm of a factor taken out of the inputs beforehand.
    pub log_scale: f64,
}

/// The answer to one lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    /// Natural logarithm of P(evidence).
    pub log_evidence: f64,
    /// Chances of the joint states of each query, `[query][joint state]`, adding to one.
    pub chances: Vec<Vec<f64>>,
}

/// Why a lane has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum KernelError {
    /// No combination of states explains the evidence.
    #[error("nothing explains this evidence: its chance is nought")]
    Impossible,
    /// The chance of the evidence is too small for the arithmetic.
    #[error("the chance of the evidence is too small to be reckoned ({0:e})")]
    TooSmall(f64),
    /// A lane has another number of inputs than the program.
    #[error("{found} inputs given, {wanted} wanted")]
    Inputs {
        /// Given.
        found: usize,
        /// Wanted.
        wanted: usize,
    },
    /// A figure that was folded away because it was exactly nought or one is so no longer.
    #[error("figure {figure} was {was} when the program was made and is {is} now")]
    Structure {
        /// Position among the network's figures.
        figure: u32,
        /// Value then.
        was: f64,
        /// Value now.
        is: f64,
    },
}

/// A program with its figures filled in and its prologue run.
#[derive(Debug, Clone)]
pub struct Bound {
    fixed: Vec<[f64; 1]>,
}

impl Program {
    /// Fills in the figures, `network.figures()`, and runs the prologue.
    ///
    /// # Errors
    /// When a figure that was nought or one at compile time is something else now.
    pub fn bind(&self, figures: &[f64]) -> Result<Bound, KernelError> {
        for (figure, was) in &self.folded {
            let is = figures[*figure as usize];
            if is != *was {
                return Err(KernelError::Structure {
                    figure: *figure,
                    was: *was,
                    is,
                });
            }
        }
        let mut fixed = vec![[1.0]; self.fixed];
        for (cell, figure) in &self.figures {
            fixed[*cell as usize] = [figures[*figure as usize]];
        }
        for i in &self.prologue {
            upward::<1>(i, &mut fixed);
        }
        Ok(Bound { fixed })
    }

    /// P(evidence) and the chances of every query, for each lane.
    #[must_use]
    pub fn run(&self, bound: &Bound, lanes: &[Lane]) -> Vec<Result<Answers, KernelError>> {
        self.chunks(bound, lanes, true)
    }

    /// Natural logarithm of P(evidence) alone, for each lane: the upward sweep only.
    #[must_use]
    pub fn run_upward(&self, bound: &Bound, lanes: &[Lane]) -> Vec<Result<f64, KernelError>> {
        self.chunks(bound, lanes, false)
            .into_iter()
            .map(|a| a.map(|a| a.log_evidence))
            .collect()
    }

    fn chunks(
        &self,
        bound: &Bound,
        lanes: &[Lane],
        down: bool,
    ) -> Vec<Result<Answers, KernelError>> {
        match lanes.len() {
            0 => Vec::new(),
            1 => Sweep::<1>::new(self, bound).answer(lanes, down),
            n if n <= WIDE => Sweep::<WIDE>::new(self, bound).answer(lanes, down),
            _ => lanes
                .par_chunks(WIDE)
                .map_init(
                    || Sweep::<WIDE>::new(self, bound),
                    |sweep, chunk| sweep.answer(chunk, down),
                )
                .flatten_iter()
                .collect(),
        }
    }
}

/// Buffers of one thread.
struct Sweep<'a, const L: usize> {
    program: &'a Program,
    fixed: &'a [[f64; 1]],
    values: Vec<[f64; L]>,
    slopes: Vec<[f64; L]>,
    fixed_slopes: Vec<[f64; L]>,
}

impl<'a, const L: usize> Sweep<'a, L> {
    fn new(program: &'a Program, bound: &'a Bound) -> Self {
        Self {
            program,
            fixed: &bound.fixed,
            values: vec![[0.0; L]; program.lanes],
            slopes: Vec::new(),
            fixed_slopes: Vec::new(),
        }
    }

    fn answer(&mut self, lanes: &[Lane], down: bool) -> Vec<Result<Answers, KernelError>> {
        let wanted = self.program.inputs;
        for (l, lane) in lanes.iter().enumerate() {
            // A lane with the wrong number of inputs is answered with an error below.
            for (at, value) in lane.inputs.iter().take(wanted).enumerate() {
                self.values[at][l] = *value;
            }
        }
        // Lanes that are not used repeat the first, so that they hold ordinary numbers.
        for at in 0..wanted {
            for l in lanes.len()..L {
                self.values[at][l] = self.values[at][0];
            }
        }
        let fixed = FixedView(self.fixed);
        for i in &self.program.upward {
            upward_lane::<L>(i, &mut self.values, &fixed);
        }
        let weight = match self.program.root {
            None => [0.0; L],
            Some((cell, true)) => self.values[cell as usize],
            Some((cell, false)) => [self.fixed[cell as usize][0]; L],
        };
        let down = down && !self.program.query_cells.is_empty();
        if down {
            self.downward();
        }
        lanes
            .iter()
            .enumerate()
            .map(|(l, lane)| self.lane(l, lane, weight[l], down))
            .collect()
    }

    fn lane(&self, l: usize, lane: &Lane, weight: f64, down: bool) -> Result<Answers, KernelError> {
        let wanted = self.program.inputs;
        if lane.inputs.len() != wanted {
            return Err(KernelError::Inputs {
                found: lane.inputs.len(),
                wanted,
            });
        }
        if weight == 0.0 {
            return Err(KernelError::Impossible);
        }
        if weight.is_nan() || weight < LEAST_WEIGHT {
            return Err(KernelError::TooSmall(weight));
        }
        let mut chances = Vec::new();
        if down {
            let first = &self.program.query_first;
            for (q, start) in first.iter().enumerate() {
                let end = first
                    .get(q + 1)
                    .copied()
                    .unwrap_or(self.program.query_cells.len());
                let cells = &self.program.query_cells[*start..end];
                chances.push(
                    cells
                        .iter()
                        .map(|c| self.fixed_slopes[*c as usize][l] / weight)
                        .collect(),
                );
            }
        }
        Ok(Answers {
            log_evidence: weight.ln() + lane.log_scale,
            chances,
        })
    }

    fn downward(&mut self) {
        let program = self.program;
        self.slopes.clear();
        self.slopes.resize(program.lanes, [0.0; L]);
        self.fixed_slopes.clear();
        self.fixed_slopes.resize(program.fixed, [0.0; L]);
        match program.root {
            None => {}
            Some((cell, true)) => self.slopes[cell as usize] = [1.0; L],
            Some((cell, false)) => self.fixed_slopes[cell as usize] = [1.0; L],
        }
        for i in program.upward.iter().rev() {
            self.back(i);
        }
        for i in program.prologue.iter().rev() {
            self.back(i);
        }
    }

    /// Adds to the slopes of the operands what the destination's slope passes on.
    fn back(&mut self, i: &Instruction) {
        let program = self.program;
        let copy = matches!(i.kind, Kind::SetCopy | Kind::AddCopy);
        for n in 0..i.len {
            let dst = (i.dst + n) as usize;
            let slope = if i.lane[0] {
                self.slopes[dst]
            } else {
                self.fixed_slopes[dst]
            };
            let a = at(i.a, i.step_a, n);
            let b = if copy { 0 } else { at(i.b, i.step_b, n) };
            let needed = |lane: bool, cell: usize| {
                if lane {
                    program.lane_needed[cell]
                } else {
                    program.fixed_needed[cell]
                }
            };
            if needed(i.lane[1], a) {
                let mut by = slope;
                if !copy {
                    self.scale(&mut by, i.lane[2], b);
                }
                self.add(i.lane[1], a, &by);
            }
            if !copy && needed(i.lane[2], b) {
                let mut by = slope;
                self.scale(&mut by, i.lane[1], a);
                self.add(i.lane[2], b, &by);
            }
        }
    }

    fn scale(&self, by: &mut [f64; L], lane: bool, cell: usize) {
        if lane {
            let value = &self.values[cell];
            (0..L).for_each(|l| by[l] *= value[l]);
        } else {
            let value = self.fixed[cell][0];
            (0..L).for_each(|l| by[l] *= value);
        }
    }

    fn add(&mut self, lane: bool, cell: usize, by: &[f64; L]) {
        let slope = if lane {
            &mut self.slopes[cell]
        } else {
            &mut self.fixed_slopes[cell]
        };
        (0..L).for_each(|l| slope[l] += by[l]);
    }
}

/// Cell of operation `n` of a run.
fn at(first: u32, step: i32, n: u32) -> usize {
    debug_assert!(
        first != NO_CELL,
        "an operand that is not there is never read"
    );
    (i64::from(first) + i64::from(n) * i64::from(step)) as usize
}

/// Fixed values, read by lane instructions.
struct FixedView<'a>(&'a [[f64; 1]]);

/// One lane instruction upward.
fn upward_lane<const L: usize>(i: &Instruction, lanes: &mut [[f64; L]], fixed: &FixedView<'_>) {
    // A destination stands behind its operands, so the buffer splits there.
    let (before, from) = lanes.split_at_mut(i.dst as usize);
    let out = &mut from[..i.len as usize];
    let copy = matches!(i.kind, Kind::SetCopy | Kind::AddCopy);
    let set = matches!(i.kind, Kind::SetProduct | Kind::SetCopy);
    match (i.lane[1], i.lane[2], copy) {
        (true, true, false) => each(i, out, set, |a, b| {
            let (x, y) = (&before[a], &before[b]);
            std::array::from_fn(|l| x[l] * y[l])
        }),
        (true, false, false) => each(i, out, set, |a, b| {
            let (x, y) = (&before[a], fixed.0[b][0]);
            std::array::from_fn(|l| x[l] * y)
        }),
        (true, _, true) => each(i, out, set, |a, _| before[a]),
        (false, false, false) => each(i, out, set, |a, b| [fixed.0[a][0] * fixed.0[b][0]; L]),
        (false, true, false) => each(i, out, set, |a, b| {
            let (x, y) = (fixed.0[a][0], &before[b]);
            std::array::from_fn(|l| x * y[l])
        }),
        (false, _, true) => each(i, out, set, |a, _| [fixed.0[a][0]; L]),
    }
}

/// One prologue instruction upward: everything is fixed.
fn upward<const L: usize>(i: &Instruction, fixed: &mut [[f64; L]]) {
    let (before, from) = fixed.split_at_mut(i.dst as usize);
    let out = &mut from[..i.len as usize];
    let set = matches!(i.kind, Kind::SetProduct | Kind::SetCopy);
    if matches!(i.kind, Kind::SetCopy | Kind::AddCopy) {
        each(i, out, set, |a, _| before[a]);
    } else {
        each(i, out, set, |a, b| {
            let (x, y) = (&before[a], &before[b]);
            std::array::from_fn(|l| x[l] * y[l])
        });
    }
}

#[inline(always)]
fn each<const L: usize>(
    i: &Instruction,
    out: &mut [[f64; L]],
    set: bool,
    value: impl Fn(usize, usize) -> [f64; L],
) {
    let (mut a, mut b) = (i64::from(i.a), i64::from(i.b));
    let (sa, sb) = (i64::from(i.step_a), i64::from(i.step_b));
    if set {
        for cell in out {
            *cell = value(a as usize, b as usize);
            a += sa;
            b += sb;
        }
    } else {
        for cell in out {
            let more = value(a as usize, b as usize);
            (0..L).for_each(|l| cell[l] += more[l]);
            a += sa;
            b += sb;
        }
    }
}
