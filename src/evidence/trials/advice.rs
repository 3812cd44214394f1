//! What to do next after a set of trials. Facts only; the wording is elsewhere. Must not compute
//! likelihoods.

use serde::Serialize;

use super::drift::{Drift, DriftKind};
use super::readings::{Observed, Ready};
use super::reference::median;
use super::verdict::{CylinderChances, Enough, Verdict, enough};

/// What to do next. Facts only; the wording is elsewhere. Times in seconds, ratios to the median
/// of the other cylinders.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Advice {
    /// One trial is no judgement: time this cylinder twice more.
    TwoMoreTrials {
        /// Cylinder.
        cylinder: u8,
    },
    /// Two trials disagree: time it a third time, don't guess.
    ThirdTrial {
        /// Cylinder.
        cylinder: u8,
    },
    /// One trial is off its own cylinder's others: clean and re-clip, repeat.
    CheckContact {
        /// Cylinder.
        cylinder: u8,
        /// Trial on it.
        trial: u32,
        /// Seconds longer than the median of its own other trials.
        longer: f64,
    },
    /// A trial under 0.6 of its own others: measure the current, let the plug cool.
    CheckCurrent {
        /// Cylinder.
        cylinder: u8,
        /// Trial on it.
        trial: u32,
        /// Ratio to the median of its own other trials.
        ratio: f64,
    },
    /// The cylinder is slow in every trial: check the plug and its lead.
    CheckPlugAndLead {
        /// Cylinder.
        cylinder: u8,
        /// Ratio to the other cylinders.
        ratio: f64,
    },
    /// It glowed in no trial: a dead plug or no feed, which these verdicts do not know.
    NeverGlowed {
        /// Cylinder.
        cylinder: u8,
        /// Longest time it was watched.
        watched: f64,
    },
    /// Between in line and slow: swap the clips with a neighbour and repeat.
    SwapClipsAndRepeat {
        /// Cylinder.
        cylinder: u8,
        /// Ratio to the other cylinders.
        ratio: f64,
    },
    /// All alike but slow: check supply volts, kind of plug, and method.
    CheckSupplyAndPlugKind,
    /// Times grow from trial to trial: charge or support the battery.
    SupportBattery {
        /// Growth a trial (0.02: 2 %).
        per_trial: f64,
    },
    /// Times shrink from trial to trial: let the plugs cool.
    LetCool {
        /// Change a trial (below zero).
        per_trial: f64,
    },
    /// Note the volts at the plug with every trial.
    NoteSupplyVolts {
        /// Trials without.
        missing: usize,
    },
    /// Rest two minutes between trials on one plug.
    RestLonger {
        /// Cylinder.
        cylinder: u8,
        /// Trial taken too soon.
        trial: u32,
    },
}

/// From here to [`SLOW_RATIO`] a plug is neither in line nor slow: common practice, no source.
const GREY_RATIO: f64 = 1.25;
/// Common practice, no source: a slow plug takes 1.4 times the others.
const SLOW_RATIO: f64 = 1.4;
/// Common practice, no source: below 0.6 of its own others a trial is too fast to be true.
const FAST_RATIO: f64 = 0.6;
/// A chance from which a finding is acted upon with one or two trials. Own judgement.
const WORTH_A_LOOK: f64 = 0.2;
/// A chance from which a trial is marked odd. Own judgement.
const MORE_LIKELY_THAN_NOT: f64 = 0.5;

/// A cylinder as the advice sees it.
pub(super) struct Judged<'a> {
    pub cylinder: u8,
    pub verdict: Verdict,
    pub chances: CylinderChances,
    pub kept: &'a [Ready],
    /// Chance that each kept trial is odd.
    pub odd: &'a [f64],
    /// Median of its kept trials, s.
    pub median: Option<f64>,
}

/// What to do next, cylinder by cylinder, then for the set.
pub(super) fn advise(set: Verdict, drift: Option<&Drift>, cylinders: &[Judged<'_>]) -> Vec<Advice> {
    let mut advice = Vec::new();
    for (i, c) in cylinders.iter().enumerate() {
        let others: Vec<f64> = cylinders
            .iter()
            .enumerate()
            .filter(|&(k, _)| k != i)
            .filter_map(|(_, o)| o.median)
            .collect();
        let ratio = c
            .median
            .zip(median(&others))
            .map(|(own, others)| own / others);
        of_one(c, ratio, set, &mut advice);
    }
    match (set, drift) {
        (Verdict::AllAlikeButSlow, _) => advice.push(Advice::CheckSupplyAndPlugKind),
        (Verdict::Drifting, Some(d)) => advice.push(match d.kind {
            DriftKind::Slowing => Advice::SupportBattery {
                per_trial: d.per_trial,
            },
            DriftKind::Quickening => Advice::LetCool {
                per_trial: d.per_trial,
            },
        }),
        _ => {}
    }
    advice
}

fn of_one(c: &Judged<'_>, ratio: Option<f64>, set: Verdict, advice: &mut Vec<Advice>) {
    let cylinder = c.cylinder;
    let watched = c.kept.iter().map(|t| match t.corrected {
        Observed::Above(_) => Some(t.timing.observed.seconds()),
        _ => None,
    });
    // One trial that ended in a glow is enough to know that the plug is not dead.
    let watched: Option<Vec<f64>> = watched.collect();
    if let Some(longest) = watched.and_then(|w| w.into_iter().reduce(f64::max)) {
        advice.push(Advice::NeverGlowed {
            cylinder,
            watched: longest,
        });
    }
    match enough(c.kept) {
        Enough::None => return,
        // Only the one that stands out is worth two more; a lone plug has nothing to stand out of.
        Enough::One => {
            let amiss = 1.0 - c.chances.in_line;
            if ratio.is_none_or(|r| r > GREY_RATIO) || amiss > WORTH_A_LOOK {
                advice.push(Advice::TwoMoreTrials { cylinder });
            }
            return;
        }
        Enough::TwoApart => {
            advice.push(Advice::ThirdTrial { cylinder });
            return;
        }
        Enough::Yes => {}
    }
    for (k, t) in c.kept.iter().enumerate() {
        let own: Vec<f64> = c
            .kept
            .iter()
            .enumerate()
            .filter(|&(j, _)| j != k)
            .map(|(_, o)| o.corrected.seconds())
            .collect();
        let Some(own) = median(&own) else { continue };
        let (seconds, trial) = (t.corrected.seconds(), t.timing.trial);
        if seconds < FAST_RATIO * own && !matches!(t.corrected, Observed::Below(_)) {
            let ratio = seconds / own;
            advice.push(Advice::CheckCurrent {
                cylinder,
                trial,
                ratio,
            });
        } else if c.odd[k] > MORE_LIKELY_THAN_NOT {
            let longer = seconds - own;
            advice.push(Advice::CheckContact {
                cylinder,
                trial,
                longer,
            });
        }
    }
    if let Some(ratio) = ratio {
        if c.verdict == Verdict::OddCylinder && set != Verdict::AllAlikeButSlow {
            advice.push(Advice::CheckPlugAndLead { cylinder, ratio });
        } else if (GREY_RATIO..SLOW_RATIO).contains(&ratio) {
            advice.push(Advice::SwapClipsAndRepeat { cylinder, ratio });
        }
    } else if c.verdict == Verdict::OddCylinder {
        // Alone on the bench: compared with the catalogue only.
        advice.push(Advice::CheckSupplyAndPlugKind);
    }
}
