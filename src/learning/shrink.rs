//! Shares of several shops drawn towards each other, as far as they differ no more than chance.
//!
//! Must not know what is shared.

/// A beta distribution that shares come from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BetaPrior {
    /// Pseudo-count of hits.
    pub a: f64,
    /// Pseudo-count of misses.
    pub b: f64,
}

impl BetaPrior {
    /// Mean.
    #[must_use]
    pub fn mean(self) -> f64 {
        self.a / (self.a + self.b)
    }

    /// After `hits` of `n`: the pseudo-counts add.
    #[must_use]
    pub fn after(self, hits: f64, n: f64) -> Self {
        Self {
            a: self.a + hits,
            b: self.b + n - hits,
        }
    }

    /// Standard deviation.
    #[must_use]
    pub fn sd(self) -> f64 {
        let n = self.a + self.b;
        (self.a * self.b / (n * n * (n + 1.0))).sqrt()
    }
}

/// The beta distribution with the mean and the variance (`n - 1`) of some shares. `None` where
/// they differ too little, or too much, for any (Gelman et al., BDA3, section 5.1).
#[must_use]
pub fn beta_from_moments(shares: &[f64]) -> Option<BetaPrior> {
    #[expect(clippy::cast_precision_loss, reason = "counts of shops")]
    let n = shares.len() as f64;
    if n < 2.0 {
        return None;
    }
    let mean = shares.iter().sum::<f64>() / n;
    let variance = shares.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let total = mean * (1.0 - mean) / variance - 1.0;
    (variance > 0.0 && total > 0.0).then_some(BetaPrior {
        a: mean * total,
        b: (1.0 - mean) * total,
    })
}

/// Estimates drawn to their mean by the positive part of James and Stein's factor for a known
/// variance `sigma2`: `c = 1 - (k - 3) sigma2 / S` (Efron and Morris 1977). Gives the factor and
/// the estimates.
#[must_use]
pub fn james_stein(values: &[f64], sigma2: f64) -> (f64, Vec<f64>) {
    #[expect(clippy::cast_precision_loss, reason = "counts of shops")]
    let k = values.len() as f64;
    let mean = values.iter().sum::<f64>() / k;
    let spread: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    let factor = if spread > 0.0 {
        (1.0 - (k - 3.0) * sigma2 / spread).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let drawn = values.iter().map(|v| mean + factor * (v - mean)).collect();
    (factor, drawn)
}

/// Variance components of groups of equal size.
#[derive(Debug, Clone, PartialEq)]
pub struct Components {
    /// Mean of all.
    pub mean: f64,
    /// Variance between groups, never below nought.
    pub between: f64,
    /// Variance within groups.
    pub within: f64,
    /// By how much a group's deviation is kept: `between / (between + within / n)`.
    pub kept: f64,
    /// Deviations of the groups, drawn in.
    pub effects: Vec<f64>,
}

/// Variance components by mean squares, which for groups of equal size is restricted maximum
/// likelihood: `between = (MSB - MSW) / n`, not below nought.
///
/// `None` for fewer than two groups, or groups of fewer than two or of different sizes.
#[must_use]
pub fn components(groups: &[Vec<f64>]) -> Option<Components> {
    let size = groups.first()?.len();
    if groups.len() < 2 || size < 2 || groups.iter().any(|g| g.len() != size) {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "counts of shops and jobs")]
    let (k, n) = (groups.len() as f64, size as f64);
    let means = groups
        .iter()
        .map(|g| g.iter().sum::<f64>() / n)
        .collect::<Vec<_>>();
    let mean = means.iter().sum::<f64>() / k;
    let msb = n * means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (k - 1.0);
    let inside = groups.iter().zip(&means);
    let inside = inside.flat_map(|(g, m)| g.iter().map(move |x| (x - m).powi(2)));
    let within = inside.sum::<f64>() / (k * (n - 1.0));
    let between = ((msb - within) / n).max(0.0);
    let kept = between / (between + within / n);
    Some(Components {
        mean,
        between,
        within,
        kept,
        effects: means.iter().map(|m| kept * (m - mean)).collect(),
    })
}

/// Estimates of the same thing from several shops, put together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// Mean, weighted by inverse variances, as if the shops did not differ.
    pub mean: f64,
    /// Its variance.
    pub variance: f64,
    /// Weighted squares about it (Cochran's Q).
    pub q: f64,
    /// `sum w - sum w^2 / sum w`.
    pub c: f64,
    /// Number of estimates less one.
    pub freedom: f64,
}

impl Pooled {
    /// Variance between shops, `(Q - (k - 1)) / c`, not below nought (DerSimonian and Laird 1986).
    #[must_use]
    pub fn between(self) -> f64 {
        ((self.q - self.freedom) / self.c).max(0.0)
    }
}

/// Puts estimates with known variances together; `None` for fewer than two.
#[must_use]
pub fn pooled(estimates: &[(f64, f64)]) -> Option<Pooled> {
    if estimates.len() < 2 {
        return None;
    }
    let weights = estimates.iter().map(|(_, variance)| 1.0 / variance);
    let weights = weights.collect::<Vec<_>>();
    let total: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    let each = estimates.iter().zip(&weights);
    let mean = each.clone().map(|((x, _), w)| w * x).sum::<f64>() / total;
    #[expect(clippy::cast_precision_loss, reason = "a few shops")]
    let freedom = (estimates.len() - 1) as f64;
    Some(Pooled {
        mean,
        variance: 1.0 / total,
        q: each.map(|((x, _), w)| w * (x - mean).powi(2)).sum(),
        c: total - squares / total,
        freedom,
    })
}

/// Shares of shops, each drawn to what the others show. From three shops up; with fewer, or where
/// the shops differ no more than chance, all get the common share.
///
/// The variance between shops is what is left of the spread after that of counting (method of
/// moments, weights equal).
#[must_use]
pub fn shops(hits: &[f64], n: &[f64]) -> Vec<f64> {
    /// Fewer shops say nothing of how shops differ.
    const LEAST_SHOPS: usize = 3;
    let (all, total): (f64, f64) = (hits.iter().sum(), n.iter().sum());
    let common = if total > 0.0 { all / total } else { 0.0 };
    let rates = hits.iter().zip(n).filter(|(_, n)| **n > 0.0);
    let rates = rates.map(|(h, n)| (h / n, *n)).collect::<Vec<_>>();
    let counting = |n: f64| common * (1.0 - common) / n;
    #[expect(clippy::cast_precision_loss, reason = "counts of shops")]
    let k = rates.len() as f64;
    let spread: f64 = rates.iter().map(|(r, _)| (r - common).powi(2)).sum::<f64>() / (k - 1.0);
    let noise: f64 = rates.iter().map(|(_, n)| counting(*n)).sum::<f64>() / k;
    let between = spread - noise;
    if rates.len() < LEAST_SHOPS || between <= 0.0 {
        return vec![common; hits.len()];
    }
    let drawn = |(h, n): (&f64, &f64)| {
        if *n <= 0.0 {
            return common;
        }
        let kept = between / (between + counting(*n));
        common + kept * (h / n - common)
    };
    hits.iter().zip(n).map(drawn).collect()
}
