//! What was said before a repair, held against what the proof shows: from the kept answers alone.

use hardstart::job::book::{Access, Book, Said};
use hardstart::job::{Job, JobState};
use hardstart::scoring::came_true::{CameTrue, KIND, of_job};
use serde_json::{Value, json};

use crate::{answer, knowledge};

/// A job of number `job` with these entries, and an answer kept when it had `after` of them.
fn job(book: &mut Book, job: &str, entries: &[Value], after: usize, causes: &Value) {
    let mut head = Job::new(job, "hard to start");
    head.engine.cylinders = Some(4);
    book.open_job(&head, knowledge()).unwrap();
    book.add(job, entries, knowledge()).unwrap();
    say(book, job, after, causes);
}

fn say(book: &mut Book, job: &str, after: usize, causes: &Value) {
    let said = Said {
        after,
        kind: KIND.to_owned(),
        at: "2025-01-14T17:00:00Z".to_owned(),
        program: "0.1.0".to_owned(),
        figures: "abc".to_owned(),
        body: json!({ "causes": causes }).to_string(),
    };
    book.keep(job, &said).unwrap();
}

fn start(right: bool) -> Value {
    let result = if right { "right" } else { "same" };
    json!({ "start": { "engine_temperature": "-6 degC", "soak": "12 h", "result": result } })
}

fn bad() -> Value {
    json!({ "start": { "engine_temperature": "-6 degC", "soak": "12 h", "crank_time": "12 s" } })
}

fn work(repair: &str, cylinder: Option<u8>) -> Value {
    match cylinder {
        Some(c) => json!({ "work": { "repair": repair, "cylinder": c } }),
        None => json!({ "work": { "repair": repair } }),
    }
}

fn judged(book: &Book, job: &str) -> Option<Vec<(f64, bool)>> {
    let states = book.slips(None, 0, 99, knowledge()).unwrap();
    let slip = states.iter().find(|s| s.job == job).unwrap();
    assert_eq!(slip.state, JobState::DoneProven, "{job}");
    of_job(book, job, knowledge()).unwrap()
}

