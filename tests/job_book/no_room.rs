//! No room, and a book that may only be read: a clear message, and nothing lost.

use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Output};

use hardstart::job::book::{Access, Book};
use serde_json::json;

use crate::{answer, book_with_a_job, knowledge, run};

/// A user that owns nothing.
const NOBODY: u32 = 65534;

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The program with no file allowed to grow past `blocks` of 512 bytes, as on a full disk.
fn with_room(book: &Path, blocks: u64, note: &str) -> Output {
    let limited = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\"");
    Command::new("sh")
        .args(["-c", &limited, "sh", env!("CARGO_BIN_EXE_hardstart")])
        .args(["note", "1", "--kind", "text", note])
        .env("HARDSTART_BOOK", book)
        .output()
        .unwrap()
}

#[test]
fn without_room_nothing_is_lost_and_it_is_said() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("book");
    let mut book = book_with_a_job(&file);
    book.add("1", &[json!({ "note": "before" })], knowledge())
        .unwrap();
    drop(book);
    let long = "x".repeat(60_000);
    for blocks in [0, 1, 8, 40, 80] {
        let output = with_room(&file, blocks, &long);
        let error = said(&output);
        assert_eq!(output.status.code(), Some(1), "{blocks}: {error}");
        assert!(error.contains("job book"), "{error}");
        assert!(
            error.contains("nothing of this was written") || error.contains("nothing was written"),
            "{error}"
        );
        assert!(error.contains("Try: "), "{error}");
        let book = Book::open(&file, Access::Read).unwrap();
        assert_eq!(book.entries("1").unwrap(), 1, "{blocks}");
    }
    // With room again it goes on.
    answer(&file, &["note", "1", "--kind", "text", "after"]);
    let book = Book::open(&file, Access::Read).unwrap();
    assert_eq!(book.entries("1").unwrap(), 2);
}

/// The program as somebody who may not write here.
fn as_nobody(place: &Path, book: &Path, args: &[&str]) -> Output {
    // The program is put where anybody may run it.
    let own = place.join("hardstart");
    if !own.exists() {
        std::fs::copy(env!("CARGO_BIN_EXE_hardstart"), &own).unwrap();
    }
    let mut command = Command::new(&own);
    command.args(args).env("HARDSTART_BOOK", book);
    if std::fs::metadata(book).unwrap().uid() == 0 {
        command.uid(NOBODY).gid(NOBODY);
    }
    command.output().unwrap()
}

#[test]
fn a_book_that_may_only_be_read_is_read_and_says_so() {
    let place = tempfile::tempdir().unwrap();
    let shelf = place.path().join("shelf");
    std::fs::create_dir(&shelf).unwrap();
    let file = shelf.join("book");
    drop(book_with_a_job(&file));
    let mode = |path: &Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    mode(place.path(), 0o755);
    mode(&file, 0o444);
    mode(&shelf, 0o555);
    let read = as_nobody(place.path(), &file, &["job", "list"]);
    let list = String::from_utf8_lossy(&read.stdout).into_owned();
    assert!(list.contains("hard to start"), "{list}{}", said(&read));
    let note = as_nobody(place.path(), &file, &["note", "1", "--kind", "text", "x"]);
    let error = said(&note);
    assert_eq!(note.status.code(), Some(1), "{error}");
    assert!(
        error.contains("may only be read; nothing was written"),
        "{error}"
    );
    mode(&shelf, 0o755);
    mode(&file, 0o644);
    let book = Book::open(&file, Access::Read).unwrap();
    assert_eq!(book.entries("1").unwrap(), 0);
}

#[test]
fn what_is_no_book_is_left_alone() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("letter.txt");
    let text = "Dear customer, ".repeat(200);
    std::fs::write(&file, &text).unwrap();
    let output = run(&file, &["job", "new", "hard to start"]);
    assert_eq!(output.status.code(), Some(4));
    assert!(
        said(&output).contains("is no job book"),
        "{}",
        said(&output)
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
}
