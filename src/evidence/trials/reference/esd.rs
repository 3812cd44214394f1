//! Rosner's generalised extreme studentised deviate test for several outliers.
//!
//! `R_i` is Grubbs' statistic after removing the `i−1` farthest values;
//! `λ_i = (n−i) t / √((n−i−1+t²)(n−i+1))` with `t` the `1 − α/(2(n−i+1))` point on `n−i−1`
//! degrees of freedom. The number of outliers is the *largest* `i` with `R_i > λ_i`, not the
//! first failure. Source: Rosner 1983, Technometrics 25:165; NIST/SEMATECH e-Handbook 1.3.5.17.3.

use serde::Serialize;

use super::grubbs::{LEVEL, farthest, mean_and_deviation, upper_t};

/// One step of the test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EsdStep {
    /// Position, in the sample as given, of the value looked at.
    pub index: usize,
    /// Its distance from the mean of what is left, in standard deviations.
    pub statistic: f64,
    /// Critical value at 5 %.
    pub critical: f64,
}

/// What the test says of a sample.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Esd {
    /// Steps in order of removal.
    pub steps: Vec<EsdStep>,
    /// Number of outliers; they are the first so many steps.
    pub outliers: usize,
}

/// The test for up to `most` outliers at 5 %; `None` for fewer than three values or no spread.
pub fn esd(values: &[f64], most: usize) -> Option<Esd> {
    let n = values.len();
    mean_and_deviation(values).filter(|_| n >= 3)?;
    let mut left: Vec<usize> = (0..n).collect();
    let mut steps = Vec::new();
    // Three values must remain for the t distribution to have a degree of freedom.
    for i in 1..=most.min(n - 2) {
        let kept: Vec<f64> = left.iter().map(|&k| values[k]).collect();
        let Some((mean, deviation)) = mean_and_deviation(&kept) else {
            break;
        };
        let (Some((place, statistic)), Some(critical)) =
            (farthest(&kept, mean, deviation), esd_critical(n, i, LEVEL))
        else {
            break;
        };
        steps.push(EsdStep {
            index: left.remove(place),
            statistic,
            critical,
        });
    }
    let outliers = steps
        .iter()
        .rposition(|s| s.statistic > s.critical)
        .map_or(0, |i| i + 1);
    Some(Esd { steps, outliers })
}

/// Critical value `λ_i` for step `i` (from 1) of a sample of `n`; `None` when too few remain.
pub fn esd_critical(n: usize, i: usize, alpha: f64) -> Option<f64> {
    if i == 0 || n < i + 2 {
        return None;
    }
    let rest = (n - i) as f64;
    let t = upper_t(alpha / (2.0 * (rest + 1.0)), rest - 1.0)?;
    Some(rest * t / ((rest - 1.0 + t * t) * (rest + 1.0)).sqrt())
}
