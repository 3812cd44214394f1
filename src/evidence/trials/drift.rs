//! Does the time drift from trial to trial? A plain comparison of the same model with and without
//! a steady slope. Must not judge plugs.
//!
//! `log y = … + d · (position − mean position)`. Slowing (a battery that sags: 1–3 % a trial and
//! somewhat more) runs over the bench order where every trial has one, else over the repeats of
//! each plug; quickening (a plug still warm) always runs over the repeats. Each slope of the
//! lists below is equally likely; the chance of any drift beforehand is own judgement.

use rayon::prelude::*;
use serde::Serialize;

use super::chances::pace_chances;
use super::grid::{Grid, Shifted};
use super::readings::Ready;

/// Chance of a drift before any trial was taken. Own judgement.
const DRIFT_BEFORE: f64 = 0.10;
/// Log slopes a trial of a sagging battery. Common practice, no source: 1–3 %; the ends are own
/// judgement.
const SLOWING: [f64; 4] = [0.01, 0.02, 0.03, 0.05];
/// Log slopes a repeat of a plug still warm. Common practice, no source: 5–50 % in all; the
/// spread over repeats is own judgement.
const QUICKENING: [f64; 4] = [-0.03, -0.06, -0.12, -0.20];
/// A trend needs at least this many kept trials on some cylinder.
const LEAST_TRIALS: usize = 3;

/// Which way the times go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DriftKind {
    /// Each trial slower: the battery sags.
    Slowing,
    /// Each repeat faster: the plug is still warm.
    Quickening,
}

/// How likely a steady drift is, and how steep if there is one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Drift {
    /// Chance that the times drift at all.
    pub chance: f64,
    /// The likelier direction.
    pub kind: DriftKind,
    /// Mean change a trial in that direction, as a factor less one (0.02: 2 % longer a trial).
    pub per_trial: f64,
}

/// Compares no drift with all slopes; `None` if no cylinder has three kept trials.
///
/// `cylinders` holds the kept trials of each cylinder in the order taken; `still` is the log
/// evidence without drift.
pub(super) fn compare(
    grid: &Grid,
    cylinders: &[Vec<Ready>],
    pslow: f64,
    still: f64,
) -> Option<Drift> {
    if cylinders.iter().all(|c| c.len() < LEAST_TRIALS) {
        return None;
    }
    let ordered = cylinders.iter().flatten().all(|t| t.timing.order.is_some());
    let by_repeat = |_: &Ready, repeat: usize| repeat as f64;
    let by_order = |t: &Ready, repeat: usize| t.timing.order.map_or(repeat as f64, f64::from);
    let run = |slope: f64, ordered: bool| {
        let evidence = if ordered {
            sloped(grid, cylinders, pslow, slope, by_order)
        } else {
            sloped(grid, cylinders, pslow, slope, by_repeat)
        };
        (slope, (evidence - still).exp())
    };
    let runs = |slopes: &[f64], ordered: bool| -> Vec<(f64, f64)> {
        slopes.par_iter().map(|&d| run(d, ordered)).collect()
    };
    let (slowing, quickening) =
        rayon::join(|| runs(&SLOWING, ordered), || runs(&QUICKENING, false));
    let sum = |runs: &[(f64, f64)]| runs.iter().map(|r| r.1).sum::<f64>();
    let (up, down) = (sum(&slowing), sum(&quickening));
    let count = (slowing.len() + quickening.len()) as f64;
    let drifting = DRIFT_BEFORE * (up + down) / count;
    let chance = if drifting.is_finite() {
        drifting / (drifting + 1.0 - DRIFT_BEFORE)
    } else {
        1.0
    };
    let (kind, runs) = if up >= down {
        (DriftKind::Slowing, slowing)
    } else {
        (DriftKind::Quickening, quickening)
    };
    let total = sum(&runs);
    let mean: f64 = runs.iter().map(|(d, w)| d * w / total).sum();
    Some(Drift {
        chance,
        kind,
        per_trial: mean.exp_m1(),
    })
}

/// Log evidence with a slope taken out of every trial.
fn sloped(
    grid: &Grid,
    cylinders: &[Vec<Ready>],
    pslow: f64,
    slope: f64,
    position: impl Fn(&Ready, usize) -> f64,
) -> f64 {
    let positions: Vec<Vec<f64>> = cylinders
        .iter()
        .map(|c| c.iter().enumerate().map(|(k, t)| position(t, k)).collect())
        .collect();
    let count: usize = positions.iter().map(Vec::len).sum();
    let mean = positions.iter().flatten().sum::<f64>() / count.max(1) as f64;
    let likelihoods: Vec<_> = cylinders
        .iter()
        .zip(&positions)
        .map(|(trials, positions)| {
            let shifted = trials.iter().zip(positions).map(|(t, p)| Shifted {
                observed: t.corrected,
                shift: slope * (p - mean),
            });
            grid.cylinder(&shifted.collect::<Vec<_>>())
        })
        .collect();
    pace_chances(grid, &likelihoods, pslow).0
}
