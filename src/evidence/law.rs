//! Laws of numbers: densities and masses, never thresholds.
//!
//! Each law carries a small wide share, so that one wild reading cannot prove anything.
//! Must not know checks or parts.

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

use crate::knowledge::Law;

/// Least spread a law may have, against figures of nought.
const LEAST_SPREAD: f64 = 1e-9;

/// A law of a number with its wide share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NumberLaw {
    /// Shape.
    pub law: Law,
    /// Centre, in the unit of the reading.
    pub mean: f64,
    /// Spread: of the number, or of its logarithm.
    pub sd: f64,
    /// Share of the wide part.
    pub wide_share: f64,
    /// How much wider it is.
    pub wide_factor: f64,
}

impl NumberLaw {
    fn parts(&self) -> [(f64, f64); 2] {
        [
            (1.0 - self.wide_share, self.sd),
            (self.wide_share, self.sd * self.wide_factor),
        ]
    }

    fn place(&self, x: f64) -> Option<f64> {
        match self.law {
            Law::Normal => Some(x),
            Law::LogNormal => (x > 0.0).then(|| x.ln()),
        }
    }

    fn centre(&self) -> f64 {
        match self.law {
            Law::Normal => self.mean,
            Law::LogNormal => self.mean.max(f64::MIN_POSITIVE).ln(),
        }
    }

    /// Density at `x`, per unit of the reading (normal) or of its logarithm (log-normal):
    /// the same measure for all states, which is all a likelihood needs.
    #[must_use]
    pub fn density(&self, x: f64) -> f64 {
        let Some(place) = self.place(x) else {
            return 0.0;
        };
        self.parts()
            .iter()
            .map(|(share, sd)| share * normal(self.centre(), *sd).pdf(place))
            .sum()
    }

    /// Chance of a number at most `x`.
    #[must_use]
    pub fn below(&self, x: f64) -> f64 {
        let Some(place) = self.place(x) else {
            return 0.0;
        };
        self.parts()
            .iter()
            .map(|(share, sd)| share * normal(self.centre(), *sd).cdf(place))
            .sum()
    }
}

fn normal(mean: f64, sd: f64) -> Normal {
    Normal::new(mean, sd.max(LEAST_SPREAD)).expect("a finite centre and a positive spread")
}

/// Likelihood of a number of seconds for each state of a timed sign.
///
/// State `i` covers `bounds[i-1]..bounds[i]`; within it the true time is spread evenly over its
/// logarithm, and what the watch shows about the true time has standard deviation `log_sd` of
/// the logarithm. With `F` the normal distribution function:
///
/// ```text
/// L(y | state) = (F((ln y - ln lo) / sd) - F((ln y - ln hi) / sd)) / (ln hi - ln lo)
/// ```
#[must_use]
pub fn seconds_likelihood(y: f64, bounds: &[f64], states: usize, log_sd: f64) -> Vec<f64> {
    let unit = normal(0.0, 1.0);
    edges(bounds, states)
        .into_iter()
        .map(|(lo, hi)| {
            let upper = unit.cdf((y.ln() - lo.ln()) / log_sd);
            let lower = unit.cdf((y.ln() - hi.ln()) / log_sd);
            (upper - lower).max(0.0) / (hi.ln() - lo.ln())
        })
        .collect()
}

/// Chance that a timed sign shows more than `y` seconds, for each state.
#[must_use]
pub fn seconds_above(y: f64, bounds: &[f64], states: usize, log_sd: f64) -> Vec<f64> {
    // The same even spread, added up on a fine grid of the logarithm.
    const POINTS: u32 = 64;
    let unit = normal(0.0, 1.0);
    edges(bounds, states)
        .into_iter()
        .map(|(lo, hi)| {
            let step = (hi.ln() - lo.ln()) / f64::from(POINTS);
            (0..POINTS)
                .map(|n| {
                    let x = lo.ln() + (f64::from(n) + 0.5) * step;
                    1.0 - unit.cdf((y.ln() - x) / log_sd)
                })
                .sum::<f64>()
                / f64::from(POINTS)
        })
        .collect()
}

/// Edges of each state: the first reaches down to a third of its bound, one beyond the last
/// bound up to four times it.
fn edges(bounds: &[f64], states: usize) -> Vec<(f64, f64)> {
    const FIRST: f64 = 3.0;
    const LAST: f64 = 4.0;
    (0..states)
        .map(|s| {
            let hi = bounds.get(s).copied();
            let lo = match s {
                0 => hi.unwrap_or(1.0) / FIRST,
                _ => bounds
                    .get(s - 1)
                    .copied()
                    .unwrap_or_else(|| bounds[bounds.len() - 1]),
            };
            (lo, hi.unwrap_or(lo * LAST))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_likelihood_of_seconds_adds_to_one_over_what_a_watch_may_show() {
        // Integral over ln y of the likelihood of each state is one, by definition of a density.
        let bounds = [3.0, 8.0, 20.0];
        let step = 0.01;
        for state in 0..4 {
            let total: f64 = (-500..900)
                .map(|n| {
                    seconds_likelihood((f64::from(n) * step).exp(), &bounds, 4, 0.3)[state] * step
                })
                .sum();
            assert!((total - 1.0).abs() < 1e-6, "{state}: {total}");
        }
    }

    #[test]
    fn above_and_density_agree() {
        let bounds = [3.0, 8.0, 20.0];
        let above = seconds_above(10.0, &bounds, 4, 0.3);
        let step = 0.001;
        for (state, above) in above.into_iter().enumerate() {
            let tail: f64 = (0..4000)
                .map(|n| {
                    let y = (10.0_f64.ln() + (f64::from(n) + 0.5) * step).exp();
                    seconds_likelihood(y, &bounds, 4, 0.3)[state] * step
                })
                .sum();
            assert!((above - tail).abs() < 1e-3, "{state}: {above} {tail}");
        }
    }

    #[test]
    fn one_wild_number_cannot_prove_more_than_the_wide_share_lets_it() {
        let law = |mean| NumberLaw {
            law: Law::Normal,
            mean,
            sd: 0.1,
            wide_share: 0.02,
            wide_factor: 6.0,
        };
        let ratio = law(0.0).density(3.0) / law(1.0).density(3.0);
        let bare = (-(30.0_f64.powi(2) - 20.0_f64.powi(2)) / 2.0).exp();
        assert!(ratio > bare * 1e60);
    }
}
