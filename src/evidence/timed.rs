//! The repeated timings of a job, as the judgement of trials takes them.
//!
//! Those a person set aside are kept and marked. Must not judge.

use super::trials::{Bench, Observed, Timing};
use crate::job::{EntryBody, Job, Measured, Reading, ReadingValue};

/// The check whose readings are timings.
pub const TIMED: &str = "plug_glow_time";
/// Seconds a plug is watched before somebody says that it does not glow: the limit of a trial on
/// standard types (common practice, no source).
const NO_GLOW_SECONDS: f64 = 30.0;

/// Timings of a job in the order of its entries, each with the position of its entry.
///
/// A suspect number that nobody confirmed is left out. A repeat without a number follows the
/// highest one of its cylinder so far.
#[must_use]
pub fn timings(job: &Job) -> Vec<(usize, Timing)> {
    let mut timings: Vec<(usize, Timing)> = Vec::new();
    let entries = job.entries.iter().enumerate();
    for (at, entry) in entries.filter(|(_, e)| e.is_recorded()) {
        let EntryBody::Reading(reading) = &entry.body else {
            continue;
        };
        let suspect = reading.suspect.is_some() && !reading.confirmed;
        if reading.check != TIMED || suspect {
            continue;
        }
        let own = timings.iter().map(|t| &t.1);
        let own = own.filter(|t| Some(t.cylinder) == reading.cylinder);
        let next = own.map(|t| t.trial).max().unwrap_or(0) + 1;
        if let Some(mut timing) = timing(reading, next) {
            timing.set_aside = !entry.is_used();
            timings.push((at, timing));
        }
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

/// One reading as a timing; `None` without a cylinder or a result.
pub(super) fn timing(reading: &Reading, next: u32) -> Option<Timing> {
    let cylinder = reading.cylinder?;
    let observed = match &reading.value {
        ReadingValue::Measured(Measured::Number(parsed)) => Observed::from_parsed(parsed)?,
        ReadingValue::Measured(Measured::OffScale(_)) => Observed::Above(NO_GLOW_SECONDS),
        _ => return None,
    };
    Some(Timing {
        observed,
        supply_volts: reading.supply.as_ref().map(|q| q.value),
        rest: reading.rest.as_ref().map(|q| q.value),
        ..Timing::new(cylinder, reading.trial.unwrap_or(next), 1.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Entry;
    use crate::units::{Cmp, Dimension, Parsed, Quantity, Unit};

    fn reading(cylinder: u8, trial: Option<u32>, value: ReadingValue) -> Entry {
        Entry::new(EntryBody::Reading(Reading {
            check: TIMED.to_owned(),
            cylinder: Some(cylinder),
            trial,
            repeat: None,
            value,
            typed: String::new(),
            supply: None,
            rest: None,
            leads: None,
            tool: None,
            why_not: None,
            suspect: None,
            confirmed: false,
        }))
    }

    fn seconds(value: f64) -> ReadingValue {
        let unit = Unit::by_code(Dimension::Time, "s").unwrap();
        ReadingValue::Measured(Measured::Number(Parsed {
            quantity: Quantity {
                value,
                dimension: Dimension::Time,
                unit,
                typed: String::new(),
            },
            cmp: Cmp::Equal,
        }))
    }

    #[test]
    fn repeats_are_numbered_in_order_and_set_aside_ones_are_marked() {
        let mut job = Job::new("A", "");
        job.entries = vec![
            reading(2, None, seconds(8.0)),
            reading(2, None, seconds(9.0)),
            reading(1, Some(3), seconds(7.0)),
            reading(2, None, ReadingValue::NotTested),
            reading(
                2,
                None,
                ReadingValue::Measured(Measured::OffScale("no_glow".into())),
            ),
        ];
        job.entries[1].set_aside = Some("clip slipped".to_owned());
        let found: Vec<_> = timings(&job)
            .into_iter()
            .map(|(at, t)| (at, t.cylinder, t.trial, t.set_aside))
            .collect();
        let wanted = [
            (0, 2, 1, false),
            (1, 2, 2, true),
            (2, 1, 3, false),
            (4, 2, 3, false),
        ];
        assert_eq!(found, wanted);
    }
}
