//! A job from the first word to the cold start that proves it, on the command line.

use serde_json::Value;

use crate::{answer, run};

const START: [&str; 7] = [
    "note",
    "1",
    "--kind",
    "start",
    "engine_temperature=-7 degC",
    "soak=12 h",
    "crank_time=30 s",
];

#[test]
fn a_job_from_the_complaint_to_the_proof() {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("new directory/book");
    let said = answer(
        &book,
        &[
            "job",
            "new",
            "cranks half a minute in frost",
            "engine.cylinders=4",
            "engine.chamber=swirl",
            "engine.preheat=plugs",
            "engine.system_volts=12",
        ],
    );
    assert_eq!(said, "Job 1 is open.\n");
    let said = answer(&book, &START);
    assert!(said.ends_with("The job is open.\n"), "{said}");
    let early = run(&book, &["coldstart", "1", "right", "soak=12 h"]);
    assert_eq!(early.status.code(), Some(1));
    answer(&book, &["note", "1", "series_lamp_per_plug:2", "dark"]);
    let wrong = run(&book, &["note", "1", "series_lamp_per_plug:3", "drk"]);
    let error = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert!(error.contains("did you mean `dark`?"), "{error}");
    let said = answer(&book, &["did", "1", "replace_plug:2", "minutes=40"]);
    assert!(
        said.ends_with("The job is waiting for a cold start.\n"),
        "{said}"
    );
    let list = answer(&book, &["job", "list"]);
    assert!(
        list.contains("a start after 8 h or more at -4 degC or colder; work done today"),
        "{list}"
    );

    // Started warm: no proof.
    let said = answer(
        &book,
        &[
            "coldstart",
            "1",
            "right",
            "engine_temperature=40 degC",
            "soak=1 h",
        ],
    );
    assert!(said.contains("started warm is not proof"), "{said}");
    let closed = run(&book, &["job", "close", "1"]);
    assert_eq!(closed.status.code(), Some(1));
    let error = String::from_utf8_lossy(&closed.stderr).into_owned();
    assert!(error.contains("No cold start after the work"), "{error}");

    // Better, not right: the job is open again and closes only with a reason.
    let said = answer(
        &book,
        &[
            "coldstart",
            "1",
            "better",
            "engine_temperature=-7 degC",
            "soak=13 h",
            "crank_time=9 s",
            "miss=one",
            "time_to_even=20 s",
        ],
    );
    assert!(said.contains("Better, not right: about"), "{said}");
    assert!(said.contains("The job is open."), "{said}");
    assert_eq!(run(&book, &["job", "close", "1"]).status.code(), Some(1));
    let said = answer(&book, &["job", "close", "1", "--why", "sold as it is"]);
    assert!(said.ends_with("The job is done, not proven.\n"), "{said}");

    // Undone, it is open again; a right start proves it.
    answer(&book, &["undo", "1", "6"]);
    let causes = answer(&book, &["causes", "--job", "1"]);
    assert!(causes.contains("Where we stand"), "{causes}");
    let kept: Value =
        serde_json::from_str(&answer(&book, &["job", "show", "1", "--said"])).unwrap();
    assert_eq!(kept[0]["asked"], "causes");
    assert_eq!(kept[0]["after"], 7);
    assert_eq!(kept[0]["answer"]["schema"], "hardstart/causes/1");
    let right = [
        "coldstart",
        "1",
        "right",
        "engine_temperature=-8 degC",
        "soak=13 h",
        "crank_time=1 s",
    ];
    let said = answer(&book, &right);
    assert!(said.contains("The job is done, proven."), "{said}");
    assert!(
        said.contains("asks for a second cold start on another day"),
        "{said}"
    );
    let shown = answer(&book, &["job", "show", "1"]);
    assert!(shown.contains("undo.entry = 6"), "{shown}");
    let sheet = answer(&book, &["sheet", "--job", "1"]);
    // Lines are wrapped at the width of the terminal.
    let sheet = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        sheet.contains("cured: one change, then a right cold start"),
        "{sheet}"
    );
}

