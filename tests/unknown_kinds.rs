//! Jobs about an engine of unknown kind: what only some kinds have, and one more entry at a time.
//!
//! Expected values are the same question asked of the shortened or better described job.

use hardstart::diagnosis::{self, FaultPlace, Ranking};
use hardstart::evidence::{self, Evidence, Remark};
use hardstart::job::{Job, read_toml};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use std::sync::LazyLock;

static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(&KnowledgeFiles::built_in()).unwrap());

const HEAD: &str =
    "schema = \"hardstart/job/1\"\njob = \"u\"\ncomplaint = \"cranks long in frost\"\n";

fn job(engine: &str, entries: &[&str]) -> Job {
    let mut text = format!("{HEAD}engine = {{ {engine} }}\n");
    for entry in entries {
        text.push_str(&format!("[[entry]]\n{entry}\n"));
    }
    let read = read_toml(&text, "u", &KNOWLEDGE);
    read.unwrap_or_else(|e| panic!("{}", e.summary())).job
}

fn ranked(job: &Job) -> (Evidence, Ranking) {
    let evidence = evidence::gather(&KNOWLEDGE, job).unwrap();
    let ranking = diagnosis::causes(&evidence, job).unwrap();
    (evidence, ranking)
}

/// Chance before the last entry, against the chance in the job without it.
fn before_is_the_shorter_job(job: &Job) {
    let (_, now) = ranked(job);
    let mut shorter = job.clone();
    shorter.entries.pop();
    let (_, then) = ranked(&shorter);
    for cause in &then.causes {
        let later = now.causes.iter().find(|c| c.cause == cause.cause);
        // A kind of engine that the last reading rules out takes its causes with it.
        let Some(before) = later.and_then(|c| c.before) else {
            continue;
        };
        assert!(
            (before - cause.chance).abs() < 1e-9,
            "{}: {before} before, {} without the last entry",
            cause.cause,
            cause.chance
        );
    }
}

const START: &str = "start = { engine_temperature = \"-4 degC\", crank_time = \"11 s\" }";
const GRID: &str = "reading = { check = \"intake_grid_hand\", value = \"stays_cold\" }";
const VOLTS: &str = "reading = { check = \"cranking_volts\", value = \"10.4 V\" }";
const LAMP: &str = "reading = { check = \"series_lamp_per_plug\", cylinder = 3, value = \"dark\" }";

#[test]
fn a_reading_that_only_some_kinds_have_does_not_stop_the_reckoning() {
    // Kinds without the thing had one item less, and positions meant other entries there: a panic.
    for engine in ["cylinders = 4", "cylinders = 4, chamber = \"direct\""] {
        let job = job(engine, &[START, GRID, VOLTS]);
        let (evidence, _) = ranked(&job);
        let place = FaultPlace {
            part: "battery".to_owned(),
            fault: "tired".to_owned(),
            cylinder: None,
        };
        let why = diagnosis::why(&evidence, &place).unwrap();
        assert!(why.rest.abs() < 1e-9);
        assert_eq!(why.moved.len(), 3);
    }
}

#[test]
fn who_read_an_intake_grid_has_one() {
    let (evidence, open) = ranked(&job("cylinders = 4", &[START, GRID]));
    assert!(evidence.cases.iter().all(|c| c.preheat == "intake_grid"));
    let weights: f64 = evidence.cases.iter().map(|c| c.weight).sum();
    assert!((weights - 1.0).abs() < 1e-12);
    let said = "cylinders = 4, preheat = \"intake_grid\"";
    let (_, told) = ranked(&job(said, &[START, GRID]));
    for (a, b) in open.causes.iter().zip(&told.causes) {
        assert_eq!(a.cause, b.cause);
        assert!((a.chance - b.chance).abs() < 1e-12, "{}", a.cause);
    }
}

#[test]
fn what_stood_before_is_the_answer_without_the_last_entry() {
    // "down 55" was said of a plug that had stood at 13, not at 59.
    let with_kinds_open = job("cylinders = 4", &[START, VOLTS, LAMP]);
    let evidence = evidence::gather(&KNOWLEDGE, &with_kinds_open).unwrap();
    assert!(evidence.cases.len() > 1, "swirl and prechamber at least");
    // Before the lamp the kinds without plugs counted too: the lamp rules them out for good, so
    // the shorter job is asked of engines with plugs.
    before_is_the_shorter_job(&job(
        "cylinders = 4, preheat = \"plugs\"",
        &[START, VOLTS, LAMP],
    ));
    before_is_the_shorter_job(&job("cylinders = 4", &[LAMP, START, VOLTS]));
    before_is_the_shorter_job(&job("chamber = \"direct\"", &[GRID, START, VOLTS]));
}

