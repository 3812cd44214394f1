//! Repeats of a check: how far each kind leans on the first reading.
//!
//! A repeat copies the first error with some chance: the same rig, the same soak, the same
//! mistake. What is changed between the two readings makes that chance smaller. Must not decide
//! whether a repeat is worth it.

use super::gather::Gathering;
use super::reading::{Looked, Scale, likelihood};
use crate::job::{Reading, Repeat};
use crate::knowledge::Check;

/// Share of the chance to copy that is left after the contact was made afresh: most errors of
/// lamps, clamps and gauges are those of a contact. Own judgement.
const CONTACT_REMADE: f64 = 0.5;
/// The same with another instrument on the same contact: own judgement.
const OTHER_METER: f64 = 0.6;
/// The same after places were changed with a neighbour: what is wrong moves along or stays.
/// Own judgement.
const SWAPPED: f64 = 0.25;

/// Chance that a repeat of this kind copies the first reading.
#[must_use]
pub fn copies(check: &Check, repeat: Option<Repeat>) -> f64 {
    let left = match repeat {
        None | Some(Repeat::AsItIs) => 1.0,
        Some(Repeat::ContactRemade) => CONTACT_REMADE,
        Some(Repeat::OtherMeter) => OTHER_METER,
        Some(Repeat::Swapped) => SWAPPED,
    };
    check.copies * left
}

/// Likelihood of a reading after an earlier one of the same check at the same place.
///
/// A repeat copies the first error with chance `c`, see [`copies`]. For states:
/// `c [same] + (1 - c) P(state)`; for numbers, whose copy cannot be told from a true repeat, the
/// likelihood counts `1 - c` times.
pub(super) fn repeated(
    gathering: &Gathering<'_>,
    check: &Check,
    reading: &Reading,
    previous: Option<&Reading>,
    looked: &Looked<'_>,
    scale: Scale,
) -> Option<f64> {
    let fresh = likelihood(
        gathering.knowledge,
        check,
        reading,
        looked,
        gathering.builder.shape().cylinders,
        scale,
    )?;
    let Some(previous) = previous else {
        return Some(fresh);
    };
    let copies = copies(check, reading.repeat);
    match reading.value.state() {
        Some(state) if previous.value.state().is_some() => {
            let same = f64::from(previous.value.state() == Some(state));
            Some(copies * same + (1.0 - copies) * fresh)
        }
        _ => Some(fresh.powf(1.0 - copies)),
    }
}
