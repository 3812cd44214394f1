//! Chances of every query summed over many lanes: what fitting figures asks of the kernel.
//!
//! ```text
//! sum over lanes of  times * P(query | evidence)  =  sum of  times / P(evidence) * d P(evidence) / d cell
//! ```
//! The slope of each lane's weight begins at `times / P(evidence)`, so the derivatives by cells that
//! all lanes share come out summed: they stay in place from chunk to chunk, what the prologue made of
//! them is taken back once, and no lane's own answer is ever laid out. Sums run over pieces of a
//! fixed length in their order, so that they do not depend on threads. Must not know what is fitted.

use rayon::prelude::*;

use super::compile::{Backward, Fixed, Program, toward};
use super::kernel::{Bound, KernelError, Lane, possible, set};
use super::sweep::{Sweep, WIDE, Wide};

/// Lanes summed by one thread at a time: many enough that the prologue costs little beside them.
const PIECE: usize = 32 * WIDE;

/// A program's downward sweep that adds up over lanes.
#[derive(Debug, Clone)]
pub struct Tally {
    backward: Backward,
}

/// What lanes come to together.
#[derive(Debug, Clone, PartialEq)]
pub struct Total {
    /// Natural logarithm of P(evidence), summed.
    pub log_evidence: f64,
    /// Chances of the joint states of each query, summed: `[query][joint state]`.
    pub chances: Vec<Vec<f64>>,
}

impl Program {
    /// Lays out the sweep that adds up.
    #[must_use]
    pub fn tally(&self) -> Tally {
        let cells = self.query_cells.iter().copied();
        let sizes = (self.fixed, self.lanes);
        Tally {
            backward: toward(&self.prologue, &self.flow, sizes, cells, 0, Fixed::Summed),
        }
    }

    /// Sums over lanes, each counted so many `times`; `tally` is that of this program.
    ///
    /// # Errors
    /// For the first lane that cannot be, is too unlikely, or has another number of inputs.
    pub fn total(
        &self,
        tally: &Tally,
        bound: &Bound,
        lanes: &[Lane],
        times: &[f64],
    ) -> Result<Total, KernelError> {
        let pieces = lanes.par_chunks(PIECE).zip(times.par_chunks(PIECE));
        let pieces = pieces.map(|(lanes, times)| self.piece(tally, bound, lanes, times));
        let (mut log, mut cells) = (0.0, vec![0.0; self.query_cells.len()]);
        for piece in pieces.collect::<Vec<_>>() {
            let (own, sums) = piece?;
            log += own;
            cells
                .iter_mut()
                .zip(sums)
                .for_each(|(all, own)| *all += own);
        }
        Ok(Total {
            log_evidence: log,
            chances: self.split(&cells),
        })
    }

    /// Log P(evidence) and query cells, summed over lanes.
    fn piece(
        &self,
        tally: &Tally,
        bound: &Bound,
        lanes: &[Lane],
        times: &[f64],
    ) -> Result<(f64, Vec<f64>), KernelError> {
        let mut sweep = Sweep::with(self, &bound.fixed, bound.spare.take());
        sweep.clear_sums();
        let mut log = 0.0;
        for (chunk, times) in lanes.chunks(WIDE).zip(times.chunks(WIDE)) {
            chunk.iter().try_for_each(|lane| self.takes(lane))?;
            set(&mut sweep, chunk);
            let mut sound = Ok(());
            sweep.round_onto(&tally.backward, |sweep| {
                let mut seeds = Wide::ZERO;
                for (l, (lane, times)) in chunk.iter().zip(times).enumerate() {
                    let chance = sweep.weight(l);
                    sound = sound.clone().and_then(|()| possible(chance.weight));
                    log += times * (chance.weight.ln() + chance.log_scale + lane.log_scale);
                    seeds.0[l] = times / chance.weight;
                }
                seeds
            });
            sound?;
        }
        sweep.end_sums(&tally.backward);
        let sums = self.query_cells.iter();
        let sums = sums.map(|cell| (0..WIDE).map(|l| sweep.slope(*cell, l)).sum());
        let sums = sums.collect();
        bound.spare.put(sweep.into_buffers());
        Ok((log, sums))
    }
}
