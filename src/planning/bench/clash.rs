//! Whether readings clash, so that one of them is to be taken again before all else.
//!
//! Two things together: nearly all the chances lie on hypotheses under which some reading is a
//! gross error, and a suspect reading is much less likely beside another entry than apart from it,
//!
//! ```text
//! log2( P(a) P(b) / P(a, b) ) >= 3      (each given the complaint)
//! ```
//!
//! Then every total stands on a reading that is wrong, and no figure of a plan can be trusted until
//! it is known which. Must not say what to repeat.

use crate::diagnosis::reckon::Reckoner;
use crate::evidence::Evidence;

/// Chance that some reading is a gross error from which a clash is looked for. Own judgement.
const DOUBT: f64 = 0.8;
/// Bits from which two entries clash; odds of eight to one. Own judgement.
const BITS: f64 = 3.0;

/// Whether one of the suspect readings (positions in the job) clashes with another entry, on the
/// kind of engine planned on. What cannot be reckoned does not clash.
pub(super) fn clash(evidence: &Evidence, case: usize, suspects: &[usize], doubt: f64) -> bool {
    if doubt < DOUBT {
        return false;
    }
    let reckoner = Reckoner { evidence };
    let log = |wanted: &[usize]| {
        let logs = reckoner.log_evidence(|i| wanted.contains(&i)).ok()?;
        logs.get(case).copied().filter(|l| l.is_finite())
    };
    let items = &evidence.cases[case].items;
    let Some(none) = log(&[]) else {
        return false;
    };
    let alone: Vec<Option<f64>> = (0..items.len()).map(|i| log(&[i])).collect();
    let suspect = |i: &usize| suspects.contains(&items[*i].entry);
    (0..items.len()).filter(suspect).any(|a| {
        (0..items.len()).filter(|b| *b != a).any(|b| {
            let bits =
                || Some((alone[a]? + alone[b]? - none - log(&[a, b])?) / std::f64::consts::LN_2);
            bits().is_some_and(|bits| bits >= BITS)
        })
    })
}
