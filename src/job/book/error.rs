//! Why the book does not do what was asked, in words a person can act on.
//!
//! Must not hold advice on a job itself; the reader of jobs gives that.

use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::job::JobErrors;

/// Why the book refused. Nothing that was acknowledged before is lost by any of these, and
/// nothing of what was refused is written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BookError {
    /// The file is not there, or cannot be opened.
    #[error("the job book {} cannot be opened: {why}", file.display())]
    NotOpened {
        /// The book.
        file: PathBuf,
        /// What the system says.
        why: String,
    },
    /// The file is something else.
    #[error("{} is no job book", file.display())]
    NotABook {
        /// The file.
        file: PathBuf,
    },
    /// A newer program wrote it.
    #[error("the job book {} has version {found}, this program knows {known}", file.display())]
    Newer {
        /// The book.
        file: PathBuf,
        /// Version of the book.
        found: i64,
        /// Newest version known.
        known: i64,
    },
    /// No room is left.
    #[error("the disk of the job book {} is full; nothing of this was written", file.display())]
    Full {
        /// The book.
        file: PathBuf,
    },
    /// It may only be read.
    #[error("the job book {} may only be read; nothing was written", file.display())]
    ReadOnly {
        /// The book.
        file: PathBuf,
    },
    /// Somebody else was writing for too long.
    #[error("somebody else is writing in the job book {}; nothing was written", file.display())]
    Busy {
        /// The book.
        file: PathBuf,
    },
    /// The file is damaged.
    #[error("the job book {} is damaged: {why}", file.display())]
    Damaged {
        /// The book.
        file: PathBuf,
        /// What was found.
        why: String,
    },
    /// The system refused to read or write.
    #[error("the job book {} could not be read or written: {why}; nothing was written", file.display())]
    Refused {
        /// The book.
        file: PathBuf,
        /// What the system says.
        why: String,
    },
    /// There is no such job.
    #[error("the job book holds no job `{job}`")]
    NoSuchJob {
        /// As asked for.
        job: String,
        /// A job that may have been meant.
        near: Option<String>,
    },
    /// There is such a job already.
    #[error("the job book holds a job `{job}` already")]
    JobExists {
        /// Its number.
        job: String,
    },
    /// A job cannot be called by this number.
    #[error("`{}` is no number of a job: {why}", short(job))]
    NoNumber {
        /// As given.
        job: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// What was to be written is not understood.
    #[error(transparent)]
    NotUnderstood(#[from] JobErrors),
}

/// Most characters of the number of a job: more fits on no sheet and no line (own judgement).
pub(super) const LONGEST_NUMBER: usize = 100;

/// What is wrong with the number of a job, if anything is.
pub(super) fn number_trouble(number: &str) -> Option<&'static str> {
    if number.trim().is_empty() {
        Some("it is empty")
    } else if number.trim() != number {
        Some("it begins or ends with a blank")
    } else if number.chars().any(char::is_control) {
        Some("it holds a sign that cannot be seen")
    } else if number.chars().count() > LONGEST_NUMBER {
        Some("it is too long")
    } else {
        None
    }
}

/// The start of a text that may be very long.
fn short(text: &str) -> String {
    const SHOWN: usize = 40;
    let mut start: String = text.chars().take(SHOWN).collect();
    if start.len() < text.len() {
        start.push('…');
    }
    start
}

impl BookError {
    /// The error of the database, in our words.
    pub(super) fn of(file: &Path, error: &rusqlite::Error) -> Self {
        let file = file.to_owned();
        let why = error.to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => BookError::Full { file },
            Some(ErrorCode::ReadOnly) => BookError::ReadOnly { file },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => BookError::Busy { file },
            Some(ErrorCode::NotADatabase) => BookError::NotABook { file },
            Some(ErrorCode::DatabaseCorrupt) => BookError::Damaged { file, why },
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                BookError::NotOpened { file, why }
            }
            _ => BookError::Refused { file, why },
        }
    }

    /// What to try.
    #[must_use]
    pub fn advice(&self) -> String {
        match self {
            BookError::NotOpened { .. } => {
                "see whether the name is right and the place may be written to".to_owned()
            }
            BookError::NotABook { .. } => {
                "give the name of a job book, or of a file that is not there yet".to_owned()
            }
            BookError::Newer { .. } => "use the newer program".to_owned(),
            BookError::Full { .. } => {
                "make room and do it again; what was written before is kept".to_owned()
            }
            BookError::ReadOnly { .. } => {
                "take the write protection off, or write in a copy of the book".to_owned()
            }
            BookError::Busy { .. } => "do it again in a moment".to_owned(),
            BookError::Damaged { .. } => "go on with the latest copy (job backup)".to_owned(),
            BookError::Refused { .. } => {
                "see whether the disk is there and has room; what was written before is kept"
                    .to_owned()
            }
            BookError::NoSuchJob {
                near: Some(near), ..
            } => format!("did you mean `{near}`?"),
            BookError::NoSuchJob { near: None, .. } => {
                "hardstart job list shows the jobs there are".to_owned()
            }
            BookError::JobExists { .. } => "give it another number".to_owned(),
            BookError::NoNumber { .. } => {
                format!("write up to {LONGEST_NUMBER} letters and figures, as on the job sheet")
            }
            BookError::NotUnderstood(_) => "correct it and do it again".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_something_a_person_can_write_and_ask_for() {
        for good in [
            "1",
            "TW-214",
            "2023 / 14",
            "Größe 3",
            &"x".repeat(LONGEST_NUMBER),
        ] {
            assert_eq!(number_trouble(good), None, "{good}");
        }
        for bad in [
            "",
            "  ",
            " 1",
            "1 ",
            "a\nb",
            "a\u{7f}",
            &"x".repeat(LONGEST_NUMBER + 1),
        ] {
            assert!(number_trouble(bad).is_some(), "{bad}");
        }
        let job = "x".repeat(5000);
        let error = BookError::NoNumber {
            job,
            why: "it is too long",
        };
        assert!(error.to_string().chars().count() < 100, "{error}");
    }
}
