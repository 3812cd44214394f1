//! Answers as they were given: what was said then, with the version of the figures, so that
//! nobody judges it with hindsight.
//!
//! An answer is a document that is carried and not read. Must not give one.

use rusqlite::{OptionalExtension, Row, params};

use super::error::BookError;
use super::file::Book;

/// One answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// How many entries the job had then.
    pub after: usize,
    /// What was asked: `causes`, `next`.
    pub kind: String,
    /// When, RFC 3339.
    pub at: String,
    /// Version of the program.
    pub program: String,
    /// Hash of the figures used.
    pub figures: String,
    /// The answer, a JSON document.
    pub body: String,
}

impl Book {
    /// Keeps an answer; the same one, to the same entries by the same figures, is kept once.
    ///
    /// # Errors
    /// When there is no such job, or the book cannot be written.
    pub fn keep(&mut self, job: &str, said: &Said) -> Result<(), BookError> {
        let id = self.known(job)?;
        self.change(|change, file| {
            let sql = "INSERT OR IGNORE INTO said (job, after, kind, at, program, figures, body)
                       VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
            let row = params![
                id,
                said.after,
                said.kind,
                said.at,
                said.program,
                said.figures,
                said.body
            ];
            let kept = change.execute(sql, row);
            kept.map(|_| ()).map_err(|e| BookError::of(file, &e))
        })
    }

    /// The last answer of this kind that was given when the job had at most so many entries.
    ///
    /// # Errors
    /// When there is no such job, or the book cannot be read.
    pub fn said_before(
        &self,
        job: &str,
        kind: &str,
        entries: usize,
    ) -> Result<Option<Said>, BookError> {
        let id = self.known(job)?;
        let sql = "SELECT after, kind, at, program, figures, body FROM said
                   WHERE job = ?1 AND kind = ?2 AND after <= ?3
                   ORDER BY after DESC, id DESC LIMIT 1";
        let last = || {
            let mut last = self.connection.prepare_cached(sql)?;
            last.query_row(params![id, kind, entries], said).optional()
        };
        last().map_err(|e| self.sql(&e))
    }

    /// Every answer given to a job, in order.
    ///
    /// # Errors
    /// When there is no such job, or the book cannot be read.
    pub fn said(&self, job: &str) -> Result<Vec<Said>, BookError> {
        let id = self.known(job)?;
        let sql = "SELECT after, kind, at, program, figures, body FROM said
                   WHERE job = ?1 ORDER BY id";
        let list = || {
            let mut all = self.connection.prepare_cached(sql)?;
            let said = all.query_map([id], said)?;
            said.collect::<rusqlite::Result<Vec<Said>>>()
        };
        list().map_err(|e| self.sql(&e))
    }
}

fn said(row: &Row<'_>) -> rusqlite::Result<Said> {
    Ok(Said {
        after: row.get(0)?,
        kind: row.get(1)?,
        at: row.get(2)?,
        program: row.get(3)?,
        figures: row.get(4)?,
        body: row.get(5)?,
    })
}
