//! Likelihoods of every cylinder over a grid of the shared pace. Must not form verdicts.
//!
//! Given the log pace `m`, cylinders are independent: `L_i(state | m) = ∫ p(v − m | state) ·
//! ∏_j f(y_ij − v) dv`, with `v` the log time of the plug. Both `m` and `v` live on one grid of
//! equal step, so the integral is a sum over a kernel. All laws are smooth on the scale of the
//! step, so the sums converge faster than any power of it.

use super::law::{Catalogue, Figures, UNLISTED_SECONDS, UNLISTED_SPREAD, delayed, normal, trial};
use super::readings::Observed;

/// Step of the grid in log time: a fifth of the spread of repeats in the default figures.
pub(super) const STEP: f64 = 0.01;
/// Where normal tails are cut, in spreads.
const TAIL: f64 = 8.0;
/// Where exponential tails are cut, in means.
const EXPONENTIAL_TAIL: f64 = 16.0;
/// Where the prior of an unlisted set is cut, in spreads.
const UNLISTED_TAIL: f64 = 3.5;

/// Different readings whose logs are kept at a time.
const MOST_MET: usize = 64;

/// An observation to be judged, with a log shift that a drift model may take out of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shifted {
    pub observed: Observed,
    pub shift: f64,
}

/// Chances of `u = v − m` on the grid, starting at step `first`.
#[derive(Debug, Clone)]
struct Kernel {
    first: i64,
    weights: Vec<f64>,
}

/// The grid with all that does not depend on readings.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    figures: Figures,
    /// Log pace of each point.
    pub pace: Vec<f64>,
    /// Log weight of each point; weights sum to one.
    pub log_weight: Vec<f64>,
    /// Share of each listed nominal in the weight of each point, `[point][nominal]`.
    pub nominal_share: Vec<Vec<f64>>,
    sound: Kernel,
    slow: Kernel,
    /// Steps from the first pace point to the first level `v`, and number of levels.
    level_first: i64,
    levels: usize,
    step: f64,
}

/// One cylinder's likelihoods over the grid, all to be multiplied by `exp(log_scale)`.
#[derive(Debug, Clone)]
pub(super) struct CylinderLikelihood {
    pub log_scale: f64,
    /// `[point]`, plug sound.
    pub sound: Vec<f64>,
    /// `[point]`, plug slow.
    pub slow: Vec<f64>,
    /// `[point]`, plug sound and every trial with good contact.
    pub clean: Vec<f64>,
    /// `[level]`: likelihood of the trials given the plug's own log time.
    pub by_level: Vec<f64>,
}

impl Grid {
    pub(super) fn new(figures: &Figures, catalogue: &Catalogue, step: f64) -> Grid {
        let f = *figures;
        let centre = UNLISTED_SECONDS.ln();
        let mut low = centre - UNLISTED_TAIL * UNLISTED_SPREAD;
        let mut high = centre + UNLISTED_TAIL * UNLISTED_SPREAD;
        for &(seconds, _) in &catalogue.nominals {
            low = low.min(seconds.ln() - TAIL * f.kap);
            high = high.max(seconds.ln() + TAIL * f.kap);
        }
        let points = ((high - low) / step).ceil() as usize + 1;
        let pace: Vec<f64> = (0..points).map(|i| low + i as f64 * step).collect();
        let total: f64 = catalogue.nominals.iter().map(|n| n.1).sum();
        let mut weight = Vec::with_capacity(points);
        let mut nominal_share = Vec::with_capacity(points);
        for &m in &pace {
            let listed: Vec<f64> = catalogue
                .nominals
                .iter()
                .map(|&(s, w)| (1.0 - f.unlisted) * w / total * normal(m - s.ln(), f.kap))
                .collect();
            let unlisted = f.unlisted * normal(m - centre, UNLISTED_SPREAD);
            let sum = listed.iter().sum::<f64>() + unlisted;
            weight.push(sum);
            nominal_share.push(
                listed
                    .iter()
                    .map(|l| if sum > 0.0 { l / sum } else { 0.0 })
                    .collect(),
            );
        }
        let all: f64 = weight.iter().sum();
        let sound = kernel(step, -TAIL * f.tau, TAIL * f.tau, |u| normal(u, f.tau));
        let slow = kernel(
            step,
            f.dmin - TAIL * f.tau,
            f.dmin + EXPONENTIAL_TAIL * f.dmean + TAIL * f.tau,
            |u| delayed(u - f.dmin, f.tau, f.dmean),
        );
        let level_first = sound.first.min(slow.first);
        let last = sound.last().max(slow.last()) + points as i64 - 1;
        Grid {
            figures: f,
            pace,
            log_weight: weight.iter().map(|w| (w / all).ln()).collect(),
            nominal_share,
            sound,
            slow,
            level_first,
            levels: (last - level_first + 1) as usize,
            step,
        }
    }

