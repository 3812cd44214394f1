//! What the network takes from trials: the pace of the set as a shared hidden variable, with
//! every cylinder's likelihoods given each pace. Must not form chances of its own.

use super::chances::pace_chances;
use super::grid::{CylinderLikelihood, Grid, STEP};
use super::judge::{by_cylinder, check, likelihood};
use super::law::{Catalogue, Figures, never};
use super::readings::{Bench, Ready, Timing, TrialsError};

/// One value of the pace.
#[derive(Debug, Clone, PartialEq)]
pub struct PacePoint {
    /// Log of its weight before any reading, up to the scale of [`SharedPace::log_scale`].
    pub log_weight: f64,
    /// Pace in seconds at the reference volts.
    pub pace: f64,
    /// `[cylinder][state]` with state 0 sound, 1 slow and 2 never glowing: likelihood of that
    /// cylinder's kept trials, in the order of [`SharedPace::cylinders`].
    pub likelihood: Vec<[f64; 3]>,
}

/// Likelihoods of all cylinders with the pace as a shared hidden variable. Chances of plugs being
/// slow are *not* in it: they are the network's.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedPace {
    /// Cylinders with at least one trial, in order.
    pub cylinders: Vec<u8>,
    /// Points of the pace, rising.
    pub points: Vec<PacePoint>,
    /// To be added to the log of every likelihood of the whole set.
    pub log_scale: f64,
}

impl SharedPace {
    /// Log density of all kept readings given which plugs are slow (`[cylinder]`, in the order of
    /// [`cylinders`](Self::cylinders); missing ones count as sound). Cost: points × cylinders.
    pub fn log_likelihood(&self, slow: &[bool]) -> f64 {
        let logs: Vec<f64> = self
            .points
            .iter()
            .map(|p| {
                let factor = |(i, l): (usize, &[f64; 3])| {
                    let state = usize::from(slow.get(i).copied().unwrap_or(false));
                    l[state].max(f64::MIN_POSITIVE).ln()
                };
                p.log_weight + p.likelihood.iter().enumerate().map(factor).sum::<f64>()
            })
            .collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.log_scale + most + logs.iter().map(|l| (l - most).exp()).sum::<f64>().ln()
    }

    /// The same with about `points` values of the pace, for use as lanes.
    ///
    /// Neighbouring points are joined so that each group holds a like share of the chance under
    /// the figures' own chance of a slow plug, under "none slow" and under "all slow" together.
    /// Chances of single cylinders under `pslow` stay exact; those under another chance of a slow
    /// plug nearly so.
    pub fn coarse(&self, points: usize, pslow: f64) -> SharedPace {
        let points = points.max(1);
        if self.points.len() <= points {
            return self.clone();
        }
        let mixed = |p: &PacePoint, i: usize, chance: f64| {
            let [sound, slow, _] = p.likelihood[i];
            ((1.0 - chance) * sound + chance * slow).max(f64::MIN_POSITIVE)
        };
        let chances = |chance: f64| -> (Vec<f64>, f64) {
            let n = self.cylinders.len();
            let log = |p: &PacePoint| {
                p.log_weight + (0..n).map(|i| mixed(p, i, chance).ln()).sum::<f64>()
            };
            let logs: Vec<f64> = self.points.iter().map(log).collect();
            let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let raw: Vec<f64> = logs.iter().map(|l| (l - most).exp()).collect();
            let total: f64 = raw.iter().sum();
            (raw.iter().map(|w| w / total).collect(), most + total.ln())
        };
        let (own, log_total) = chances(pslow);
        let (none, all) = (chances(0.0).0, chances(1.0).0);
        let mut groups: Vec<Vec<usize>> = vec![Vec::new()];
        let mut seen = 0.0;
        for g in 0..self.points.len() {
            let share = (own[g] + none[g] + all[g]) / 3.0;
            let group = ((seen + share / 2.0) * points as f64) as usize;
            let due = group.min(points - 1) >= groups.len();
            if due && groups.last().is_some_and(|l| !l.is_empty()) {
                groups.push(Vec::new());
            }
            seen += share;
            if let Some(last) = groups.last_mut() {
                last.push(g);
            }
        }
        let joined = |group: &Vec<usize>| {
            let mass: f64 = group.iter().map(|&g| own[g]).sum();
            let mean = |of: &dyn Fn(usize) -> f64| -> f64 {
                if mass > 0.0 {
                    group.iter().map(|&g| own[g] / mass * of(g)).sum()
                } else {
                    group.iter().map(|&g| of(g)).sum::<f64>() / group.len() as f64
                }
            };
            // Each cylinder's likelihood is taken relative to its mixture, whose mean over the
            // group is then one: the group's weight is its chance.
            let relative = |i: usize, state: usize| {
                mean(&|g| self.points[g].likelihood[i][state] / mixed(&self.points[g], i, pslow))
            };
            PacePoint {
                log_weight: mass.max(f64::MIN_POSITIVE).ln(),
                pace: mean(&|g| self.points[g].pace.ln()).exp(),
                likelihood: (0..self.cylinders.len())
                    .map(|i| [relative(i, 0), relative(i, 1), relative(i, 2)])
                    .collect(),
            }
        };
        SharedPace {
            cylinders: self.cylinders.clone(),
            points: groups.iter().map(joined).collect(),
            log_scale: self.log_scale + log_total,
        }
    }
}

