//! The list of jobs, and those that wait for a cold start.
//!
//! The rows are derived from the entries, in the same change that adds an entry, so that a list
//! of ten thousand jobs reads no entry. Must not look at the clock.

use rusqlite::{Connection, Row, params};

use super::error::BookError;
use super::file::Book;
use super::read;
use crate::job::{EntryBody, Job, JobState, WARMER_BY, state, verification};
use crate::knowledge::Knowledge;

/// One job in the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// Its number.
    pub job: String,
    /// The complaint.
    pub complaint: String,
    /// Its state.
    pub state: JobState,
    /// How many entries it has.
    pub entries: usize,
    /// When the newest entry with a time was written, RFC 3339.
    pub last_at: Option<String>,
}

/// A job that waits for a cold start.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// Its number.
    pub job: String,
    /// The complaint.
    pub complaint: String,
    /// When the last work was done, RFC 3339, if somebody wrote it down.
    pub since: Option<String>,
    /// Warmest engine at which the start counts, degC; `None` if nobody wrote down how cold it
    /// was when it started badly.
    pub warmest: Option<f64>,
}

impl Book {
    /// The jobs, newest first: those of one state, or all; `most` of them after the first `skip`.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn slips(
        &self,
        state: Option<JobState>,
        skip: usize,
        most: usize,
        knowledge: &Knowledge,
    ) -> Result<Vec<Slip>, BookError> {
        self.renew_stale(knowledge)?;
        let sql = "SELECT name, complaint, state, entries, last_at
                   FROM job JOIN slip ON slip.job = job.id
                   WHERE ?1 IS NULL OR state = ?1
                   ORDER BY job.id DESC LIMIT ?2 OFFSET ?3";
        let list = || {
            let mut all = self.connection.prepare_cached(sql)?;
            let state = state.map(JobState::id);
            let slips = all.query_map(params![state, most, skip], slip)?;
            slips.collect::<rusqlite::Result<Vec<Slip>>>()
        };
        list().map_err(|e| self.sql(&e))
    }

    /// How many jobs there are in each state, in the order of the states.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn counts(&self, knowledge: &Knowledge) -> Result<Vec<(JobState, usize)>, BookError> {
        self.renew_stale(knowledge)?;
        let sql = "SELECT count(*) FROM slip WHERE state = ?1";
        let count = || {
            let mut one = self.connection.prepare_cached(sql)?;
            let states = JobState::ALL.iter();
            states
                .map(|s| Ok((*s, one.query_row([s.id()], |row| row.get(0))?)))
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        count().map_err(|e| self.sql(&e))
    }

    /// The jobs that wait for a cold start, those longest without word first.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn waiting(&self, knowledge: &Knowledge) -> Result<Vec<Waiting>, BookError> {
        self.renew_stale(knowledge)?;
        let sql = "SELECT name, complaint, work_at, complaint_temperature
                   FROM job JOIN slip ON slip.job = job.id WHERE state = ?1 ORDER BY job.id";
        let list = || {
            let mut all = self.connection.prepare_cached(sql)?;
            let row = |row: &Row<'_>| {
                Ok(Waiting {
                    job: row.get(0)?,
                    complaint: row.get(1)?,
                    since: row.get(2)?,
                    warmest: row.get::<_, Option<f64>>(3)?.map(|t| t + WARMER_BY),
                })
            };
            all.query_map([JobState::WaitingForColdStart.id()], row)?
                .collect::<rusqlite::Result<Vec<Waiting>>>()
        };
        let mut waiting = list().map_err(|e| self.sql(&e))?;
        let moment = |w: &Waiting| {
            let since = w.since.as_deref()?;
            since.parse::<jiff::Timestamp>().ok()
        };
        waiting.sort_by_key(moment);
        Ok(waiting)
    }

    /// The jobs that are done and proven and of which an answer of this kind is kept, newest first,
    /// each with how many entries it has.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn proven(
        &self,
        kind: &str,
        most: usize,
        knowledge: &Knowledge,
    ) -> Result<Vec<(String, usize)>, BookError> {
        self.renew_stale(knowledge)?;
        let sql = "SELECT name, entries FROM slip JOIN job ON job.id = slip.job
                   WHERE state = ?1
                   AND EXISTS (SELECT 1 FROM said WHERE said.job = slip.job AND kind = ?2)
                   ORDER BY slip.job DESC LIMIT ?3";
        let list = || {
            let mut all = self.connection.prepare_cached(sql)?;
            let asked = params![JobState::DoneProven.id(), kind, most];
            let proven = all.query_map(asked, |row| Ok((row.get(0)?, row.get(1)?)))?;
            proven.collect::<rusqlite::Result<Vec<(String, usize)>>>()
        };
        list().map_err(|e| self.sql(&e))
    }

    /// Brings rows up to date that an older program left behind. A book that may only be read
    /// keeps them as they are.
    fn renew_stale(&self, knowledge: &Knowledge) -> Result<(), BookError> {
        let sql = "SELECT job.id FROM job LEFT JOIN slip ON slip.job = job.id
                   WHERE slip.job IS NULL";
        let stale = || {
            let mut all = self.connection.prepare_cached(sql)?;
            let ids = all.query_map([], |row| row.get::<_, i64>(0))?;
            ids.collect::<rusqlite::Result<Vec<i64>>>()
        };
        for id in stale().map_err(|e| self.sql(&e))? {
            let text = read::text(&self.connection, id, &[]).map_err(|e| self.sql(&e))?;
            let parsed = read::understand(&text, knowledge)?;
            renew(&self.connection, id, &parsed.job, knowledge).map_err(|e| self.sql(&e))?;
        }
        Ok(())
    }
}

fn slip(row: &Row<'_>) -> rusqlite::Result<Slip> {
    let state: String = row.get(2)?;
    Ok(Slip {
        job: row.get(0)?,
        complaint: row.get(1)?,
        state: JobState::from_id(&state).unwrap_or(JobState::Open),
        entries: row.get(3)?,
        last_at: row.get(4)?,
    })
}

/// Writes the row of a job anew.
pub(super) fn renew(
    connection: &Connection,
    id: i64,
    job: &Job,
    knowledge: &Knowledge,
) -> rusqlite::Result<()> {
    let newest = |only: fn(&EntryBody) -> bool| {
        let mut used = job.entries.iter().rev().filter(|e| e.is_used());
        used.find(|e| e.at.is_some() && only(&e.body))
            .and_then(|e| e.at.as_deref())
    };
    let complaint_temperature = verification(job, knowledge).complaint_temperature;
    let sql = "INSERT OR REPLACE INTO slip
        (job, entries, complaint, state, last_at, work_at, complaint_temperature)
        VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
    connection.prepare_cached(sql)?.execute(params![
        id,
        job.entries.len(),
        job.complaint,
        state(job, knowledge).id(),
        newest(|_| true),
        newest(|b| matches!(b, EntryBody::Work(_))),
        complaint_temperature
    ])?;
    Ok(())
}
