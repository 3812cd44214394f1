//! The job book: what goes in comes out, whoever writes at the same time and whatever happens.

mod came_true;
mod commands;
mod in_and_out;
mod killed;
mod many_writers;
mod no_room;

use std::path::Path;
use std::process::{Command, Output};
use std::sync::OnceLock;

use hardstart::job::book::{Access, Book};
use hardstart::job::{Job, read_toml};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};

/// The built-in knowledge.
fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: OnceLock<Knowledge> = OnceLock::new();
    KNOWLEDGE.get_or_init(|| load(&KnowledgeFiles::built_in()).unwrap_or_else(|e| panic!("{e}")))
}

/// The program, with this book.
fn program(book: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardstart"));
    command.args(args).env("HARDSTART_BOOK", book);
    command
}

/// Runs the program.
fn run(book: &Path, args: &[&str]) -> Output {
    program(book, args).output().unwrap()
}

/// Runs the program and gives what it answers.
fn answer(book: &Path, args: &[&str]) -> String {
    let output = run(book, args);
    let error = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{args:?}: {error}");
    String::from_utf8(output.stdout).unwrap()
}

/// A book with one job, `1`.
fn book_with_a_job(file: &Path) -> Book {
    let mut book = Book::open(file, Access::Create).unwrap();
    book.open_job(&Job::new("1", "hard to start"), knowledge())
        .unwrap();
    book
}

/// A job of the scenarios.
fn scenario(name: &str) -> Job {
    let file = format!("{}/data/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(file).unwrap();
    read_toml(&text, name, knowledge())
        .unwrap()
        .job
        .without_positions()
}
