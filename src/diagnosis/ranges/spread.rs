//! How far a figure may be off, from its strength.
//!
//! A chance `p` worth `n` jobs is as sure as one counted in `n` jobs: the logarithm of its weight
//! in its row has the variance (Anscombe 1956, Biometrika 43: 461, with half a case added)
//!
//! ```text
//! 1 / (n p + 1/2)              and with its complement      1 / (n p + 1/2) + 1 / (n (1 - p) + 1/2)
//! ```
//! so that the log-odds of a rare chance worth ten jobs is off by a factor of about four, never
//! by any factor at all. Must not know what a figure is about.

/// Half a case, so that a chance never counted is not held to be without bound.
const HALF: f64 = 0.5;
/// Log-odds per unit of logit at even chances: a shift seen at even chances `n` times has the
/// variance `4 / n`.
const EVEN: f64 = 4.0;

/// Spread of the log-weight of one chance of a row.
#[must_use]
pub(super) fn weight(p: f64, strength: f64) -> f64 {
    (1.0 / (strength * p + HALF)).sqrt()
}

/// Spread of the log-odds of one chance.
#[must_use]
pub(super) fn odds(p: f64, strength: f64) -> f64 {
    let count = |p: f64| 1.0 / (strength * p + HALF);
    (count(p) + count(1.0 - p)).sqrt()
}

/// Spread of a shift on a logistic scale of the given width, seen at its half-way point.
#[must_use]
pub(super) fn shift(width: f64, strength: f64) -> f64 {
    width * (EVEN / strength).sqrt()
}

/// Spread of the logarithm of a standard deviation found from so many numbers.
#[must_use]
pub(super) fn log_deviation(strength: f64) -> f64 {
    (1.0 / (2.0 * strength)).sqrt()
}

/// Spread of a mean found from so many numbers of a standard deviation.
#[must_use]
pub(super) fn mean(deviation: f64, strength: f64) -> f64 {
    deviation / strength.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected values: the formula by hand.
    #[test]
    fn a_thin_figure_is_less_sure_than_a_firm_one() {
        assert!((odds(0.5, 10.0).powi(2) - 2.0 / 5.5).abs() < 1e-12);
        assert!((odds(0.0, 10.0).powi(2) - (2.0 + 1.0 / 10.5)).abs() < 1e-12);
        assert!((weight(0.3, 10.0).powi(2) - 1.0 / 3.5).abs() < 1e-12);
        assert!(odds(0.2, 1000.0) < 0.1 && odds(0.2, 1000.0) < odds(0.2, 10.0));
    }
}
