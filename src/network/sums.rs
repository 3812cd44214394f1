//! Evidence that is a sum of terms, each one lane: a rated value nobody knows, point by point; a
//! count over the cylinders, power by power.
//!
//! ```text
//! P(evidence) = sum over terms t of P(evidence of term t)
//! ```
//! so that what would tie all cylinders together in one wide table falls apart lane by lane.
//! Terms may have signs. A guard lane, with the absolute inputs of all terms, bounds what
//! cancels: the error is at most its chance times [`GROWTH`] times the precision of a double.
//! Must not know what the terms stand for.

use super::compile::Program;
use super::kernel::{Answers, Bound, KernelError, Lane};

/// Roundings that may add up on the way through a program, in units of the last place.
const GROWTH: f64 = 64.0;

/// One set of evidence as a sum of lanes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Group {
    /// The terms; all carry the same `log_scale`.
    pub terms: Vec<Lane>,
    /// Lanes whose sum bounds the terms, where some have signs.
    pub guard: Vec<Lane>,
}

/// The answer to a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Summed {
    /// Log P(evidence), and the chances of every query if they were asked for.
    pub answers: Answers,
    /// Bound on the relative error of P(evidence) by cancelling; nought without a guard.
    pub error: f64,
}

impl From<Lane> for Group {
    fn from(lane: Lane) -> Self {
        Self {
            terms: vec![lane],
            guard: Vec::new(),
        }
    }
}

impl Program {
    /// P(evidence) of each group, and the chances of every query if `queries`.
    ///
    /// What has cancelled to less than its error counts as impossible.
    #[must_use]
    pub fn run_groups(
        &self,
        bound: &Bound,
        groups: &[Group],
        queries: bool,
    ) -> Vec<Result<Summed, KernelError>> {
        let lanes = groups
            .iter()
            .flat_map(|g| g.terms.iter().chain(&g.guard).cloned())
            .collect::<Vec<_>>();
        let mut raw = self.run_raw(bound, &lanes, queries).into_iter();
        groups
            .iter()
            .map(|group| {
                let terms = raw.by_ref().take(group.terms.len()).collect::<Vec<_>>();
                let guard = raw.by_ref().take(group.guard.len()).collect::<Vec<_>>();
                let terms = terms.into_iter().collect::<Result<Vec<_>, _>>()?;
                let guard = guard.into_iter().collect::<Result<Vec<_>, _>>()?;
                let shift = terms.iter().chain(&guard).map(|t| t.log_scale);
                let shift = shift.fold(f64::NEG_INFINITY, f64::max);
                // A single lane keeps its bits.
                let by = |log_scale: f64| {
                    if log_scale == shift {
                        1.0
                    } else {
                        (log_scale - shift).exp()
                    }
                };
                let weight: f64 = terms.iter().map(|t| t.weight * by(t.log_scale)).sum();
                let most: f64 = guard.iter().map(|g| g.weight * by(g.log_scale)).sum();
                let error = most * GROWTH * f64::EPSILON;
                if weight == 0.0 || weight <= error {
                    return Err(KernelError::Impossible);
                }
                if weight.is_nan() || weight < super::kernel::LEAST_WEIGHT {
                    return Err(KernelError::TooSmall(weight));
                }
                let cells = terms.first().map_or(0, |t| t.slopes.len());
                let slopes = (0..cells)
                    .map(|c| {
                        let parts = terms.iter().map(|t| t.slopes[c] * by(t.log_scale));
                        // What cancels to just below nought is nought.
                        (parts.sum::<f64>() / weight).max(0.0)
                    })
                    .collect::<Vec<_>>();
                Ok(Summed {
                    answers: Answers {
                        log_evidence: weight.ln() + shift,
                        chances: self.split(&slopes),
                    },
                    error: error / weight,
                })
            })
            .collect()
    }
}
