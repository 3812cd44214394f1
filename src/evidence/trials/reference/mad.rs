//! Modified z scores from median and median absolute deviation.
//!
//! `M = 0.6745 (x − median) / MAD`, flagged above 3.5. Source: NIST/SEMATECH e-Handbook
//! 1.3.5.17 after Iglewicz & Hoaglin 1993. Where half the values are equal (MAD = 0), the mean
//! absolute deviation stands in: `M = (x − median) / (1.2533 · mean absolute deviation)`.

use serde::Serialize;

/// MAD / σ of a normal sample as the published rule prints it (the third quartile of the
/// standard normal, 0.674489750, rounded).
pub const MAD_SCALE: f64 = 0.6745;
/// `√(π/2)`: σ / mean absolute deviation of a normal sample.
pub const MEAN_SCALE: f64 = 1.253_314_137_315_500_1;
/// Scores beyond this are flagged. Source: Iglewicz & Hoaglin 1993.
pub const MAD_FLAG: f64 = 3.5;

/// What the spread was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MadBasis {
    /// Median absolute deviation.
    MedianDeviation,
    /// Mean absolute deviation, because half the values are equal.
    MeanDeviation,
    /// All values are equal: every score is 0.
    NoSpread,
}

/// Median, spread and scores of a sample.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mad {
    /// Median, in the unit of the sample.
    pub median: f64,
    /// Median absolute deviation from it.
    pub mad: f64,
    /// What the scores are scaled by.
    pub basis: MadBasis,
    /// Modified z score of each value, in the order given.
    pub scores: Vec<f64>,
    /// Positions of the values flagged.
    pub flagged: Vec<usize>,
}

/// Modified z scores; `None` for an empty sample.
pub fn mad(values: &[f64]) -> Option<Mad> {
    let centre = median(values)?;
    let distances: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    let spread = median(&distances)?;
    let mean = distances.iter().sum::<f64>() / distances.len() as f64;
    let (basis, unit) = if spread > 0.0 {
        (MadBasis::MedianDeviation, spread / MAD_SCALE)
    } else if mean > 0.0 {
        (MadBasis::MeanDeviation, mean * MEAN_SCALE)
    } else {
        (MadBasis::NoSpread, 1.0)
    };
    let scores: Vec<f64> = values.iter().map(|v| (v - centre) / unit).collect();
    let beyond = |&i: &usize| scores[i].abs() > MAD_FLAG;
    let flagged = (0..scores.len()).filter(beyond).collect();
    Some(Mad {
        median: centre,
        mad: spread,
        basis,
        scores,
        flagged,
    })
}

/// The middle value, or the mean of the middle two; `None` for an empty sample.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    match n {
        0 => None,
        _ if n % 2 == 1 => Some(sorted[n / 2]),
        _ => Some((sorted[n / 2 - 1] + sorted[n / 2]) / 2.0),
    }
}