#[test]
fn job_files_go_in_and_come_out() {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("book");
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/data/scenarios/kl-11.toml");
    assert_eq!(
        answer(&book, &["job", "take", file]),
        "1 taken into the job book.\n"
    );
    let third = place.path().join("third");
    let taken: Value =
        serde_json::from_str(&answer(&third, &["job", "take", file, "--json"])).unwrap();
    assert_eq!(taken["taken"], 1);
    for number in ["", " ", " 7", "a\tb", &"7".repeat(101)] {
        let odd = run(&third, &["job", "new", "hard to start", "--number", number]);
        assert_eq!(odd.status.code(), Some(4), "{number:?}");
        let error = String::from_utf8_lossy(&odd.stderr).into_owned();
        assert!(error.contains("is no number of a job"), "{error}");
    }
    let again = run(&book, &["job", "take", file]);
    assert_eq!(again.status.code(), Some(4));
    let lines = answer(&book, &["job", "list", "--ndjson"]);
    let other = place.path().join("other");
    let ndjson = place.path().join("all.ndjson");
    std::fs::write(&ndjson, &lines).unwrap();
    let name = ndjson.to_str().unwrap();
    assert_eq!(
        answer(&other, &["job", "take", name]),
        "1 taken into the job book.\n"
    );
    assert_eq!(
        answer(&other, &["job", "show", "KL-11"]),
        answer(&book, &["job", "show", "KL-11"])
    );
    let near = run(&book, &["causes", "--job", "KL-1"]);
    assert!(String::from_utf8_lossy(&near.stderr).contains("did you mean `KL-11`?"));
}

/// Keys that other words of the command already say were dropped without a word.
#[test]
fn words_that_would_be_dropped_are_refused() {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("book");
    let said = |arguments: &[&str]| {
        let out = run(&book, arguments);
        let text = String::from_utf8_lossy(&out.stderr).into_owned();
        (out.status.code(), text)
    };
    for word in [
        "complaint=zz",
        "job=77",
        "schema=hardstart/job/9",
        "entry=[]",
    ] {
        let (code, text) = said(&["job", "new", "cranks long", word]);
        assert_eq!(code, Some(2), "{word}: {text}");
        let key = word.split('=').next().unwrap();
        assert!(text.contains(&format!("`{key}`")), "{word}: {text}");
    }
    answer(&book, &["job", "new", "cranks long"]);
    for word in ["job=zz", "entry=[]"] {
        assert_eq!(said(&["job", "set", "1", word]).0, Some(2), "{word}");
    }
    answer(&book, &START);
    answer(
        &book,
        &[
            "did",
            "1",
            "replace_plug:2",
            "minutes=2,5",
            "parts_cost=12,50",
        ],
    );
    assert_eq!(
        said(&["coldstart", "1", "worse", "result=right"]).0,
        Some(2)
    );
    // A number of jobs no book holds was blamed on the disk.
    let (code, text) = said(&["job", "list", "--most", "18446744073709551615"]);
    assert_eq!(code, Some(2), "{text}");
    assert_eq!(said(&["job", "list", "--most", "0"]).0, Some(2));
}

/// What a new user types first: no book yet is no fault, and work is not a reading.
#[test]
fn an_empty_list_is_no_fault_and_work_is_sent_to_its_own_command() {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("not there yet");
    assert!(answer(&book, &["job", "list"]).starts_with("No jobs yet."));
    let list: Value = serde_json::from_str(&answer(&book, &["job", "list", "--json"])).unwrap();
    assert_eq!(list["jobs"], serde_json::json!([]));
    assert!(!book.exists(), "looking makes nothing");
    answer(&book, &["job", "new", "cranks long"]);
    let wrong = run(&book, &["note", "1", "replace_plug:2", "done"]);
    let error = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert!(
        error.contains("is work, not a check") && error.contains("hardstart did"),
        "{error}"
    );
}

/// A check put off is offered again once that is taken back.
#[test]
fn a_check_may_wait() {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("book");
    answer(
        &book,
        &[
            "job",
            "new",
            "cranks long",
            "engine.cylinders=4",
            "engine.preheat=plugs",
        ],
    );
    let hidden = || {
        let next = answer(&book, &["next", "--job", "1", "--json"]);
        let next: Value = serde_json::from_str(&next).unwrap();
        let hidden = next["hidden"].as_array().unwrap().iter();
        hidden
            .filter(|h| h["check"] == "compression")
            .map(|h| h["why"].as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert!(hidden().is_empty());
    let said = answer(&book, &["note", "1", "--kind", "later", "compression"]);
    assert!(said.contains("put off: "), "{said}");
    assert_eq!(hidden(), ["later"]);
    answer(&book, &["undo", "1", "1"]);
    assert!(hidden().is_empty());
}
