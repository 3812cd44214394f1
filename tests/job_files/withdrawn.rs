//! Entries taken back and set aside by later ones: what is refused, what comes back.

use hardstart::job::{JobState, Parsed, read_json, read_toml, state, to_json, to_toml};

use crate::HEAD;
use crate::small::small;

const START: &str =
    "start = { engine_temperature = \"-6 degC\", soak = \"12 h\", crank_time = \"12 s\" }";
const TRIAL: &str =
    "reading = { check = \"plug_glow_time\", cylinder = 1, trial = 1, value = \"9 s\" }";
const WORK: &str = "work = { repair = \"charge_battery\" }";

fn text(entries: &[&str]) -> String {
    let list = entries.iter().map(|e| format!("[[entry]]\n{e}\n"));
    format!("{HEAD}{}", list.collect::<String>())
}

fn read(entries: &[&str]) -> Parsed {
    read_toml(&text(entries), "a.toml", small()).unwrap_or_else(|e| panic!("{e}"))
}

fn problem(entries: &[&str]) -> String {
    let problems = read_toml(&text(entries), "a.toml", small()).unwrap_err();
    assert_eq!(problems.problems.len(), 1, "{problems}");
    problems.problems[0].what.clone()
}

#[test]
fn both_formats_bring_back_what_was_undone_and_set_aside() {
    let job = read(&[
        START,
        TRIAL,
        "undo = { entry = 2 }",
        TRIAL,
        "aside = { entry = 4, why = \"clip slipped\" }",
        "undo = { entry = 3, why = \"it was right\" }\nat = \"2025-01-14T07:40:00+01:00\"",
    ])
    .job
    .without_positions();
    let used: Vec<bool> = job.entries.iter().map(|e| e.is_used()).collect();
    assert_eq!(used, [true, true, false, false, true, true]);
    let toml = read_toml(&to_toml(&job), "b.toml", small()).unwrap();
    assert_eq!(toml.job.without_positions(), job);
    let json = to_json(&job).to_string();
    let json = read_json(&json, "b.json", small()).unwrap();
    assert_eq!(json.job.without_positions(), job);
}

#[test]
fn an_undone_entry_does_not_make_the_state() {
    let of = |entries: &[&str]| state(&read(entries).job, small());
    assert_eq!(of(&[START, WORK]), JobState::WaitingForColdStart);
    assert_eq!(of(&[START, WORK, "undo = { entry = 2 }"]), JobState::Open);
    let back = [START, WORK, "undo = { entry = 2 }", "undo = { entry = 3 }"];
    assert_eq!(of(&back), JobState::WaitingForColdStart);
    assert_eq!(of(&[START, "undo = { entry = 1 }"]), JobState::Booked);
}

#[test]
fn a_trial_taken_back_may_be_written_again() {
    read(&[TRIAL, "undo = { entry = 1 }", TRIAL]);
    let what = problem(&[TRIAL, TRIAL]);
    assert!(what.contains("stands twice"), "{what}");
}

#[test]
fn what_cannot_be_taken_back_is_said() {
    let cases: [(&[&str], &str); 5] = [
        (
            &[START, "undo = { entry = 2 }"],
            "there is no entry 2 before",
        ),
        (&[START, "undo = { entry = 0 }"], "outside 1 to"),
        (
            &[START, "undo = { entry = 1 }", "undo = { entry = 1 }"],
            "entry 1 is undone already, by entry 2",
        ),
        (&[START, "aside = { entry = 1 }"], "`aside` has no `why`"),
        (
            &[
                START,
                "aside = { entry = 1, why = \"x\" }",
                "aside = { entry = 1, why = \"y\" }",
            ],
            "entry 1 is set aside already, by entry 2",
        ),
    ];
    for (entries, wanted) in cases {
        let what = problem(entries);
        assert!(what.contains(wanted), "{what}");
    }
}
