//! The repeated timings of a job, as the judgement of trials takes them.
//!
//! Those a person set aside are kept and marked. Must not judge.

pub use super::together::TIMED;
use super::together::timing;
use super::trials::{Bench, Timing};
use crate::job::{EntryBody, Job};

/// Timings of a job in the order of its entries, each with the position of its entry.
///
/// A suspect number that nobody confirmed is left out. A repeat without a number follows the
/// highest one of its cylinder so far.
#[must_use]
pub fn timings(job: &Job) -> Vec<(usize, Timing)> {
    let mut timings: Vec<(usize, Timing)> = Vec::new();
    for (at, entry) in job.entries.iter().enumerate() {
        let EntryBody::Reading(reading) = &entry.body else {
            continue;
        };
        let suspect = reading.suspect.is_some() && !reading.confirmed;
        if reading.check != TIMED || suspect {
            continue;
        }
        let Some(mut timing) = timing(reading) else {
            continue;
        };
        if reading.trial.is_none() {
            let own = timings.iter().filter(|t| t.1.cylinder == timing.cylinder);
            timing.trial = own.map(|t| t.1.trial).max().unwrap_or(0) + 1;
        }
        timing.set_aside = !entry.is_used();
        timings.push((at, timing));
    }
    timings
}

/// The rig of a job: times are brought to the volts of its system.
#[must_use]
pub fn bench(job: &Job) -> Bench {
    let usual = Bench::default();
    Bench {
        reference_volts: job.engine.system_volts.unwrap_or(usual.reference_volts),
    }
}
