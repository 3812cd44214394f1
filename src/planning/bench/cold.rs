//! Whether the engine is cold now, as far as the entries say.
//!
//! It is unless it came warm, until something warms it: a start, or a check that uses the cold up. A night brings it
//! back: an entry written long enough after what warmed it, or a check that needs a cold engine
//! and was done all the same. No clock is read: the last entry that says when stands for now.
//! Must not decide what the cold is worth.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use crate::job::{Arrived, Entry, EntryBody, Job, LEAST_SOAK_HOURS};
use crate::knowledge::{Cold, Knowledge};

/// What an entry does to the cold.
#[derive(Clone, Copy, PartialEq)]
enum Leaves {
    /// It was cold, and is.
    Cold,
    /// It is warm now.
    Warm,
    /// As it was.
    AsItWas,
}

/// Whether the engine is cold after all entries.
pub(super) fn is_cold(knowledge: &Knowledge, job: &Job) -> bool {
    let mut cold = job.bench.arrived != Some(Arrived::Warm);
    let mut warmed: Option<&Entry> = None;
    for entry in job.entries.iter().filter(|e| e.is_recorded()) {
        match leaves(knowledge, entry) {
            Leaves::Cold => cold = true,
            Leaves::Warm => {
                cold = false;
                warmed = Some(entry);
            }
            Leaves::AsItWas => cold |= warmed.is_some_and(|w| a_night_between(w, entry)),
        }
    }
    cold
}

fn leaves(knowledge: &Knowledge, entry: &Entry) -> Leaves {
    let reading = match &entry.body {
        EntryBody::Start(_) => return Leaves::Warm,
        EntryBody::Reading(reading) => reading,
        _ => return Leaves::AsItWas,
    };
    let done = reading.value.has_result();
    let check = knowledge
        .checks
        .iter()
        .find(|c| *c.id.get_ref() == reading.check);
    match check.filter(|_| done).map(|c| c.cold) {
        Some(Cold::UsesUp) => Leaves::Warm,
        Some(Cold::Needs) => Leaves::Cold,
        _ => Leaves::AsItWas,
    }
}

/// Whether the second entry was written a soak or more after the first. What does not say when is
/// not known to.
fn a_night_between(first: &Entry, second: &Entry) -> bool {
    let hours = |entry: &Entry| -> Option<f64> {
        let at = entry.at.as_deref()?;
        let moment = at.parse::<Timestamp>().ok().or_else(|| {
            // Without a zone both are taken to be of the same place.
            TimeZone::UTC
                .to_timestamp(at.parse::<DateTime>().ok()?)
                .ok()
        })?;
        #[expect(clippy::cast_precision_loss, reason = "seconds of a few centuries")]
        let hours = moment.as_second() as f64 / 3600.0;
        Some(hours)
    };
    match (hours(first), hours(second)) {
        (Some(first), Some(second)) => second - first >= LEAST_SOAK_HOURS,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::read_toml;
    use crate::knowledge::{KnowledgeFiles, load};

    fn cold_after(entries: &str) -> bool {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let text = format!(
            "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"y\"\n\
             engine = {{ cylinders = 4, chamber = \"swirl\", preheat = \"plugs\" }}\n{entries}"
        );
        let job = read_toml(&text, "job", &knowledge).unwrap().job;
        is_cold(&knowledge, &job)
    }

    const START: &str = "[[entry]]\nat = \"2025-01-14T07:30:00+01:00\"\n\
        start = { engine_temperature = \"-4 degC\", soak = \"12 h\", crank_time = \"11 s\" }\n";

    fn volts(at: &str) -> String {
        let reading = "reading = { check = \"battery_rest_volts\", value = \"12.5 V\" }";
        format!("[[entry]]\nat = \"{at}\"\n{reading}\n")
    }

    #[test]
    fn a_start_takes_the_cold_and_a_night_brings_it_back() {
        assert!(cold_after(""));
        assert!(!cold_after(START));
        let same_day = volts("2025-01-14T11:00:00+01:00");
        assert!(!cold_after(&format!("{START}{same_day}")));
        // 23 hours on, told in another zone.
        let next_day = volts("2025-01-15T05:30:00Z");
        assert!(cold_after(&format!("{START}{same_day}{next_day}")));
        // A start of the next morning was cold, and leaves the engine warm.
        let again = START.replace("01-14", "01-15");
        assert!(!cold_after(&format!("{START}{again}")));
    }

    #[test]
    fn without_times_the_cold_comes_back_only_where_a_check_needed_it() {
        let untimed = |s: &str| s.replace("at = \"2025-01-14T07:30:00+01:00\"\n", "");
        let start = untimed(START);
        let later = volts("2025-01-15T05:30:00Z");
        assert!(!cold_after(&format!("{start}{later}")));
        let needs = |name: &str, value: &str| {
            format!("[[entry]]\nreading = {{ check = \"{name}\", value = \"{value}\" }}\n")
        };
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let check = knowledge
            .checks
            .iter()
            .find(|c| c.cold == Cold::Needs && !c.states.is_empty())
            .unwrap();
        let done = needs(check.id.get_ref(), &check.states[0]);
        assert!(cold_after(&format!("{start}{done}")));
    }
}
