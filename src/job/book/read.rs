//! A job of the book as the files have it: same keys, same entries, same reader.
//!
//! Must not interpret an entry itself.

use rusqlite::{Connection, OptionalExtension};
use serde_json::{Map, Value};

use super::error::BookError;
use super::file::Book;
use crate::job::{Parsed, read_json};
use crate::knowledge::Knowledge;

/// Likeness from which another job may have been meant; own judgement.
const ALIKE: f64 = 0.85;
/// Name of the text in messages.
const NAME: &str = "job book";

impl Book {
    /// A job with all its entries, taken back ones included. Its entries have no lines, and its
    /// notes carry line 0: the path says which entry.
    ///
    /// # Errors
    /// When there is no such job, or an entry is not understood with this knowledge.
    pub fn job(&self, job: &str, knowledge: &Knowledge) -> Result<Parsed, BookError> {
        let id = id(&self.connection, job).map_err(|e| self.sql(&e))?;
        let Some(id) = id else {
            return Err(self.no_such(job));
        };
        let text = text(&self.connection, id, &[]).map_err(|e| self.sql(&e))?;
        understand(&text, knowledge)
    }

    /// Numbers of all jobs, in the order in which they were opened.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn names(&self) -> Result<Vec<String>, BookError> {
        let names = || {
            let mut all = self
                .connection
                .prepare("SELECT name FROM job ORDER BY id")?;
            let names = all.query_map([], |row| row.get(0))?;
            names.collect::<rusqlite::Result<Vec<String>>>()
        };
        names().map_err(|e| self.sql(&e))
    }

    /// How many entries a job has: tells whether somebody else wrote meanwhile.
    ///
    /// # Errors
    /// When there is no such job.
    pub fn entries(&self, job: &str) -> Result<usize, BookError> {
        let sql = "SELECT (SELECT count(*) FROM entry WHERE job = job.id) FROM job WHERE name = ?1";
        let found = self.connection.query_row(sql, [job], |row| row.get(0));
        match found.optional() {
            Ok(Some(count)) => Ok(count),
            Ok(None) => Err(self.no_such(job)),
            Err(error) => Err(self.sql(&error)),
        }
    }

    pub(super) fn no_such(&self, job: &str) -> BookError {
        let names = self.names().unwrap_or_default();
        let typed = job.to_lowercase();
        let likeness = |name: &String| strsim::jaro_winkler(&name.to_lowercase(), &typed);
        let near = names
            .into_iter()
            .filter(|name| likeness(name) >= ALIKE)
            .max_by(|a, b| likeness(a).total_cmp(&likeness(b)));
        BookError::NoSuchJob {
            job: job.to_owned(),
            near,
        }
    }
}

/// Key of a job.
pub(super) fn id(connection: &Connection, job: &str) -> rusqlite::Result<Option<i64>> {
    let mut find = connection.prepare_cached("SELECT id FROM job WHERE name = ?1")?;
    find.query_row([job], |row| row.get(0)).optional()
}

/// What was last said about a job as a whole.
pub(super) fn head(connection: &Connection, id: i64) -> rusqlite::Result<Map<String, Value>> {
    let sql = "SELECT body FROM head WHERE job = ?1 ORDER BY id DESC LIMIT 1";
    let mut last = connection.prepare_cached(sql)?;
    let body: String = last.query_row([id], |row| row.get(0))?;
    // Written by us and kept valid by the table.
    Ok(serde_json::from_str(&body).unwrap_or_default())
}

/// The job as one JSON text: the newest head, the entries, and some more.
pub(super) fn text(connection: &Connection, id: i64, more: &[String]) -> rusqlite::Result<String> {
    let mut text = Value::Object(head(connection, id)?).to_string();
    let empty = text == "{}";
    text.pop();
    text.push_str(if empty { "\"entry\":[" } else { ",\"entry\":[" });
    let sql = "SELECT body FROM entry WHERE job = ?1 ORDER BY number";
    let mut all = connection.prepare_cached(sql)?;
    let mut rows = all.query([id])?;
    let mut first = true;
    let mut add = |body: &str| {
        text.push_str(if first { "\n" } else { ",\n" });
        text.push_str(body);
        first = false;
    };
    while let Some(row) = rows.next()? {
        add(row.get_ref(0)?.as_str()?);
    }
    more.iter().for_each(|body| add(body));
    text.push_str("]}");
    Ok(text)
}

/// The job of such a text, without places.
pub(super) fn understand(text: &str, knowledge: &Knowledge) -> Result<Parsed, BookError> {
    let mut parsed = read_json(text, NAME, knowledge)?;
    parsed.job = parsed.job.without_positions();
    for note in &mut parsed.notes {
        (note.line, note.column) = (0, 0);
    }
    Ok(parsed)
}
