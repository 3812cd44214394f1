//! New jobs, new entries, new words about engine and bench. Whatever is written was understood
//! first, in the place where it will stand.
//!
//! Must not change a row of what was written before.

use rusqlite::{Connection, Transaction, params};
use serde_json::{Map, Value};

use super::error::{self, BookError};
use super::file::Book;
use super::{read, slip};
use crate::job::{Job, Parsed, SCHEMA, to_json};
use crate::knowledge::Knowledge;

/// What was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Added {
    /// Number of the first new entry, from 1. Greater than expected if somebody else wrote too.
    pub first: usize,
    /// The job with the new entries.
    pub parsed: Parsed,
}

impl Book {
    /// Opens a job with the entries it has.
    ///
    /// # Errors
    /// When there is a job of that number already, or it is not understood.
    pub fn open_job(&mut self, job: &Job, knowledge: &Knowledge) -> Result<Parsed, BookError> {
        self.change(|change, file| {
            let sql = |e: rusqlite::Error| BookError::of(file, &e);
            insert_job(change, job, knowledge, &sql)
        })
    }

    /// Opens an empty job under the next free number and gives that number: the highest whole
    /// number in use and one more.
    ///
    /// # Errors
    /// When the book cannot be written.
    pub fn open_next(&mut self, job: &Job, knowledge: &Knowledge) -> Result<String, BookError> {
        self.change(|change, file| {
            let sql = |e: rusqlite::Error| BookError::of(file, &e);
            let most = "SELECT coalesce(max(CAST(name AS INTEGER)), 0) FROM job
                        WHERE name NOT GLOB '*[^0-9]*' AND length(name) < 10";
            let most: i64 = change.query_row(most, [], |row| row.get(0)).map_err(sql)?;
            let job = Job {
                job: (most + 1).to_string(),
                ..job.clone()
            };
            insert_job(change, &job, knowledge, &sql)?;
            Ok(job.job)
        })
    }

    /// Adds entries at the end of a job, all of them or none. Each is an object as in job files
    /// (`{"reading": {"check": ..., "value": ...}, "at": ...}`).
    ///
    /// # Errors
    /// When there is no such job, or an entry is not understood where it would stand.
    pub fn add(
        &mut self,
        job: &str,
        entries: &[Value],
        knowledge: &Knowledge,
    ) -> Result<Added, BookError> {
        let id = self.known(job)?;
        self.change(|change, file| {
            let sql = |e: rusqlite::Error| BookError::of(file, &e);
            let count = "SELECT count(*) FROM entry WHERE job = ?1";
            let there: usize = change
                .query_row(count, [id], |row| row.get(0))
                .map_err(sql)?;
            let new: Vec<String> = entries.iter().map(Value::to_string).collect();
            let text = read::text(change, id, &new).map_err(sql)?;
            let parsed = read::understand(&text, knowledge)?;
            // As understood and written again: the same text from every way in.
            let Value::Object(written) = to_json(&parsed.job) else {
                return Ok(Added {
                    first: there + 1,
                    parsed,
                });
            };
            insert_entries(change, id, &written, there).map_err(sql)?;
            slip::renew(change, id, &parsed.job, knowledge).map_err(sql)?;
            Ok(Added {
                first: there + 1,
                parsed,
            })
        })
    }

    /// Says more, or something else, about a job as a whole: `{"engine": {"cylinders": 6}}`.
    /// Keys not named stay; a key set to null is forgotten. The old words stay in the file.
    ///
    /// # Errors
    /// When there is no such job, or an entry would no longer be understood.
    pub fn describe(
        &mut self,
        job: &str,
        more: &Map<String, Value>,
        knowledge: &Knowledge,
    ) -> Result<Parsed, BookError> {
        let id = self.known(job)?;
        self.change(|change, file| {
            let sql = |e: rusqlite::Error| BookError::of(file, &e);
            let mut head = read::head(change, id).map_err(sql)?;
            for (key, value) in more.iter().filter(|(k, _)| *k != "entry" && *k != "job") {
                merge(&mut head, key, value);
            }
            insert_head(change, id, &head).map_err(sql)?;
            let text = read::text(change, id, &[]).map_err(sql)?;
            let parsed = read::understand(&text, knowledge)?;
            slip::renew(change, id, &parsed.job, knowledge).map_err(sql)?;
            Ok(parsed)
        })
    }

    pub(super) fn known(&self, job: &str) -> Result<i64, BookError> {
        let id = read::id(&self.connection, job).map_err(|e| self.sql(&e))?;
        id.ok_or_else(|| self.no_such(job))
    }
}

fn merge(into: &mut Map<String, Value>, key: &str, value: &Value) {
    match (into.get_mut(key), value) {
        (_, Value::Null) => {
            into.remove(key);
        }
        (Some(Value::Object(old)), Value::Object(new)) => {
            new.iter().for_each(|(k, v)| merge(old, k, v));
        }
        // What is to be forgotten within a new table was never known.
        (_, Value::Object(new)) => {
            let mut table = Map::new();
            new.iter().for_each(|(k, v)| merge(&mut table, k, v));
            into.insert(key.to_owned(), table.into());
        }
        _ => {
            into.insert(key.to_owned(), value.clone());
        }
    }
}

fn insert_job(
    change: &Transaction<'_>,
    job: &Job,
    knowledge: &Knowledge,
    sql: &dyn Fn(rusqlite::Error) -> BookError,
) -> Result<Parsed, BookError> {
    if let Some(why) = error::number_trouble(&job.job) {
        let job = job.job.clone();
        return Err(BookError::NoNumber { job, why });
    }
    if read::id(change, &job.job).map_err(sql)?.is_some() {
        let job = job.job.clone();
        return Err(BookError::JobExists { job });
    }
    change
        .execute("INSERT INTO job (name) VALUES (?1)", [&job.job])
        .map_err(sql)?;
    let id = change.last_insert_rowid();
    if let Value::Object(mut written) = to_json(job) {
        written.insert("schema".to_owned(), SCHEMA.into());
        insert_entries(change, id, &written, 0).map_err(sql)?;
        written.remove("entry");
        insert_head(change, id, &written).map_err(sql)?;
    }
    let text = read::text(change, id, &[]).map_err(sql)?;
    let parsed = read::understand(&text, knowledge)?;
    slip::renew(change, id, &parsed.job, knowledge).map_err(sql)?;
    Ok(parsed)
}

fn insert_head(change: &Connection, id: i64, head: &Map<String, Value>) -> rusqlite::Result<usize> {
    let body = Value::Object(head.clone()).to_string();
    change.execute(
        "INSERT INTO head (job, body) VALUES (?1, ?2)",
        params![id, body],
    )
}

/// Writes the entries after the first `there` of a job.
fn insert_entries(
    change: &Connection,
    id: i64,
    written: &Map<String, Value>,
    there: usize,
) -> rusqlite::Result<()> {
    let Some(Value::Array(entries)) = written.get("entry") else {
        return Ok(());
    };
    let sql = "INSERT INTO entry (job, number, body) VALUES (?1, ?2, ?3)";
    let mut insert = change.prepare_cached(sql)?;
    for (at, entry) in entries.iter().enumerate().skip(there) {
        insert.execute(params![id, at + 1, entry.to_string()])?;
    }
    Ok(())
}
