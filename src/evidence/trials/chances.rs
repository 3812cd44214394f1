//! From likelihoods over the pace to chances: who is slow, which trial is odd, how fast the set
//! is. Must not apply rules of thumb.

use super::grid::{CylinderLikelihood, Grid};
use super::readings::Observed;

/// Points of the pace with less than this share of the chance are left out of sums of products.
const NEGLIGIBLE: f64 = 1e-14;

/// What is known of the set once all likelihoods are in.
#[derive(Debug, Clone)]
pub(super) struct Beliefs {
    /// Log of the density of all readings.
    pub log_evidence: f64,
    /// `[point]`: chance of each pace.
    pub pace: Vec<f64>,
    /// `[cylinder]`: chance that the plug is slow.
    pub slow: Vec<f64>,
    /// `[cylinder]`: chance that it is sound and every trial had good contact.
    pub clean: Vec<f64>,
    /// Chances of the set: see [`Joint`].
    pub joint: Joint,
}

/// Chances of the set as a whole; the four sum to one.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Joint {
    /// No plug slow, no odd trial, pace as listed.
    pub in_line: f64,
    /// No plug slow, but an odd trial, pace as listed.
    pub odd_trial: f64,
    /// Some plugs slow, not all.
    pub some_slow: f64,
    /// All slow, or none slower than the others but the pace far beyond the catalogue.
    pub all_slow: f64,
}

/// Weighs all cylinders together. `beyond` is the log pace above which a set is slow as a whole.
pub(super) fn weigh(
    grid: &Grid,
    cylinders: &[CylinderLikelihood],
    pslow: f64,
    beyond: f64,
) -> Beliefs {
    let (log_evidence, pace) = pace_chances(grid, cylinders, pslow);
    let n = cylinders.len();
    let mut slow = vec![0.0; n];
    let mut clean = vec![0.0; n];
    let mut joint = Joint::default();
    for (g, &w) in pace.iter().enumerate().filter(|(_, w)| **w > NEGLIGIBLE) {
        let (mut none_slow, mut all_slow, mut all_clean) = (1.0, 1.0, 1.0);
        for (i, c) in cylinders.iter().enumerate() {
            let mixed = mix(c, g, pslow);
            let s = pslow * c.slow[g] / mixed;
            let k = (1.0 - pslow) * c.clean[g] / mixed;
            slow[i] += w * s;
            clean[i] += w * k;
            none_slow *= 1.0 - s;
            all_slow *= s;
            all_clean *= k;
        }
        // One plug alone has no others to be alike with.
        if n < 2 {
            all_slow = 0.0;
        }
        if grid.pace[g] > beyond {
            joint.all_slow += w * none_slow;
        } else {
            joint.in_line += w * all_clean;
            joint.odd_trial += w * (none_slow - all_clean).max(0.0);
        }
        joint.all_slow += w * all_slow;
        joint.some_slow += w * (1.0 - none_slow - all_slow).max(0.0);
    }
    Beliefs {
        log_evidence,
        pace,
        slow,
        clean,
        joint,
    }
}

/// Log evidence and the chance of each pace.
pub(super) fn pace_chances(
    grid: &Grid,
    cylinders: &[CylinderLikelihood],
    pslow: f64,
) -> (f64, Vec<f64>) {
    let logs: Vec<f64> = (0..grid.points())
        .map(|g| {
            let all: f64 = cylinders.iter().map(|c| mix(c, g, pslow).ln()).sum();
            grid.log_weight[g] + all
        })
        .collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - most).exp()).collect();
    let total: f64 = weights.iter().sum();
    let scale: f64 = cylinders.iter().map(|c| c.log_scale).sum();
    let pace = weights.iter().map(|w| w / total).collect();
    (most + total.ln() + scale, pace)
}

/// `(1 − p) L(sound) + p L(slow)` at one pace, kept above zero so that logs stay finite where
/// hundreds of trials rule a pace out.
pub(super) fn mix(c: &CylinderLikelihood, g: usize, pslow: f64) -> f64 {
    ((1.0 - pslow) * c.sound[g] + pslow * c.slow[g]).max(f64::MIN_POSITIVE)
}

/// Chance of each level `v` of one plug given everything, `[level]`.
pub(super) fn level_chances(
    grid: &Grid,
    c: &CylinderLikelihood,
    pace: &[f64],
    pslow: f64,
) -> Vec<f64> {
    let share = |chance: f64| -> Vec<f64> {
        pace.iter()
            .enumerate()
            .map(|(g, &w)| {
                if w > NEGLIGIBLE {
                    w * chance / mix(c, g, pslow)
                } else {
                    0.0
                }
            })
            .collect()
    };
    let mut levels = grid.onto_levels(&share(1.0 - pslow), &share(pslow));
    for (level, t) in levels.iter_mut().zip(&c.by_level) {
        *level *= t;
    }
    let total: f64 = levels.iter().sum();
    if total > 0.0 {
        for level in &mut levels {
            *level /= total;
        }
    }
    levels
}

/// Chance that a trial among those weighed is odd (bad contact, or anything at all).
pub(super) fn odd_within(grid: &Grid, levels: &[f64], observed: Observed) -> f64 {
    let splits = grid.splits(observed);
    levels
        .iter()
        .zip(&splits)
        .map(|(w, s)| w * s.odd() / s.total())
        .sum()
}

/// Chance that a trial *not* among those weighed (set aside) is odd, given all the others.
pub(super) fn odd_outside(grid: &Grid, levels: &[f64], observed: Observed) -> f64 {
    let splits = grid.splits(observed);
    let sum = |part: fn(&super::law::Split) -> f64| -> f64 {
        levels.iter().zip(&splits).map(|(w, s)| w * part(s)).sum()
    };
    let all = sum(|s| s.total());
    if all > 0.0 {
        sum(|s| s.odd()) / all
    } else {
        1.0
    }
}

/// The pace (log) below which a share `q` of the chance lies, by straight lines between points.
pub(super) fn pace_quantile(grid: &Grid, pace: &[f64], q: f64) -> f64 {
    let mut below = 0.0;
    for (g, &w) in pace.iter().enumerate() {
        if below + w >= q && w > 0.0 {
            let step = if g == 0 {
                0.0
            } else {
                grid.pace[g] - grid.pace[g - 1]
            };
            // The mass of a point is spread evenly over the step around it.
            return grid.pace[g] + step * ((q - below) / w - 0.5);
        }
        below += w;
    }
    grid.pace.last().copied().unwrap_or(0.0)
}
