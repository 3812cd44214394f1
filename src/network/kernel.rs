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

use std::sync::Mutex;

use rayon::prelude::*;

use super::compile::Program;
use super::sweep::{Buffers, Sweep, WIDE, prologue};

/// Pieces a long batch is cut into for each thread, so that none waits long for another.
const PIECES: usize = 4;
/// Chunks of lanes from which a batch counts as long.
const LONG: usize = 64;
/// Below this P(evidence), after all scaling, digits are being lost.
pub(super) const LEAST_WEIGHT: f64 = 1e-290;

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
    pub(super) fixed: Vec<f64>,
    /// Memory of finished sweeps.
    pub(super) spare: Spare,
}

/// Memory that sweeps of one program hand on to each other; a copy starts empty.
#[derive(Debug, Default)]
pub(super) struct Spare(Mutex<Vec<Buffers>>);

impl Clone for Spare {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl Spare {
    pub fn take(&self) -> Buffers {
        let spare = self.0.lock();
        spare
            .map_or_else(|_| None, |mut s| s.pop())
            .unwrap_or_default()
    }

    pub fn put(&self, buffers: Buffers) {
        if let Ok(mut spare) = self.0.lock() {
            spare.push(buffers);
        }
    }
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
        let mut fixed = vec![1.0; self.fixed];
        for (cell, figure) in &self.figures {
            fixed[*cell as usize] = figures[*figure as usize];
        }
        prologue(&self.prologue, &mut fixed);
        Ok(Bound {
            fixed,
            spare: Spare::default(),
        })
    }

    /// P(evidence) and the chances of every query, for each lane.
    #[must_use]
    pub fn run(&self, bound: &Bound, lanes: &[Lane]) -> Vec<Result<Answers, KernelError>> {
        self.chunks(bound, lanes, |sweep, chunk, out| {
            set(sweep, chunk);
            if self.query_cells.is_empty() {
                sweep.up();
            } else {
                sweep.round();
            }
            let weights = weights(sweep, chunk);
            for (l, weight) in weights.into_iter().enumerate() {
                out.push(weight.map(|(weight, log_evidence)| Answers {
                    log_evidence,
                    chances: self.chances(sweep, l, weight),
                }));
            }
        })
    }

    /// Natural logarithm of P(evidence) alone, for each lane: the upward sweep only.
    #[must_use]
    pub fn run_upward(&self, bound: &Bound, lanes: &[Lane]) -> Vec<Result<f64, KernelError>> {
        self.chunks(bound, lanes, |sweep, chunk, out| {
            set(sweep, chunk);
            sweep.up();
            let weights = weights(sweep, chunk);
            out.extend(weights.into_iter().map(|w| w.map(|(_, log)| log)));
        })
    }

    /// Weight and slopes of each lane as the program holds them; slopes only if `queries`.
    pub(super) fn run_raw(
        &self,
        bound: &Bound,
        lanes: &[Lane],
        queries: bool,
    ) -> Vec<Result<Raw, KernelError>> {
        self.chunks(bound, lanes, |sweep, chunk, out| {
            set(sweep, chunk);
            if queries && !self.query_cells.is_empty() {
                sweep.round();
            } else {
                sweep.up();
            }
            for (l, lane) in chunk.iter().enumerate() {
                if let Err(error) = self.takes(lane) {
                    out.push(Err(error));
                    continue;
                }
                let chance = sweep.weight(l);
                let cells = if queries { &self.query_cells[..] } else { &[] };
                out.push(Ok(Raw {
                    weight: chance.weight,
                    log_scale: chance.log_scale + lane.log_scale,
                    slopes: cells.iter().map(|c| sweep.slope(*c, l)).collect(),
                }));
            }
        })
    }

    /// Whether a lane has as many inputs as the program takes.
    pub(super) fn takes(&self, lane: &Lane) -> Result<(), KernelError> {
        let (found, wanted) = (lane.inputs.len(), self.inputs);
        if found == wanted {
            Ok(())
        } else {
            Err(KernelError::Inputs { found, wanted })
        }
    }

    /// Query cells one after another into queries.
    pub(super) fn split(&self, cells: &[f64]) -> Vec<Vec<f64>> {
        if cells.is_empty() {
            return Vec::new();
        }
        let ends = self.query_first.iter().skip(1).copied();
        let ends = ends.chain([self.query_cells.len()]);
        let spans = self.query_first.iter().zip(ends);
        spans
            .map(|(from, end)| cells[*from..end].to_vec())
            .collect()
    }

    /// Runs chunks of lanes, few of them here and many on all threads.
    fn chunks<T: Send>(
        &self,
        bound: &Bound,
        lanes: &[Lane],
        work: impl Fn(&mut Sweep<'_>, &[Lane], &mut Vec<T>) + Sync,
    ) -> Vec<T> {
        let piece = |lanes: &[Lane]| {
            let mut sweep = Sweep::with(self, &bound.fixed, bound.spare.take());
            let mut out = Vec::with_capacity(lanes.len());
            for chunk in lanes.chunks(WIDE) {
                work(&mut sweep, chunk, &mut out);
            }
            bound.spare.put(sweep.into_buffers());
            out
        };
        if lanes.len() <= WIDE {
            return piece(lanes);
        }
        let threads = rayon::current_num_threads();
        let chunks = lanes.len().div_ceil(WIDE);
        let pieces = if chunks < LONG { 1 } else { PIECES };
        let chunks = chunks.div_ceil(threads * pieces);
        let pieces = lanes.par_chunks(chunks * WIDE).map(piece);
        pieces.flatten_iter().collect()
    }

    /// The chances of every query in one lane.
    fn chances(&self, sweep: &Sweep<'_>, lane: usize, weight: f64) -> Vec<Vec<f64>> {
        let cells = self.query_cells.iter();
        let chances = cells.map(|c| sweep.slope(*c, lane) / weight);
        self.split(&chances.collect::<Vec<_>>())
    }
}

/// One lane as the program holds it: P(evidence) is `weight * exp(log_scale)`.
pub(super) struct Raw {
    pub weight: f64,
    pub log_scale: f64,
    pub slopes: Vec<f64>,
}

/// Whether a chance of evidence, as the program holds it, can be divided by.
pub(super) fn possible(weight: f64) -> Result<(), KernelError> {
    if weight == 0.0 {
        Err(KernelError::Impossible)
    } else if weight.is_nan() || weight < LEAST_WEIGHT {
        Err(KernelError::TooSmall(weight))
    } else {
        Ok(())
    }
}

/// Puts lanes in place.
pub(super) fn set(sweep: &mut Sweep<'_>, lanes: &[Lane]) {
    let wanted = sweep.program.inputs;
    for (l, lane) in lanes.iter().enumerate() {
        // A lane with the wrong number of inputs is answered with an error by the caller.
        sweep.set(l, &lane.inputs[..lane.inputs.len().min(wanted)]);
    }
    sweep.fill(lanes.len());
}

/// For each lane that was run the weight as the program holds it, and log P(evidence).
fn weights(sweep: &Sweep<'_>, lanes: &[Lane]) -> Vec<Result<(f64, f64), KernelError>> {
    let answer = |(l, lane): (usize, &Lane)| {
        sweep.program.takes(lane)?;
        let chance = sweep.weight(l);
        possible(chance.weight)?;
        let log = chance.weight.ln() + chance.log_scale + lane.log_scale;
        Ok((chance.weight, log))
    };
    lanes.iter().enumerate().map(answer).collect()
}
