//! Answers to many jobs in one piece of memory: an answer of its own for each would cost a small
//! network more than its reckoning. Must not reckon anything but the division by the weight.

use crate::network::kernel::{Answers, KernelError};

/// What a batch answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// For each job log P(evidence), or why there is none.
    log_evidence: Vec<Result<f64, KernelError>>,
    /// `[job][query][joint state]`
    chances: Vec<f64>,
    /// Where each query of a job begins, and where the last ends.
    bounds: Vec<usize>,
}

/// The answer to one job of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer<'a> {
    /// Natural logarithm of P(evidence).
    pub log_evidence: f64,
    chances: &'a [f64],
    bounds: &'a [usize],
}

impl Answered {
    /// From sums over the lanes of each job: weights and what has to be added to their logarithms,
    /// and derivatives by the query cells, which become the chances.
    pub(super) fn new(
        weights: &[f64],
        log_scales: &[f64],
        mut slopes: Vec<f64>,
        bounds: Vec<usize>,
    ) -> Self {
        let cells = bounds.last().copied().unwrap_or(0);
        let mut log_evidence = Vec::with_capacity(weights.len());
        for (job, (weight, log_scale)) in weights.iter().zip(log_scales).enumerate() {
            log_evidence.push(if *weight == 0.0 {
                Err(KernelError::Impossible)
            } else if !weight.is_finite() || *weight < f64::MIN_POSITIVE {
                Err(KernelError::TooSmall(*weight))
            } else {
                for slope in &mut slopes[job * cells..(job + 1) * cells] {
                    // What cancels to just below nought is nought.
                    *slope = (*slope / weight).max(0.0);
                }
                Ok(weight.ln() + log_scale)
            });
        }
        Self {
            log_evidence,
            chances: slopes,
            bounds,
        }
    }

    /// The answers one after another.
    ///
    /// # Errors
    /// Each job whose observations cannot be.
    pub fn iter(&self) -> impl Iterator<Item = Result<Answer<'_>, KernelError>> {
        let cells = self.bounds.last().copied().unwrap_or(0);
        self.log_evidence.iter().enumerate().map(move |(job, log)| {
            let log_evidence = log.clone()?;
            Ok(Answer {
                log_evidence,
                chances: &self.chances[job * cells..(job + 1) * cells],
                bounds: &self.bounds,
            })
        })
    }
}

impl<'a> Answer<'a> {
    /// Chances of the joint states of each query, adding to one.
    pub fn chances(&self) -> impl Iterator<Item = &'a [f64]> + use<'a> {
        let (chances, bounds) = (self.chances, self.bounds);
        bounds.windows(2).map(move |b| &chances[b[0]..b[1]])
    }

    /// The same, standing for itself.
    #[must_use]
    pub fn to_owned(&self) -> Answers {
        Answers {
            log_evidence: self.log_evidence,
            chances: self.chances().map(<[f64]>::to_vec).collect(),
        }
    }
}
