//! The judgement of a set of trials as plain structs: kept and set-aside trials, both ways of
//! counting, references, advice. Must not compute or format.

use serde::Serialize;

use super::advice::Advice;
use super::drift::Drift;
use super::readings::{SupplyNote, TimingNote};
use super::reference::{Dixon, Esd, Grubbs, Mad};
use super::verdict::{CylinderChances, SetChances, Verdict};

/// Where the pace of the set comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PaceSource {
    /// Two cylinders or more, compared with each other (and the catalogue).
    Siblings,
    /// One cylinder and the catalogue.
    OwnTrials,
    /// No trial kept: the catalogue alone.
    Catalogue,
}

/// How fast a sound plug of this set glows, in seconds at the reference volts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pace {
    /// Median.
    pub value: f64,
    /// Lower end of the 80 % range.
    pub low: f64,
    /// Upper end of the 80 % range.
    pub high: f64,
    /// What it rests on.
    pub source: PaceSource,
}

/// Chance that the set was made for a listed time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NominalChance {
    /// Listed time, s.
    pub seconds: f64,
    /// Chance. The rest to one is the chance of a time not listed.
    pub chance: f64,
}

/// One trial as judged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TrialAnswer {
    /// Number on its cylinder.
    pub trial: u32,
    /// Seconds as read.
    pub value: f64,
    /// Seconds at the reference volts.
    pub corrected: f64,
    /// The reading only bounds the time (`> 60 s`, `< 3 s`).
    pub bound: bool,
    /// Chance that it is odd. Of a trial set aside: given all the others.
    pub odd: f64,
    /// Set aside by a person, and not used in this judgement.
    pub set_aside: bool,
}

/// One cylinder as judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CylinderAnswer {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// What the trials say.
    pub verdict: Verdict,
    /// Chance that the plug is slow.
    pub slow: f64,
    /// Chances of all that it may be.
    pub chances: CylinderChances,
    /// Median of the kept trials at the reference volts, s; bounds count as their limit.
    pub median: Option<f64>,
    /// All trials, kept and set aside.
    pub trials: Vec<TrialAnswer>,
}

/// One way of counting the trials.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judgement {
    /// Pace of the set.
    pub pace: Pace,
    /// Chances of the listed times.
    pub nominals: Vec<NominalChance>,
    /// What the trials say of the set.
    pub verdict: Verdict,
    /// Chances of all that the set may be.
    pub chances: SetChances,
    /// Drift from trial to trial; `None` with fewer than three trials on every cylinder.
    pub drift: Option<Drift>,
    /// The cylinders, in order. Their chances hold for a set that does not drift.
    pub cylinders: Vec<CylinderAnswer>,
    /// What to do next.
    pub advice: Vec<Advice>,
}

/// Recorded is always kept and set aside together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// All trials given.
    pub recorded: usize,
    /// Used in the main judgement.
    pub kept: usize,
    /// Set aside by a person.
    pub set_aside: usize,
}

/// Published rules on the same numbers, for comparison only; `None` where a rule has no answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reference {
    /// The numbers, s at the reference volts.
    pub values: Vec<f64>,
    /// Grubbs, two-sided 5 %.
    pub grubbs: Option<Grubbs>,
    /// Dixon, two-sided 5 %.
    pub dixon: Option<Dixon>,
    /// Generalised extreme studentised deviate, 5 %.
    pub esd: Option<Esd>,
    /// Median and median absolute deviation.
    pub mad: Option<Mad>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrialsAnswer {
    /// The judgement without the trials set aside.
    #[serde(flatten)]
    pub judgement: Judgement,
    /// The judgement with every trial counted; `None` if none is set aside.
    pub with_set_aside: Option<Judgement>,
    /// How the supply was allowed for.
    pub supply_note: SupplyNote,
    /// Remarks on single trials.
    pub notes: Vec<TimingNote>,
    /// Numbers of trials.
    pub counts: Counts,
    /// Published rules on all kept exact trials.
    pub reference: Reference,
    /// Published rules on the cylinder medians.
    pub reference_medians: Reference,
}
