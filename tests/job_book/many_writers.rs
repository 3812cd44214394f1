//! Several writers at once: nothing is lost, nothing stands twice.

use hardstart::job::EntryBody;
use hardstart::job::book::{Access, Book};
use serde_json::json;

use crate::{answer, book_with_a_job, knowledge, program};

const WRITERS: usize = 4;
const EACH: usize = 20;
const PROCESSES: usize = 24;

fn notes(book: &Book) -> Vec<String> {
    let job = book.job("1", knowledge()).unwrap().job;
    let mut notes: Vec<String> = job
        .entries
        .iter()
        .filter(|e| e.body == EntryBody::Note)
        .filter_map(|e| e.note.clone())
        .collect();
    notes.sort();
    notes
}

#[test]
fn threads_lose_nothing() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("book");
    let book = book_with_a_job(&file);
    std::thread::scope(|scope| {
        for writer in 0..WRITERS {
            let file = &file;
            scope.spawn(move || {
                let mut book = Book::open(file, Access::Write).unwrap();
                for n in 0..EACH {
                    let note = json!({ "note": format!("{writer} {n:02}") });
                    book.add("1", &[note], knowledge()).unwrap();
                }
            });
        }
    });
    let wanted: Vec<String> = (0..WRITERS)
        .flat_map(|w| (0..EACH).map(move |n| format!("{w} {n:02}")))
        .collect();
    assert_eq!(notes(&book), wanted);
}

#[test]
fn processes_lose_nothing() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("book");
    drop(book_with_a_job(&file));
    let mut children = Vec::new();
    for n in 0..PROCESSES {
        let note = format!("{n:02}");
        let args = ["note", "1", "--kind", "text", note.as_str()];
        children.push(program(&file, &args).spawn().unwrap());
    }
    for child in &mut children {
        assert!(child.wait().unwrap().success());
    }
    let book = Book::open(&file, Access::Read).unwrap();
    let wanted: Vec<String> = (0..PROCESSES).map(|n| format!("{n:02}")).collect();
    assert_eq!(notes(&book), wanted);
}

#[test]
fn a_new_book_may_be_made_by_several_at_once() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("book");
    let mut children = Vec::new();
    for _ in 0..6 {
        children.push(
            program(&file, &["job", "new", "hard to start"])
                .spawn()
                .unwrap(),
        );
    }
    for child in &mut children {
        assert!(child.wait().unwrap().success());
    }
    let list = answer(&file, &["job", "list", "--json"]);
    let list: serde_json::Value = serde_json::from_str(&list).unwrap();
    let mut numbers: Vec<&str> = list["jobs"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|j| j["job"].as_str())
        .collect();
    numbers.sort_unstable();
    assert_eq!(numbers, ["1", "2", "3", "4", "5", "6"]);
}
