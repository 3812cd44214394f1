//! What the entries say about the state of a job and how far its work is proven.
//!
//! Expected values: the rules of the format (a warm restart never proves; soaked 8 h and
//! within 3 K of the complaint or colder counts).

use hardstart::job::{
    Finding, Job, JobState, Proof, WhyNot, finding_proof, read_toml, state, verification,
    work_proofs,
};

use crate::HEAD;
use crate::small::small;

const TOLD: &str = "told = { since = \"first_frost\" }";
const BAD: &str =
    "start = { engine_temperature = \"-6 degC\", soak = \"12 h\", crank_time = \"12 s\" }";
const PLUG: &str = "work = { repair = \"replace_plug\", cylinder = 2 }";
const CHARGE: &str = "work = { repair = \"charge_battery\" }";
const WARM: &str =
    "start = { engine_temperature = \"40 degC\", soak = \"1 h\", result = \"right\" }";
const MILD: &str =
    "start = { engine_temperature = \"2 degC\", soak = \"12 h\", result = \"right\" }";
const RIGHT: &str =
    "start = { engine_temperature = \"-3 degC\", soak = \"10 h\", result = \"right\" }";
const RIGHT_NO_START: &str = "start = { engine_temperature = \"-3 degC\", soak = \"10 h\", \
                              result = \"right\", crank_time = \"no_start\" }";
const BETTER: &str =
    "start = { engine_temperature = \"-8 degC\", soak = \"10 h\", result = \"better\" }";
const SAME: &str =
    "start = { engine_temperature = \"-8 degC\", soak = \"10 h\", result = \"same\" }";
const CHECK: &str = "reading = { check = \"feed_lamp\", value = \"dim\" }";
const DONE: &str = "mark = { state = \"done\" }";

fn job(entries: &[&str]) -> Job {
    let list: String = entries
        .iter()
        .map(|e| format!("[[entry]]\n{}\n", inline(e)))
        .collect();
    let text = format!("{HEAD}{list}");
    read_toml(&text, "a.toml", small())
        .unwrap_or_else(|e| panic!("{e}"))
        .job
}

fn inline(entry: &str) -> String {
    entry.replace("; ", "\n")
}

#[test]
fn states_follow_from_the_entries() {
    let rows: &[(&[&str], JobState)] = &[
        (&[], JobState::Booked),
        (&[TOLD], JobState::Booked),
        (&[TOLD, BAD], JobState::Open),
        (&[CHECK], JobState::Open),
        (&[BAD, PLUG], JobState::WaitingForColdStart),
        (&[BAD, PLUG, WARM], JobState::WaitingForColdStart),
        (&[BAD, PLUG, MILD], JobState::WaitingForColdStart),
        (&[BAD, PLUG, RIGHT], JobState::DoneProven),
        (&[BAD, PLUG, BETTER], JobState::Open),
        (&[BAD, PLUG, RIGHT, SAME], JobState::Open),
        (&[BAD, PLUG, RIGHT, CHARGE], JobState::WaitingForColdStart),
        // Who says that it came back need not say how cold it was; it stood as proven.
        (
            &[BAD, PLUG, RIGHT, "start.result = \"worse\""],
            JobState::Open,
        ),
        (&[BAD, PLUG, "start.result = \"same\""], JobState::Open),
        // Right, and it did not start: no proof.
        (&[BAD, PLUG, RIGHT_NO_START], JobState::Open),
        (&[BAD, PLUG, DONE], JobState::DoneNotProven),
        (&[BAD, PLUG, WARM, DONE], JobState::DoneNotProven),
        (&[BAD, PLUG, DONE, WARM], JobState::DoneNotProven),
        (&[BAD, PLUG, DONE, RIGHT], JobState::DoneProven),
        (&[BAD, PLUG, DONE, SAME], JobState::Open),
        // Whoever marked it knew of the start.
        (&[BAD, PLUG, BETTER, DONE], JobState::DoneNotProven),
        (&[BAD, DONE], JobState::DoneNotProven),
        (
            &[BAD, "mark = { state = \"waiting_for_parts\" }"],
            JobState::WaitingForParts,
        ),
        (
            &[BAD, "mark = { state = \"waiting_for_parts\" }", PLUG],
            JobState::WaitingForColdStart,
        ),
        (&[BAD, "mark = { state = \"parked\" }"], JobState::Parked),
        (
            &[BAD, "mark = { state = \"parked\" }", "note = \"rang\""],
            JobState::Parked,
        ),
        (
            &[BAD, "mark = { state = \"parked\" }", CHECK],
            JobState::Open,
        ),
        (
            &[BAD, "mark = { state = \"left_as_is\" }"],
            JobState::LeftAsIs,
        ),
        (
            &[BAD, PLUG, RIGHT, "mark = { state = \"open\" }"],
            JobState::Open,
        ),
        // Set aside, the work was never done.
        (
            &[
                BAD,
                "work = { repair = \"charge_battery\" }; set_aside = \"wrong job\"",
            ],
            JobState::Open,
        ),
    ];
    let knowledge = small();
    for (entries, expected) in rows {
        assert_eq!(state(&job(entries), knowledge), *expected, "{entries:?}");
    }
}