#[test]
fn readings_of_two_kinds_of_engine_are_told_and_used_where_they_can_be() {
    let job = job("cylinders = 4", &[START, GRID, LAMP, VOLTS]);
    let (evidence, _) = ranked(&job);
    let some = evidence.remarks.iter();
    let some = some.filter(|r| matches!(r, Remark::OnSomeEngines { .. }));
    assert_eq!(some.count(), 2, "{:?}", evidence.remarks);
    let items = evidence.cases.iter().map(|c| c.items.len());
    assert!(
        items.clone().all(|n| n == 4),
        "{:?}",
        items.collect::<Vec<_>>()
    );
    before_is_the_shorter_job(&job);
}

#[test]
fn every_example_with_its_kind_left_out_is_answered_and_adds_up() {
    let place = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let mut seen = 0;
    for name in [
        "tb-01-one-dead-plug",
        "tb-04-tired-battery",
        "tb-06-wax",
        "tb-07-timing-late",
    ] {
        let text = std::fs::read_to_string(place.join(format!("{name}.toml"))).unwrap();
        let mut job = read_toml(&text, name, &KNOWLEDGE).unwrap().job;
        job.engine.chamber = hardstart::job::Chamber::Unknown;
        before_is_the_shorter_job(&job);
        seen += 1;
    }
    assert_eq!(seen, 4);
}

#[test]
fn low_ohms_without_the_leads_ask_for_them() {
    // The remark had words but was never made.
    let ohms = |more: &str| {
        let entry = format!(
            "reading = {{ check = \"plug_ohms\", cylinder = 1, value = \"0.8 ohm\"{more} }}"
        );
        let (evidence, _) = ranked(&job("cylinders = 4, preheat = \"plugs\"", &[&entry]));
        evidence
            .remarks
            .contains(&Remark::LeadsUnknown { entry: 0 })
    };
    assert!(ohms(""));
    assert!(!ohms(", leads = \"0.2 ohm\""));
}

#[test]
fn better_than_sound_never_speaks_for_a_fault() {
    // At 17 V a flat battery stood at 74 of 100: the tail of its wider law.
    let chance = |volts: &str, cause: &str| {
        let entry = format!(
            "reading = {{ check = \"battery_rest_volts\", value = \"{volts} V\", confirmed = true }}"
        );
        let (_, ranking) = ranked(&job(
            "cylinders = 4, chamber = \"swirl\", preheat = \"plugs\", system_volts = 12",
            &[&entry],
        ));
        ranking
            .causes
            .iter()
            .find(|c| c.cause == cause)
            .unwrap()
            .chance
    };
    for cause in ["battery.tired", "battery.flat"] {
        let mut last = f64::INFINITY;
        for volts in ["12.65", "13.0", "14.5", "17"] {
            let now = chance(volts, cause);
            assert!(
                now <= last + 1e-9,
                "{cause} at {volts} V: {now} after {last}"
            );
            last = now;
        }
    }
}

#[test]
fn a_vacuum_is_a_depth_whatever_sign_it_was_typed_with() {
    // -46 kPa was read as far from every figure, and ranked by the widest tail.
    let chance = |kpa: &str| {
        let entry = format!("reading = {{ check = \"supply_vacuum\", value = \"{kpa}\" }}");
        let (_, ranking) = ranked(&job(
            "cylinders = 4, chamber = \"swirl\", preheat = \"plugs\"",
            &[&entry],
        ));
        let filter = ranking.causes.iter();
        let mut filter = filter.filter(|c| c.cause == "fuel_filter.blocked");
        filter.next().unwrap().chance
    };
    let deep = chance("46 kPa");
    assert!((chance("-46 kPa") - deep).abs() < 1e-12);
    assert!((chance("< -30 kPa") - chance("> 30 kPa")).abs() < 1e-12);
    assert!(deep > 10.0 * chance("3 kPa"), "{deep}");
}