/// Likelihoods of the kept trials over the pace, for the network.
///
/// They hold for a set that does not drift from trial to trial; a drift found by
/// [`judge`](super::judge) is not taken out. Trials set aside are left out.
///
/// Points that hold less than 1e-30 of the chance whichever plugs are slow are left out.
///
/// # Errors
/// As [`judge`](super::judge).
pub fn shared_pace(
    timings: &[Timing],
    bench: &Bench,
    figures: &Figures,
    catalogue: &Catalogue,
) -> Result<SharedPace, Vec<TrialsError>> {
    let prepared = check(timings, bench, figures, catalogue)?;
    let grid = Grid::new(figures, catalogue, STEP);
    let kept: Vec<Ready> = prepared
        .trials
        .into_iter()
        .filter(|t| !t.timing.set_aside)
        .collect();
    let cylinders = by_cylinder(&kept);
    let likelihoods: Vec<CylinderLikelihood> = cylinders
        .iter()
        .map(|(_, list)| likelihood(&grid, list))
        .collect();
    // Any pattern of slow plugs gives a point no more than the larger state of each cylinder.
    let bound = |g: usize| -> f64 {
        let best = |c: &CylinderLikelihood| c.sound[g].max(c.slow[g]).max(f64::MIN_POSITIVE).ln();
        grid.log_weight[g] + likelihoods.iter().map(best).sum::<f64>()
    };
    let (log_evidence, _) = pace_chances(&grid, &likelihoods, figures.pslow);
    let log_scale: f64 = likelihoods.iter().map(|c| c.log_scale).sum();
    let least = log_evidence - log_scale + NEGLIGIBLE.ln();
    // A plug that never glows has no pace: its likelihood is the same at every point.
    let dead: Vec<f64> = cylinders
        .iter()
        .zip(&likelihoods)
        .map(|((_, list), c)| {
            let logs = list.iter().map(|t| never(figures, t.corrected).ln());
            (logs.sum::<f64>() - c.log_scale).exp()
        })
        .collect();
    let point = |g: usize| PacePoint {
        log_weight: grid.log_weight[g],
        pace: grid.pace[g].exp(),
        likelihood: likelihoods
            .iter()
            .zip(&dead)
            .map(|(c, d)| [c.sound[g], c.slow[g], *d])
            .collect(),
    };
    Ok(SharedPace {
        cylinders: cylinders.iter().map(|c| c.0).collect(),
        points: (0..grid.points())
            .filter(|&g| bound(g) > least)
            .map(point)
            .collect(),
        log_scale,
    })
}

/// Share of the chance below which a point is left out.
const NEGLIGIBLE: f64 = 1e-30;
