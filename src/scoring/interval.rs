//! Intervals for a share, and for a mean by resampling.
//!
//! Must not know what is counted.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{Beta, ContinuousCDF, Normal};

/// A lower and an upper end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Two-sided quantile of the normal distribution: 1.96 for 0.95.
fn z(confidence: f64) -> f64 {
    let unit = Normal::new(0.0, 1.0).expect("the unit normal");
    unit.inverse_cdf(0.5 + confidence / 2.0)
}

/// Wilson's score interval (Wilson 1927; Newcombe 1998, method 3) for `hits` of `n`, which need
/// not be whole: weighted counts are let in.
///
/// ```text
/// (2 n p + z^2 -+ z sqrt(z^2 + 4 n p q)) / (2 (n + z^2))
/// ```
#[must_use]
pub fn wilson(hits: f64, n: f64, confidence: f64) -> Interval {
    if n <= 0.0 {
        return Interval {
            low: 0.0,
            high: 1.0,
        };
    }
    let z = z(confidence);
    let p = hits / n;
    let middle = 2.0 * n * p + z * z;
    let half = z * (z * z + 4.0 * n * p * (1.0 - p)).max(0.0).sqrt();
    let below = 2.0 * (n + z * z);
    Interval {
        low: ((middle - half) / below).max(0.0),
        high: ((middle + half) / below).min(1.0),
    }
}

/// The exact interval of Clopper and Pearson (1934) for `hits` of `n`.
///
/// `low` is the `a/2` quantile of Beta(x, n - x + 1), `high` the `1 - a/2` quantile of
/// Beta(x + 1, n - x).
#[must_use]
pub fn clopper_pearson(hits: u64, n: u64, confidence: f64) -> Interval {
    #[expect(clippy::cast_precision_loss, reason = "counts of jobs")]
    let (x, n) = (hits.min(n) as f64, n as f64);
    let tail = (1.0 - confidence) / 2.0;
    let low = if x == 0.0 {
        0.0
    } else {
        beta_quantile(x, n - x + 1.0, tail)
    };
    let high = if x == n {
        1.0
    } else {
        beta_quantile(x + 1.0, n - x, 1.0 - tail)
    };
    Interval { low, high }
}

/// Quantile of a beta distribution by bisection on its distribution function.
#[must_use]
pub fn beta_quantile(a: f64, b: f64, share: f64) -> f64 {
    const STEPS: usize = 200;
    let beta = Beta::new(a, b).expect("positive shapes");
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..STEPS {
        let middle = f64::midpoint(low, high);
        if beta.cdf(middle) < share {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Percentile interval of the mean of `values` over `draws` samples with replacement (Efron
/// 1979), from a seed. `None` for no values.
#[must_use]
pub fn bootstrap_mean(
    values: &[f64],
    draws: usize,
    confidence: f64,
    seed: u64,
) -> Option<Interval> {
    if values.is_empty() {
        return None;
    }
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    #[expect(clippy::cast_precision_loss, reason = "counts of jobs")]
    let n = values.len() as f64;
    let mut means = Vec::with_capacity(draws);
    for _ in 0..draws {
        let sum: f64 = (0..values.len())
            .map(|_| values[random.random_range(0..values.len())])
            .sum();
        means.push(sum / n);
    }
    Some(percentiles(&mut means, confidence))
}

/// The middle part of some draws. The values are sorted.
#[must_use]
pub fn percentiles(draws: &mut [f64], confidence: f64) -> Interval {
    draws.sort_by(f64::total_cmp);
    let tail = (1.0 - confidence) / 2.0;
    Interval {
        low: quantile(draws, tail),
        high: quantile(draws, 1.0 - tail),
    }
}

/// A quantile of sorted values, straight lines between them.
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return f64::NAN;
    };
    #[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
    let at = share * last as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a position"
    )]
    let below = at.floor() as usize;
    let above = (below + 1).min(last);
    let part = at - at.floor();
    sorted[below] + part * (sorted[above] - sorted[below])
}
