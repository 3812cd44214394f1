//! What holds in every answer.

use hardstart::diagnosis::Ranking;
use hardstart::job::{EntryBody, Job, Told};

use crate::shop::{ALL, job, of, whole};

fn answered() -> impl Iterator<Item = (&'static str, Ranking)> {
    ALL.into_iter().map(|n| (n, whole(n)))
}

#[test]
fn no_chance_is_nought_or_one() {
    for (name, r) in answered() {
        for cause in &r.causes {
            let (chance, base) = (cause.chance, cause.base);
            assert!(chance > 0.0 && chance < 1.0, "{name}: {}", cause.cause);
            assert!(base > 0.0 && base < 1.0, "{name}: {}", cause.cause);
        }
    }
}

#[test]
fn chances_are_separate() {
    let mut sums = Vec::new();
    for (name, r) in answered() {
        assert!((0.0..1.0).contains(&r.healthy), "{name}: {}", r.healthy);
        sums.push(r.causes.iter().map(|c| c.chance).sum::<f64>());
    }
    // Nothing forces the sum: four dead plugs of KL-31 alone make nearly four hundred.
    assert!(sums.iter().any(|s| *s > 2.0), "{sums:?}");
    assert!(sums.iter().all(|s| (s - 1.0).abs() > 1e-6), "{sums:?}");
}

#[test]
fn something_not_listed_has_a_chance() {
    for (name, r) in answered() {
        assert!(
            of(&r, "other.present") > 0.1,
            "{name}: {}",
            of(&r, "other.present")
        );
    }
}

/// Checks that look at one part and nothing else, or at its works: one reading may settle them.
const DIRECT: [&str; 3] = ["relay_contact_drop", "series_lamp_per_plug", "plug_ohms"];

fn readings_of(job: &Job) -> Vec<&str> {
    let readings = job.entries.iter().filter_map(|e| match &e.body {
        EntryBody::Reading(r) => Some(r.check.as_str()),
        _ => None,
    });
    readings.collect()
}

#[test]
fn no_part_is_condemned_on_one_reading_unless_by_a_direct_check() {
    for (name, r) in answered() {
        let job = job(name);
        let said = job.entries.iter().filter(|e| match &e.body {
            EntryBody::Told(told) => told.iter().any(|t| matches!(t, Told::Sign(_))),
            EntryBody::Start(_) | EntryBody::Reading(_) => true,
            _ => false,
        });
        let direct = readings_of(&job).iter().any(|c| DIRECT.contains(c));
        let most = r.causes.iter().map(|c| c.chance).fold(0.0, f64::max);
        assert!(
            most <= 0.9 || direct || said.count() > 2,
            "{name}: {} at {most}",
            r.causes[0].cause
        );
    }
}
