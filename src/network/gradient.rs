//! How much every figure and every input moves the chance of the evidence of a lane.
//!
//! The downward sweep of the kernel, laid out for the cells of figures and inputs instead of the
//! queries: exact reverse-mode derivatives,
//!
//! ```text
//! slope = d ln P(evidence) / d figure
//! ```
//! Figures that were folded away (exactly nought or one) have slope nought: they are held to be
//! certain. Cells of a row that were taken to add to one are known up to a constant of the row,
//! so only moves that keep rows at one mean anything. Must not know what a figure means.

use super::compile::{Backward, Fixed, Program, toward};
use super::kernel::{Bound, KernelError, Lane, set};
use super::sweep::{Sweep, WIDE};

/// A program's downward sweep toward its figures and inputs.
#[derive(Debug, Clone)]
pub struct Gradient<'p> {
    program: &'p Program,
    backward: Backward,
    figures: usize,
}

/// Derivatives of one lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Slopes {
    /// Natural logarithm of P(evidence); minus infinity where it cannot be, then all slopes are
    /// nought.
    pub log_evidence: f64,
    /// Derivative of it by each figure, in the order of `network.figures()`.
    pub figures: Vec<f64>,
    /// Derivative of it by each input of the lane.
    pub inputs: Vec<f64>,
}

impl Program {
    /// Lays out the sweep; `figures` is the number of figures of the network.
    #[must_use]
    pub fn gradient(&self, figures: usize) -> Gradient<'_> {
        let cells = self.figures.iter().map(|(cell, _)| *cell);
        let sizes = (self.fixed, self.lanes);
        Gradient {
            program: self,
            backward: toward(
                &self.prologue,
                &self.flow,
                sizes,
                cells,
                self.inputs,
                Fixed::Afresh,
            ),
            figures,
        }
    }
}

impl Gradient<'_> {
    /// Derivatives of every lane.
    ///
    /// # Errors
    /// A lane with another number of inputs than the program.
    pub fn run(&self, bound: &Bound, lanes: &[Lane]) -> Result<Vec<Slopes>, KernelError> {
        let mut sweep = Sweep::new(self.program, &bound.fixed);
        let mut out = Vec::with_capacity(lanes.len());
        for chunk in lanes.chunks(WIDE) {
            chunk.iter().try_for_each(|lane| self.program.takes(lane))?;
            set(&mut sweep, chunk);
            sweep.round_along(&self.backward);
            for (l, lane) in chunk.iter().enumerate() {
                out.push(self.slopes(&sweep, l, lane));
            }
        }
        Ok(out)
    }

    fn slopes(&self, sweep: &Sweep<'_>, l: usize, lane: &Lane) -> Slopes {
        let chance = sweep.weight(l);
        let mut slopes = Slopes {
            log_evidence: f64::NEG_INFINITY,
            figures: vec![0.0; self.figures],
            inputs: vec![0.0; self.program.inputs],
        };
        if chance.weight.is_nan() || chance.weight <= 0.0 {
            return slopes;
        }
        slopes.log_evidence = chance.weight.ln() + chance.log_scale + lane.log_scale;
        for (cell, figure) in &self.program.figures {
            slopes.figures[*figure as usize] = sweep.slope(*cell, l) / chance.weight;
        }
        for (at, slope) in slopes.inputs.iter_mut().enumerate() {
            *slope = sweep.slopes[at].0[l] / chance.weight;
        }
        slopes
    }
}
