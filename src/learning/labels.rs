//! What a finding is worth as a label, and how often a cause is confirmed at all.
//!
//! Starting values; a fit may move the second. Must not read jobs.

use crate::job::Proof;
use crate::knowledge::Knowledge;

/// Minutes of the quickest repair by which the chance of confirmation falls to a third: heavy
/// work is not done on suspicion. Own judgement.
const PATIENCE: f64 = 300.0;
/// Chance that a cause which is no work at all is confirmed; own judgement.
const EASY: f64 = 0.95;

/// Chance that a finding with this proof names a fault that is there. Own assumption, to be
/// fitted; for `Refuted` the chance that the fault is there all the same.
#[must_use]
pub fn reliability(proof: Proof) -> f64 {
    match proof {
        Proof::Shown => 0.97,
        Proof::Cured => 0.92,
        Proof::CuredShared => 0.75,
        Proof::Believed => 0.65,
        Proof::Guess => 0.45,
        Proof::Refuted => 0.03,
    }
}

/// Chance that a fault which is there is found and written down, from the minutes of its
/// quickest repair: `0.95 exp(-minutes / 300)`.
#[must_use]
pub fn confirmed(knowledge: &Knowledge, part: &str, fault: &str) -> f64 {
    let id = format!("{part}.{fault}");
    let removes = knowledge
        .repairs
        .iter()
        .filter(|r| r.fixes.iter().any(|f| *f.fault.get_ref() == id));
    let minutes = removes.map(|r| r.minutes).fold(f64::INFINITY, f64::min);
    if minutes.is_finite() {
        EASY * (-minutes / PATIENCE).exp()
    } else {
        0.0
    }
}
