//! Measures of chances against what was true.
//!
//! Must not know where chances come from.

/// Chances are held this far from nought and one before a logarithm is taken.
pub const EDGE: f64 = 1e-6;

/// Mean of `(p - y)^2` (Brier 1950).
#[must_use]
pub fn brier(pairs: &[(f64, bool)]) -> f64 {
    mean(pairs.iter().map(|(p, y)| (p - f64::from(*y)).powi(2)))
}

/// Mean of `-ln p(what happened)`, nats.
#[must_use]
pub fn log_loss(pairs: &[(f64, bool)]) -> f64 {
    mean(pairs.iter().map(|(p, y)| -log_chance(*p, *y)))
}

/// Natural logarithm of the chance given to what happened, held at the edge.
#[must_use]
pub fn log_chance(p: f64, y: bool) -> f64 {
    let p = p.clamp(EDGE, 1.0 - EDGE);
    if y { p.ln() } else { (1.0 - p).ln() }
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "counts")]
    let n = values.len() as f64;
    values.sum::<f64>() / n
}

/// Forecasts of one value: weight, forecast, share that came true.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Weight, or number of forecasts.
    pub weight: f64,
    /// The forecast chance.
    pub forecast: f64,
    /// Share of them that came true.
    pub observed: f64,
}

/// Murphy's (1973) parts of the Brier score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decomposition {
    /// Mean squared distance of forecast and observed share; the less the better.
    pub reliability: f64,
    /// Mean squared distance of observed shares from the mean; the more the better.
    pub resolution: f64,
    /// `o (1 - o)` of the overall share.
    pub uncertainty: f64,
}

impl Decomposition {
    /// `reliability - resolution + uncertainty`: the Brier score where all forecasts of a bin
    /// are equal.
    #[must_use]
    pub fn brier(&self) -> f64 {
        self.reliability - self.resolution + self.uncertainty
    }

    /// Share of the uncertainty that is explained.
    #[must_use]
    pub fn skill(&self) -> f64 {
        1.0 - self.brier() / self.uncertainty
    }
}

/// Splits the Brier score of binned forecasts.
#[must_use]
pub fn decompose(bins: &[Forecast]) -> Decomposition {
    let total: f64 = bins.iter().map(|b| b.weight).sum();
    let over = |value: &dyn Fn(&Forecast) -> f64| {
        bins.iter().map(|b| b.weight * value(b)).sum::<f64>() / total
    };
    let all = over(&|b| b.observed);
    Decomposition {
        reliability: over(&|b| (b.forecast - b.observed).powi(2)),
        resolution: over(&|b| (b.observed - all).powi(2)),
        uncertainty: all * (1.0 - all),
    }
}

/// Place of each wanted entry when all are ordered by chance; equals share the better place.
#[must_use]
pub fn ranks(chances: &[f64], wanted: &[usize]) -> Vec<usize> {
    let place = |at: &usize| 1 + chances.iter().filter(|c| **c > chances[*at]).count();
    wanted.iter().map(place).collect()
}
