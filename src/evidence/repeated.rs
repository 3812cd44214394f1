//! A reading that repeats an earlier one of the same check at the same place.
//!
//! Must not know what the network holds.

use super::gather::Gathering;
use super::reading::{Looked, Scale, likelihood};
use crate::job::Reading;
use crate::knowledge::Check;

/// Likelihood of a reading after an earlier one of the same check at the same place.
///
/// A repeat copies the first error with chance `c`. For states: `c [same] + (1 - c) P(state)`;
/// for numbers, whose copy cannot be told from a true repeat, the likelihood counts `1 - c` times.
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
    match reading.value.state() {
        Some(state) if previous.value.state().is_some() => {
            let same = f64::from(previous.value.state() == Some(state));
            Some(check.copies * same + (1.0 - check.copies) * fresh)
        }
        _ => Some(fresh.powf(1.0 - check.copies)),
    }
}