/// Expected: by hand, from what each repair mends and how each work is proven.
#[test]
fn what_was_said_before_the_work_is_held_against_the_proof() {
    let place = tempfile::tempdir().unwrap();
    let mut book = Book::open(&place.path().join("book"), Access::Create).unwrap();
    let said = json!([
        { "cause": "plug.dead:2", "cylinders": [2], "chance": 0.62 },
        { "cause": "plug.weak:2", "cylinders": [2], "chance": 0.21 },
        { "cause": "plug.weak:1", "cylinders": [1, 3, 4], "chance": 0.08 },
        { "cause": "battery.tired", "chance": 0.07 },
    ]);
    // The one repair proves: its likeliest cause was it, its others are anybody's guess.
    let one = [bad(), work("replace_plug", Some(2)), start(true)];
    job(&mut book, "one", &one, 1, &said);
    let not_there = [(0.08, false), (0.08, false), (0.08, false), (0.07, false)];
    let expected = [&[(0.62, true)][..], &not_there].concat();
    assert_eq!(judged(&book, "one"), Some(expected.clone()));
    // What is said after the work is hindsight, however sure.
    let after = json!([{ "cause": "plug.dead:2", "cylinders": [2], "chance": 0.99 }]);
    say(&mut book, "one", 3, &after);
    assert_eq!(judged(&book, "one"), Some(expected));
    // A finding says which of them it was.
    let found = json!({ "finding": { "fault": "plug.weak", "cylinder": 2 } });
    let named = [bad(), work("replace_plug", Some(2)), found, start(true)];
    job(&mut book, "named", &named, 1, &said);
    let expected = [&[(0.62, false), (0.21, true)][..], &not_there].concat();
    assert_eq!(judged(&book, "named"), Some(expected));
    // Two works before one cold start share the proof: neither is judged, the rest is.
    let two = [
        bad(),
        work("replace_plug", Some(2)),
        work("charge_battery", None),
        start(true),
    ];
    job(&mut book, "two", &two, 1, &said);
    let judged_two = judged(&book, "two").unwrap();
    assert!(judged_two.iter().all(|(_, there)| !there), "{judged_two:?}");
    assert!(judged_two.iter().all(|(p, _)| *p < 0.1), "{judged_two:?}");
    // Work without effect shows that it was not that.
    let refuted = [
        bad(),
        work("charge_battery", None),
        start(false),
        work("replace_plug", Some(2)),
        start(true),
    ];
    job(&mut book, "refuted", &refuted, 1, &said);
    let refuted = judged(&book, "refuted").unwrap();
    assert!(refuted.contains(&(0.07, false)), "{refuted:?}");
    assert!(refuted.contains(&(0.62, true)), "{refuted:?}");
    // Nobody looked before the work: nothing was said.
    let unseen = [bad(), work("replace_plug", Some(2)), start(true)];
    job(&mut book, "unseen", &unseen, 2, &said);
    assert_eq!(judged(&book, "unseen"), None);
    // As answers were once kept, which cylinders shared a row is not known.
    let old = json!([{ "cause": "plug.dead:1", "chance": 0.2 }, { "cause": "battery.tired", "chance": 0.07 }]);
    job(&mut book, "old", &one, 1, &old);
    assert_eq!(judged(&book, "old"), Some(vec![(0.07, false)]));
    // An open job does not count, and one that was never looked at does not either.
    job(
        &mut book,
        "open",
        &[bad(), work("replace_plug", Some(2))],
        1,
        &said,
    );
    let proven = book.proven(KIND, 99, knowledge()).unwrap();
    let proven: Vec<&str> = proven.iter().map(|p| p.0.as_str()).collect();
    assert_eq!(proven, ["old", "unseen", "refuted", "two", "named", "one"]);
}

/// Expected: bands meet at 5, 20, 40, 60, 80, 95 of a hundred as they are read, so 0.596 is 60.
#[test]
fn chances_are_put_into_bands_as_they_were_read() {
    let jobs = [
        vec![(0.596, true), (0.594, false)],
        vec![(0.796, false), (0.9999, true)],
    ];
    let came = CameTrue::of(&jobs);
    let counts: Vec<(u8, usize, usize)> = came
        .bands
        .iter()
        .map(|b| (b.from, b.causes, b.found))
        .collect();
    let expected = [
        (0, 0, 0),
        (5, 0, 0),
        (20, 0, 0),
        (40, 1, 0),
        (60, 1, 1),
        (80, 1, 0),
        (95, 1, 1),
    ];
    assert_eq!(counts, expected);
    assert!((came.bands[4].said - 0.596).abs() < 1e-12);
}

#[test]
fn the_command_says_the_same_sentences() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("book");
    let mut book = Book::open(&file, Access::Create).unwrap();
    let said = answer(&file, &["job", "score"]);
    assert!(said.contains("cannot be said"), "{said}");
    let causes = json!([{ "cause": "plug.dead:2", "cylinders": [2], "chance": 0.62 }]);
    for n in 0..20 {
        // Twelve times it was the plug, else the battery.
        let repair = if n < 12 {
            work("replace_plug", Some(2))
        } else {
            work("charge_battery", None)
        };
        job(
            &mut book,
            &n.to_string(),
            &[bad(), repair, start(true)],
            1,
            &causes,
        );
    }
    let said = answer(&file, &["job", "score"]).replace('\n', " ");
    let sentence = "Of 20 causes we put at 60 to 80 of 100 before the repair, 12 were found here";
    assert!(said.contains(sentence), "{said}");
    let json: Value = serde_json::from_str(&answer(&file, &["job", "score", "--json"])).unwrap();
    assert_eq!(json["jobs"], 20);
    assert_eq!(json["bands"][4]["found"], 12);
}
