//! Grubbs' test for one outlier in a normal sample. Must not decide anything about plugs.
//!
//! `G = max |x − x̄| / s`. Critical value `(n−1)/√n · √(t² / (n−2+t²))` with `t` the upper
//! `α/n` (one-sided) or `α/2n` (two-sided) point of Student's t on `n−2` degrees of freedom.
//! Source: Grubbs 1969, Technometrics 11:1; NIST/SEMATECH e-Handbook 1.3.5.17.1.

use serde::Serialize;
use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};

/// One-sided: the suspect end was chosen beforehand. Two-sided: either end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sides {
    /// The end was chosen beforehand.
    One,
    /// Either end.
    Two,
}

/// What Grubbs' test says of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Grubbs {
    /// Mean of the sample, in its unit.
    pub mean: f64,
    /// Standard deviation (n − 1), in its unit.
    pub deviation: f64,
    /// Largest distance from the mean in standard deviations.
    pub statistic: f64,
    /// Position of the value that is farthest out.
    pub index: usize,
    /// Two-sided critical value at 5 %.
    pub critical: f64,
    /// Whether the statistic exceeds it.
    pub rejects: bool,
}

/// Level at which the references are printed. Source: the customary 5 %.
pub(super) const LEVEL: f64 = 0.05;

/// Grubbs' test; `None` for fewer than three values or no spread.
pub fn grubbs(values: &[f64]) -> Option<Grubbs> {
    let critical = grubbs_critical(values.len(), LEVEL, Sides::Two)?;
    let (mean, deviation) = mean_and_deviation(values)?;
    let (index, statistic) = farthest(values, mean, deviation)?;
    Some(Grubbs {
        mean,
        deviation,
        statistic,
        index,
        critical,
        rejects: statistic > critical,
    })
}

/// Critical value for `n` values at level `alpha`; `None` below three values or for a level
/// outside (0, 1).
pub fn grubbs_critical(n: usize, alpha: f64, sides: Sides) -> Option<f64> {
    if n < 3 || !(0.0..1.0).contains(&alpha) || alpha == 0.0 {
        return None;
    }
    let count = n as f64;
    let tail = match sides {
        Sides::One => alpha / count,
        Sides::Two => alpha / (2.0 * count),
    };
    let t2 = upper_t(tail, count - 2.0)?.powi(2);
    Some((count - 1.0) / count.sqrt() * (t2 / (count - 2.0 + t2)).sqrt())
}

/// One-sided chance bound (Bonferroni) of a statistic `g` among `n` values:
/// `n · P(t_{n−2} > t(g))`, at most 1.
pub fn grubbs_p_one_sided(g: f64, n: usize) -> Option<f64> {
    if n < 3 {
        return None;
    }
    let count = n as f64;
    let bound = largest_possible_z(n);
    if g >= bound {
        return Some(0.0);
    }
    let t = (count * (count - 2.0) * g * g / ((count - 1.0).powi(2) - count * g * g)).sqrt();
    let law = StudentsT::new(0.0, 1.0, count - 2.0).ok()?;
    Some((count * law.sf(t)).min(1.0))
}

/// No value of a sample of `n` can lie farther out than `(n−1)/√n` standard deviations, so
/// "three standard deviations" can never fire for ten values or fewer.
pub fn largest_possible_z(n: usize) -> f64 {
    let count = n as f64;
    (count - 1.0) / count.sqrt()
}

/// Mean and standard deviation in two passes; `None` without spread.
pub(super) fn mean_and_deviation(values: &[f64]) -> Option<(f64, f64)> {
    if values.len() < 2 {
        return None;
    }
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let square: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    let deviation = (square / (count - 1.0)).sqrt();
    (deviation > 0.0 && deviation.is_finite()).then_some((mean, deviation))
}

/// Position and distance, in deviations, of the value farthest from the mean (first of equals).
pub(super) fn farthest(values: &[f64], mean: f64, deviation: f64) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for (i, v) in values.iter().enumerate() {
        let distance = (v - mean).abs() / deviation;
        if best.is_none_or(|(_, d)| distance > d) {
            best = Some((i, distance));
        }
    }
    best
}

/// Upper point of Student's t: `P(t > x) = tail`, polished by Newton steps.
pub(super) fn upper_t(tail: f64, freedom: f64) -> Option<f64> {
    let law = StudentsT::new(0.0, 1.0, freedom).ok()?;
    let mut t = -law.inverse_cdf(tail);
    // The library's inverse is good to about nine digits; two steps reach rounding.
    for _ in 0..4 {
        let density = law.pdf(t);
        if density <= 0.0 {
            break;
        }
        t += (law.sf(t) - tail) / density;
    }
    t.is_finite().then_some(t)
}