    pub(super) fn points(&self) -> usize {
        self.pace.len()
    }

    /// Log time of a plug at `level`.
    pub(super) fn level(&self, level: usize) -> f64 {
        self.pace[0] + (self.level_first + level as i64) as f64 * self.step
    }

    /// Likelihoods of one cylinder's trials.
    pub(super) fn cylinder(&self, trials: &[Shifted]) -> CylinderLikelihood {
        let mut log_total = vec![0.0; self.levels];
        let mut log_clean = vec![0.0; self.levels];
        // A reading that comes again says the same again.
        let mut met: Vec<(Shifted, Vec<(f64, f64)>)> = Vec::new();
        for t in trials {
            let known = met.iter().position(|(known, _)| known == t);
            let at = known.unwrap_or_else(|| {
                if met.len() >= MOST_MET {
                    met.clear();
                }
                let logs = (0..self.levels).map(|k| {
                    let split = trial(&self.figures, t.observed, t.shift, self.level(k));
                    (split.total().ln(), split.clean.ln())
                });
                met.push((*t, logs.collect()));
                met.len() - 1
            });
            for (k, (total, clean)) in met[at].1.iter().enumerate() {
                log_total[k] += total;
                log_clean[k] += clean;
            }
        }
        let log_scale = log_total.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let scaled =
            |logs: &[f64]| -> Vec<f64> { logs.iter().map(|l| (l - log_scale).exp()).collect() };
        let by_level = scaled(&log_total);
        let clean_by_level = scaled(&log_clean);
        CylinderLikelihood {
            log_scale,
            sound: self.against(&self.sound, &by_level),
            slow: self.against(&self.slow, &by_level),
            clean: self.against(&self.sound, &clean_by_level),
            by_level,
        }
    }

    /// For every pace point, the kernel's mean of `by_level`.
    fn against(&self, kernel: &Kernel, by_level: &[f64]) -> Vec<f64> {
        let offset = (kernel.first - self.level_first) as usize;
        (0..self.points())
            .map(|g| {
                let window = &by_level[g + offset..];
                kernel.weights.iter().zip(window).map(|(k, t)| k * t).sum()
            })
            .collect()
    }

    /// Spreads weights over pace points, one set for a sound and one for a slow plug, onto levels.
    pub(super) fn onto_levels(&self, sound: &[f64], slow: &[f64]) -> Vec<f64> {
        let mut levels = vec![0.0; self.levels];
        for (kernel, weights) in [(&self.sound, sound), (&self.slow, slow)] {
            let offset = (kernel.first - self.level_first) as usize;
            for (g, &w) in weights.iter().enumerate() {
                if w > 0.0 {
                    for (k, level) in kernel.weights.iter().zip(&mut levels[g + offset..]) {
                        *level += w * k;
                    }
                }
            }
        }
        levels
    }

    /// Split of a trial at every level, `[level]`.
    pub(super) fn splits(&self, observed: Observed) -> Vec<super::law::Split> {
        (0..self.levels)
            .map(|k| trial(&self.figures, observed, 0.0, self.level(k)))
            .collect()
    }
}

impl Kernel {
    fn last(&self) -> i64 {
        self.first + self.weights.len() as i64 - 1
    }
}

/// A density on the grid from `low` to `high`, summing to one.
fn kernel(step: f64, low: f64, high: f64, density: impl Fn(f64) -> f64) -> Kernel {
    let first = (low / step).floor() as i64;
    let last = (high / step).ceil() as i64;
    let mut weights: Vec<f64> = (first..=last).map(|k| density(k as f64 * step)).collect();
    let total: f64 = weights.iter().sum();
    for w in &mut weights {
        *w /= total;
    }
    Kernel { first, weights }
}