#[test]
fn a_start_that_does_not_count_says_why() {
    let after = |start: &str| {
        let v = verification(&job(&[BAD, PLUG, start]), small());
        assert_eq!(
            (v.last_work, v.complaint_temperature),
            (Some(1), Some(-6.0))
        );
        v.starts[0].why_not.clone()
    };
    assert_eq!(after(WARM), Some(WhyNot::NotSoaked { hours: 1.0 }));
    assert_eq!(
        after(MILD),
        Some(WhyNot::TooWarm {
            was: 2.0,
            limit: -3.0
        })
    );
    assert_eq!(after(RIGHT), None);
    assert_eq!(after(BETTER), None);
    assert_eq!(
        after("start = { engine_temperature = \"-6 degC\" }"),
        Some(WhyNot::SoakUnknown)
    );
    assert_eq!(
        after("start = { soak = \"12 h\" }"),
        Some(WhyNot::TemperatureUnknown)
    );
    assert_eq!(
        after("start = { soak = \"12 h\", air_temperature = \"-5 degC\" }"),
        None
    );
    let heated = "start = { soak = \"12 h\", engine_temperature = \"-6 degC\", heated = true }";
    assert_eq!(after(heated), Some(WhyNot::Heated));
    let v = verification(&job(&[PLUG, RIGHT]), small());
    assert_eq!(
        v.starts[0].why_not,
        Some(WhyNot::ComplaintTemperatureUnknown)
    );
    let before =
        "start = { soak = \"12 h\", engine_temperature = \"-6 degC\", after_work = false }";
    assert_eq!(verification(&job(&[BAD, PLUG, before]), small()).starts, []);
    assert_eq!(verification(&job(&[BAD]), small()).last_work, None);
}

#[test]
fn a_start_is_right_by_word_or_by_ordinary_signs_alone() {
    let right = |signs: &str| {
        let start =
            format!("start = {{ engine_temperature = \"-6 degC\", soak = \"12 h\"{signs} }}");
        verification(&job(&[BAD, PLUG, &start]), small()).starts[0].right
    };
    assert_eq!(
        right(", crank_time = \"2 s\", smoke_cranking = \"none\""),
        Some(true)
    );
    assert_eq!(right(", crank_time = \"under_3\""), Some(true));
    // Slower than the ordinary band: whether that is right so cold takes chances.
    assert_eq!(right(", crank_time = \"5 s\""), None);
    assert_eq!(right(", crank_time = \"not_recorded\""), None);
    assert_eq!(right(""), None);
    assert_eq!(
        right(", crank_time = \"2 s\", result = \"better\""),
        Some(false)
    );
    assert_eq!(
        right(", crank_time = \"5 s\", result = \"right\""),
        Some(true)
    );
}

#[test]
fn two_days_prove_twice() {
    let on = |day: &str| format!("{RIGHT}; at = \"2025-01-{day}T07:40:00+01:00\"");
    let twice = |a: &str, b: &str| {
        verification(&job(&[BAD, PLUG, &on(a), &on(b)]), small()).is_proven_twice()
    };
    assert!(twice("14", "15"));
    assert!(!twice("14", "14"));
    assert!(!verification(&job(&[BAD, PLUG, &on("14")]), small()).is_proven_twice());
}

#[test]
fn work_is_proven_by_the_cold_start_after_it() {
    let proofs = |entries: &[&str]| -> Vec<Proof> {
        work_proofs(&job(entries), small())
            .iter()
            .map(|p| p.proof)
            .collect()
    };
    assert_eq!(proofs(&[BAD, PLUG]), [Proof::Believed]);
    assert_eq!(proofs(&[BAD, PLUG, WARM]), [Proof::Believed]);
    assert_eq!(proofs(&[BAD, PLUG, RIGHT]), [Proof::Cured]);
    assert_eq!(proofs(&[BAD, PLUG, SAME]), [Proof::Refuted]);
    assert_eq!(proofs(&[BAD, PLUG, BETTER]), [Proof::Believed]);
    assert_eq!(proofs(&[BAD, PLUG, CHARGE, RIGHT]), [Proof::CuredShared; 2]);
    // A warm restart between two works does not part them.
    assert_eq!(
        proofs(&[BAD, PLUG, WARM, CHARGE, RIGHT]),
        [Proof::CuredShared; 2]
    );
    assert_eq!(
        proofs(&[BAD, PLUG, SAME, CHARGE, RIGHT]),
        [Proof::Refuted, Proof::Cured]
    );
    let shared = work_proofs(&job(&[BAD, PLUG, CHARGE, RIGHT]), small());
    assert_eq!(
        (shared[0].shared_with.clone(), shared[0].start),
        (vec![2], Some(3))
    );
}

#[test]
fn a_finding_is_proven_no_further_than_the_entries_bear_out() {
    let finding = |cylinder: u8, proof: Option<Proof>| Finding {
        fault: "plug.dead".to_owned(),
        cylinder: Some(cylinder),
        proof,
    };
    let knowledge = small();
    let cured = job(&[BAD, PLUG, RIGHT]);
    let warm = job(&[BAD, PLUG, WARM]);
    let of = |job: &Job, cylinder, proof| finding_proof(job, &finding(cylinder, proof), knowledge);
    assert_eq!(of(&cured, 2, None), Proof::Cured);
    assert_eq!(of(&cured, 2, Some(Proof::Shown)), Proof::Shown);
    assert_eq!(of(&cured, 2, Some(Proof::Guess)), Proof::Guess);
    assert_eq!(of(&cured, 3, None), Proof::Guess);
    assert_eq!(of(&warm, 2, Some(Proof::Cured)), Proof::Believed);
    assert_eq!(of(&warm, 2, Some(Proof::Shown)), Proof::Believed);
    assert_eq!(of(&warm, 2, Some(Proof::Refuted)), Proof::Refuted);
}
