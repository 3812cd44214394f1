//! Whether what is given so many chances of a hundred happens so often: by bins of the chance.
//!
//! Causes of one job hang together, so the error of a bin is reckoned over jobs: with `d_j` the
//! sum over a job's causes in the bin of (there or not) less chance,
//!
//! ```text
//! error = sqrt(sum_j d_j^2)        z = sum_j d_j / error
//! ```
//! Must not draw bins after seeing what happened.

use crate::learning::exact_sum::ExactSum;

/// Upper ends of the bins; finer below, where most chances are.
const ENDS: [f64; 13] = [
    0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0,
];

/// One bin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Chances from this on.
    pub from: f64,
    /// To below this.
    pub to: f64,
    /// Causes in it.
    pub causes: u64,
    /// Mean chance.
    pub said: f64,
    /// Share that was there.
    pub was: f64,
    /// Standard error of `was - said`, over jobs.
    pub error: f64,
    /// `(was - said) / error`; nought where there is no error to tell by.
    pub z: f64,
}

#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Sums {
    causes: u64,
    there: u64,
    said: ExactSum,
    square: ExactSum,
}

/// Bins over jobs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Reliability {
    sums: [Sums; ENDS.len()],
}

impl Reliability {
    /// Adds a job: chance and outcome of each cause.
    pub fn add(&mut self, pairs: &[(f64, bool)]) {
        let mut beyond = [0.0; ENDS.len()];
        for (p, there) in pairs {
            let at = ENDS
                .iter()
                .position(|end| p < end)
                .unwrap_or(ENDS.len() - 1);
            let sums = &mut self.sums[at];
            sums.causes += 1;
            sums.there += u64::from(*there);
            sums.said.add(*p);
            beyond[at] += f64::from(*there) - p;
        }
        for (sums, d) in self.sums.iter_mut().zip(beyond) {
            sums.square.add(d * d);
        }
    }

    /// The bins that hold anything.
    #[must_use]
    pub fn bins(&self) -> Vec<Bin> {
        let from = std::iter::once(0.0).chain(ENDS);
        let bins = self
            .sums
            .iter()
            .zip(from.zip(ENDS))
            .filter(|(s, _)| s.causes > 0);
        #[expect(clippy::cast_precision_loss, reason = "counts of causes")]
        let bin = |(sums, (from, to)): (&Sums, (f64, f64))| {
            let n = sums.causes as f64;
            let (said, was) = (sums.said.value() / n, sums.there as f64 / n);
            let error = sums.square.value().sqrt() / n;
            let z = if error > 0.0 {
                (was - said) / error
            } else {
                0.0
            };
            Bin {
                from,
                to,
                causes: sums.causes,
                said,
                was,
                error,
                z,
            }
        };
        bins.map(bin).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected values: by hand.
    #[test]
    fn errors_are_over_jobs_not_causes() {
        let mut found = Reliability::default();
        // Two causes of one job that always go together count once.
        found.add(&[(0.25, true), (0.25, true)]);
        found.add(&[(0.25, false), (0.25, false), (0.95, true)]);
        let bins = found.bins();
        assert_eq!((bins.len(), bins[0].causes, bins[1].causes), (2, 4, 1));
        let error = (1.5_f64.powi(2) + 0.5_f64.powi(2)).sqrt() / 4.0;
        assert!((bins[0].error - error).abs() < 1e-12);
        assert!((bins[0].z - 0.25 / error).abs() < 1e-12);
    }
}
