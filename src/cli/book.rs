//! Which job book, and what it refuses, as the command line says it.
//!
//! Must not read entries.

use std::path::PathBuf;

use super::book_args::BookFile;
use super::exit::Exit;
use super::failure::Failure;
use crate::job::book::{Access, Book, BookError, Said};
use crate::knowledge::Knowledge;
use crate::report::trouble::Trouble;

/// Names the book where it is not given as an argument.
const VARIABLE: &str = "HARDSTART_BOOK";

/// Where the book is: as given, as the environment says, or in the person's data directory.
///
/// # Errors
/// Usage, when nothing says where.
pub fn place(given: &BookFile) -> Result<PathBuf, Failure> {
    let set = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty());
    if let Some(book) = given.book.clone().or_else(|| set(VARIABLE).map(Into::into)) {
        return Ok(book);
    }
    let own = set("XDG_DATA_HOME").map(PathBuf::from).or_else(|| {
        let home = set("HOME").or_else(|| set("USERPROFILE"))?;
        Some(PathBuf::from(home).join(".local/share"))
    });
    match own {
        Some(own) => Ok(own.join("hardstart/book.sqlite")),
        None => {
            let what = "nothing says where the job book is";
            let advice = "give it with --book FILE";
            Err(Failure::new(Exit::Usage, Trouble::new(what, advice)))
        }
    }
}

/// Opens the book; to write, its directory is made if need be.
///
/// # Errors
/// When it cannot be opened.
pub fn open(given: &BookFile, access: Access) -> Result<Book, Failure> {
    let place = place(given)?;
    if access == Access::Create
        && let Some(directory) = place.parent()
    {
        // Why it failed is said when the book cannot be opened.
        let _ = std::fs::create_dir_all(directory);
    }
    Ok(Book::open(&place, access)?)
}

/// Now, with the zone of this place, to the second.
#[must_use]
pub fn now() -> String {
    jiff::ZonedDateTime::now()
        .strftime("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}

/// Keeps an answer in the book. One that may not be written in still answers.
pub fn keep(
    given: &BookFile,
    job: &str,
    after: usize,
    kind: &str,
    knowledge: &Knowledge,
    body: &serde_json::Value,
) {
    let said = Said {
        after,
        kind: kind.to_owned(),
        at: now(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        figures: knowledge.sha256.clone(),
        body: body.to_string(),
    };
    let kept = open(given, Access::Write).map(|mut book| book.keep(job, &said));
    if let Ok(Err(error)) = kept {
        super::out::message(&format!("note: the answer was not kept: {error}\n"));
    }
}

impl From<BookError> for Failure {
    fn from(error: BookError) -> Self {
        let exit = match &error {
            BookError::Newer { .. } => Exit::VersionMismatch,
            BookError::NotOpened { .. }
            | BookError::NotABook { .. }
            | BookError::NoSuchJob { .. }
            | BookError::NoNumber { .. }
            | BookError::NotUnderstood(_) => Exit::NoUsableInput,
            _ => Exit::Failed,
        };
        let troubles = match &error {
            BookError::NotUnderstood(errors) => {
                let problems = errors.problems.iter();
                problems
                    .map(|p| Trouble::new(p.what.clone(), p.try_.clone()))
                    .collect()
            }
            _ => vec![Trouble::new(error.to_string(), error.advice())],
        };
        Failure::Said { exit, troubles }
    }
}
