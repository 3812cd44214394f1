//! Rated values nobody knows: a grid over the rated value, fitted to what was read.
//!
//! Siblings are compared with each other and with the catalogue's spread, never with an
//! invented specification. The grid covers every value at which some cylinder would be sound.
//! Must not know parts.

/// Points of the grid when cylinders share a rated value; their spacing stays below the
/// narrowest spread of the laws (about 7 % for currents).
const POINTS: usize = 11;
/// Points of the grid when a single reading is added up over the rated value.
const FINE: usize = 81;
/// Catalogue deviations the grid reaches to; beyond them lie 3 in 1000.
const REACH: f64 = 3.0;
/// How far beyond the readings the rated value may lie, as a factor. Own judgement.
const BEYOND: f64 = 1.4;

/// A grid over the logarithm of a rated value, with the catalogue's chance of each point.
#[derive(Debug, Clone, PartialEq)]
pub struct NominalGrid {
    /// Rated values, in the unit of the check.
    pub values: Vec<f64>,
    /// Chances, adding to one.
    pub weights: Vec<f64>,
}

/// Grid for a single reading: the whole catalogue.
#[must_use]
pub fn catalogue(middle: f64, log_sd: f64) -> NominalGrid {
    spread(
        middle,
        log_sd,
        middle.ln() - REACH * log_sd,
        middle.ln() + REACH * log_sd,
        FINE,
    )
}

/// Grid for siblings: where the catalogue and the readings both allow the rated value to be.
#[must_use]
pub fn siblings(middle: f64, log_sd: f64, readings: &[f64]) -> NominalGrid {
    let (mut lo, mut hi) = (middle.ln() - REACH * log_sd, middle.ln() + REACH * log_sd);
    let positive = readings.iter().copied().filter(|r| *r > 0.0);
    let least = positive.clone().fold(f64::INFINITY, f64::min);
    let most = positive.fold(0.0, f64::max);
    if most > 0.0 {
        // A reading of nought (an open plug) says nothing of the rated value.
        let from = (least.max(most / 3.0) / BEYOND).ln();
        let to = (most * BEYOND).ln();
        if from < hi && to > lo {
            lo = lo.max(from);
            hi = hi.min(to);
        }
    }
    spread(middle, log_sd, lo, hi, POINTS)
}

fn spread(middle: f64, log_sd: f64, lo: f64, hi: f64, points: usize) -> NominalGrid {
    #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
    let step = (hi - lo) / (points - 1) as f64;
    let mut values = Vec::with_capacity(points);
    let mut weights = Vec::with_capacity(points);
    for n in 0..points {
        #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
        let at = lo + n as f64 * step;
        let z = (at - middle.ln()) / log_sd;
        values.push(at.exp());
        weights.push((-z * z / 2.0).exp());
    }
    let total: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= total);
    NominalGrid { values, weights }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dead_plug_does_not_pull_the_rated_value_down() {
        let grid = siblings(12.0, 0.35, &[14.0, 14.2, 0.0, 13.8]);
        assert!(grid.values[0] > 8.0 && grid.values[POINTS - 1] < 22.0);
    }

    #[test]
    fn weights_add_to_one_and_follow_the_catalogue() {
        let grid = catalogue(12.0, 0.35);
        assert!((grid.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let best = (0..FINE)
            .max_by(|a, b| grid.weights[*a].total_cmp(&grid.weights[*b]))
            .unwrap();
        assert!((grid.values[best] - 12.0).abs() < 0.2);
    }
}
