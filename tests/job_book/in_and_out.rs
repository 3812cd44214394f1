//! The same entries in the book and in files; answers and copies kept.

use hardstart::job::book::{Access, Book, BookError, Said};
use hardstart::job::{JobState, read_toml, to_toml};
use serde_json::json;

use crate::{book_with_a_job, knowledge, scenario};

#[test]
fn a_job_file_comes_out_as_it_went_in() {
    let place = tempfile::tempdir().unwrap();
    let mut book = Book::open(&place.path().join("book"), Access::Create).unwrap();
    for name in ["kl-11", "sm-21", "kl-44", "sm-03"] {
        let job = scenario(name);
        book.open_job(&job, knowledge()).unwrap();
        let out = book.job(&job.job, knowledge()).unwrap().job;
        assert_eq!(out, job, "{name}");
        let again = read_toml(&to_toml(&out), name, knowledge()).unwrap().job;
        assert_eq!(again.without_positions(), job, "{name}");
    }
    let twice = book.open_job(&scenario("kl-11"), knowledge()).unwrap_err();
    assert_eq!(
        twice,
        BookError::JobExists {
            job: "KL-11".to_owned()
        }
    );
}

#[test]
fn an_entry_that_is_not_understood_leaves_nothing() {
    let place = tempfile::tempdir().unwrap();
    let mut book = book_with_a_job(&place.path().join("book"));
    let good = json!({ "note": "rang" });
    let bad = json!({ "reading": { "check": "plug_curent", "value": "3 A" } });
    let error = book.add("1", &[good, bad], knowledge()).unwrap_err();
    assert!(matches!(error, BookError::NotUnderstood(_)), "{error}");
    assert_eq!(book.entries("1").unwrap(), 0);
    let error = book
        .add("7", &[json!({ "note": "x" })], knowledge())
        .unwrap_err();
    assert!(matches!(error, BookError::NoSuchJob { .. }));
}

#[test]
fn engine_and_bench_can_be_said_later_and_never_so_that_entries_lose_their_sense() {
    let place = tempfile::tempdir().unwrap();
    let mut book = book_with_a_job(&place.path().join("book"));
    let say = |book: &mut Book, more: serde_json::Value| {
        book.describe("1", more.as_object().unwrap(), knowledge())
    };
    say(
        &mut book,
        json!({ "engine": { "cylinders": 6, "preheat": "plugs" } }),
    )
    .unwrap();
    let reading = json!({ "reading": { "check": "plug_current", "cylinder": 5, "value": "3 A" } });
    book.add("1", &[reading], knowledge()).unwrap();
    // The reading at cylinder 5 would have no place.
    assert!(say(&mut book, json!({ "engine": { "cylinders": 4 } })).is_err());
    say(
        &mut book,
        json!({ "bench": { "people": 2 }, "engine": { "preheat": null } }),
    )
    .unwrap();
    let job = book.job("1", knowledge()).unwrap().job;
    assert_eq!((job.engine.cylinders, job.bench.people), (Some(6), Some(2)));
    assert_eq!(job.engine.preheat.id(), "unknown");
}

#[test]
fn the_list_follows_the_entries() {
    let place = tempfile::tempdir().unwrap();
    let mut book = book_with_a_job(&place.path().join("book"));
    let state = |book: &Book| book.slips(None, 0, 9, knowledge()).unwrap()[0].state;
    assert_eq!(state(&book), JobState::Booked);
    let entries = [
        json!({ "start": { "engine_temperature": "-6 degC", "soak": "12 h", "crank_time": "12 s" } }),
        json!({ "work": { "repair": "charge_battery" }, "at": "2025-01-14T17:00:00+01:00" }),
    ];
    book.add("1", &entries, knowledge()).unwrap();
    assert_eq!(state(&book), JobState::WaitingForColdStart);
    let waiting = book.waiting(knowledge()).unwrap();
    assert_eq!(
        waiting[0].since.as_deref(),
        Some("2025-01-14T17:00:00+01:00")
    );
    // Within 3 K of the complaint's -6 degC.
    assert_eq!(waiting[0].warmest, Some(-3.0));
    book.add("1", &[json!({ "undo": { "entry": 2 } })], knowledge())
        .unwrap();
    assert_eq!(state(&book), JobState::Open);
    let counts = book.counts(knowledge()).unwrap();
    assert!(counts.contains(&(JobState::Open, 1)));
}

#[test]
fn answers_and_copies_are_kept_as_they_were() {
    let place = tempfile::tempdir().unwrap();
    let mut book = book_with_a_job(&place.path().join("book"));
    let said = Said {
        after: 0,
        kind: "causes".to_owned(),
        at: "2025-01-14T17:00:00Z".to_owned(),
        program: "0.1.0".to_owned(),
        figures: "abc".to_owned(),
        body: "{\"chance\":0.58}".to_owned(),
    };
    book.keep("1", &said).unwrap();
    let later = Said {
        at: "2025-01-15T17:00:00Z".to_owned(),
        ..said.clone()
    };
    book.keep("1", &later).unwrap();
    assert_eq!(book.said("1").unwrap(), std::slice::from_ref(&said));
    let copy = place.path().join("copy");
    book.copy_to(&copy).unwrap();
    assert!(book.copy_to(&copy).is_err(), "nothing is overwritten");
    book.add("1", &[json!({ "note": "later" })], knowledge())
        .unwrap();
    let copy = Book::open(&copy, Access::Write).unwrap();
    assert_eq!(copy.entries("1").unwrap(), 0);
    assert_eq!(copy.said("1").unwrap(), [said]);
}
