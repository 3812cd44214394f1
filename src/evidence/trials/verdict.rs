//! Verdicts, each with its chance, and the rules on how many trials are enough. Must not compute
//! likelihoods or write text.

use serde::Serialize;

use super::chances::Joint;
use super::drift::Drift;
use super::readings::{Observed, Ready};

/// What the trials say of a cylinder or of the set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Agrees with the others.
    InLine,
    /// One trial far from the cylinder's own others: clip, cable, stopwatch.
    OddTrial,
    /// The cylinder far from the other cylinders: its plug, or its lead.
    OddCylinder,
    /// All alike, but slow: supply, wrong plugs, or method. Of a set only.
    AllAlikeButSlow,
    /// Times run one way from trial to trial. Of a set only.
    Drifting,
    /// Not enough trials to say.
    TooFew,
}

/// Chances of what a cylinder may be; they sum to one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CylinderChances {
    /// Plug sound, every trial with good contact.
    pub in_line: f64,
    /// Plug sound, some trial odd.
    pub odd_trial: f64,
    /// Plug slow.
    pub odd_cylinder: f64,
}

/// Chances of what the set may be; they sum to one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SetChances {
    /// Nothing amiss.
    pub in_line: f64,
    /// No plug slow, some trial odd.
    pub odd_trial: f64,
    /// Some plugs slow, not all.
    pub odd_cylinder: f64,
    /// All slow, or all far beyond the catalogue.
    pub all_alike_but_slow: f64,
    /// Times drift. The other chances hold given that they do not, scaled to make one.
    pub drifting: f64,
}

/// Two trials that differ by more than this disagree: common practice, no source (25 %).
const DISAGREE: f64 = 1.25;
/// How the trials of a cylinder bear on judging it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Enough {
    /// None kept.
    None,
    /// One: no judgement.
    One,
    /// Two that disagree: a third is needed.
    TwoApart,
    /// Two that agree, or three and more.
    Yes,
}

pub(super) fn enough(kept: &[Ready]) -> Enough {
    match kept {
        [] => Enough::None,
        [_] => Enough::One,
        [a, b] if disagree(a.corrected, b.corrected) => Enough::TwoApart,
        _ => Enough::Yes,
    }
}

/// Two readings that cannot both be near one time. Bounds disagree only where they must.
fn disagree(a: Observed, b: Observed) -> bool {
    let apart = |low: f64, high: f64| high > low * DISAGREE;
    let range = |o: Observed| match o {
        Observed::Exact(t) | Observed::About(t) => (t, t),
        Observed::Above(t) => (t, f64::INFINITY),
        Observed::Below(t) => (0.0, t),
    };
    let ((a_low, a_high), (b_low, b_high)) = (range(a), range(b));
    apart(a_high, b_low) || apart(b_high, a_low)
}

/// The likeliest of a cylinder's chances, unless there are too few trials.
pub(super) fn of_cylinder(chances: &CylinderChances, enough: Enough) -> Verdict {
    if enough != Enough::Yes {
        return Verdict::TooFew;
    }
    likeliest(&[
        (Verdict::InLine, chances.in_line),
        (Verdict::OddTrial, chances.odd_trial),
        (Verdict::OddCylinder, chances.odd_cylinder),
    ])
}

/// Chances of the set with the chance of a drift set beside the rest.
pub(super) fn set_chances(joint: &Joint, drift: Option<&Drift>) -> SetChances {
    let drifting = drift.map_or(0.0, |d| d.chance);
    let still = 1.0 - drifting;
    SetChances {
        in_line: still * joint.in_line,
        odd_trial: still * joint.odd_trial,
        odd_cylinder: still * joint.some_slow,
        all_alike_but_slow: still * joint.all_slow,
        drifting,
    }
}

/// The likeliest of the set's chances. Too few where a cylinder with too few trials could change
/// the answer: no other cylinder has shown anything odd.
pub(super) fn of_set(chances: &SetChances, cylinders: &[Verdict]) -> Verdict {
    let lacking = cylinders.is_empty() || cylinders.contains(&Verdict::TooFew);
    let shown = |v: &Verdict| matches!(v, Verdict::OddTrial | Verdict::OddCylinder);
    if lacking && !cylinders.iter().any(shown) {
        return Verdict::TooFew;
    }
    likeliest(&[
        (Verdict::InLine, chances.in_line),
        (Verdict::OddTrial, chances.odd_trial),
        (Verdict::OddCylinder, chances.odd_cylinder),
        (Verdict::AllAlikeButSlow, chances.all_alike_but_slow),
        (Verdict::Drifting, chances.drifting),
    ])
}

/// The first of the largest.
fn likeliest(list: &[(Verdict, f64)]) -> Verdict {
    let mut best = (Verdict::TooFew, f64::NEG_INFINITY);
    for &(verdict, chance) in list {
        if chance > best.1 {
            best = (verdict, chance);
        }
    }
    best.0
}
