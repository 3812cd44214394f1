//! The tables of the book, version by version.
//!
//! A step that was released is never edited: a new one is added. Entries, heads and answers
//! cannot be changed or deleted, the file itself refuses. `slip` alone is derived and may be
//! thrown away. Must not open files.

use rusqlite::{Connection, TransactionBehavior};

/// Marks the file as a job book: `HSJB` as a number.
pub(super) const APPLICATION: i64 = 0x4853_4a42;

/// Steps from nothing to the newest layout; `user_version` counts those taken.
const STEPS: [&str; 2] = [
    // 1: jobs, what is said about engine and bench, and entries.
    "CREATE TABLE job (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE
    ) STRICT;
    CREATE TABLE head (
        id INTEGER PRIMARY KEY,
        job INTEGER NOT NULL REFERENCES job (id),
        body TEXT NOT NULL CHECK (json_valid(body))
    ) STRICT;
    CREATE INDEX head_of ON head (job, id);
    CREATE TABLE entry (
        job INTEGER NOT NULL REFERENCES job (id),
        number INTEGER NOT NULL CHECK (number >= 1),
        body TEXT NOT NULL CHECK (json_valid(body)),
        PRIMARY KEY (job, number)
    ) STRICT, WITHOUT ROWID;
    CREATE TRIGGER job_stays BEFORE UPDATE ON job
        BEGIN SELECT RAISE(ABORT, 'jobs are not changed'); END;
    CREATE TRIGGER job_kept BEFORE DELETE ON job
        BEGIN SELECT RAISE(ABORT, 'jobs are not deleted'); END;
    CREATE TRIGGER head_stays BEFORE UPDATE ON head
        BEGIN SELECT RAISE(ABORT, 'heads are only added'); END;
    CREATE TRIGGER head_kept BEFORE DELETE ON head
        BEGIN SELECT RAISE(ABORT, 'heads are only added'); END;
    CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
        BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
    CREATE TRIGGER entry_kept BEFORE DELETE ON entry
        BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;",
    // 2: answers as they were given, and the list.
    "CREATE TABLE said (
        id INTEGER PRIMARY KEY,
        job INTEGER NOT NULL REFERENCES job (id),
        after INTEGER NOT NULL CHECK (after >= 0),
        kind TEXT NOT NULL,
        at TEXT NOT NULL,
        program TEXT NOT NULL,
        figures TEXT NOT NULL,
        body TEXT NOT NULL CHECK (json_valid(body)),
        UNIQUE (job, after, kind, program, figures, body)
    ) STRICT;
    CREATE TRIGGER said_stays BEFORE UPDATE ON said
        BEGIN SELECT RAISE(ABORT, 'what was said is not changed'); END;
    CREATE TRIGGER said_kept BEFORE DELETE ON said
        BEGIN SELECT RAISE(ABORT, 'what was said is not changed'); END;
    CREATE TABLE slip (
        job INTEGER PRIMARY KEY REFERENCES job (id),
        entries INTEGER NOT NULL,
        complaint TEXT NOT NULL,
        state TEXT NOT NULL,
        last_at TEXT,
        work_at TEXT,
        complaint_temperature REAL
    ) STRICT;
    CREATE INDEX slip_state ON slip (state);",
];

/// Newest version of the layout.
#[expect(clippy::cast_possible_wrap, reason = "a handful of steps")]
pub const VERSION: i64 = STEPS.len() as i64;

/// Version of a file; 0 for an empty one.
pub(super) fn version(connection: &Connection) -> rusqlite::Result<i64> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// Whether the file is a book, or empty and so may become one.
pub(super) fn is_ours(connection: &Connection) -> rusqlite::Result<bool> {
    let application: i64 =
        connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    if application == APPLICATION {
        return Ok(true);
    }
    let tables: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(tables == 0)
}

/// Takes the steps that are missing, all or none, whoever else is trying the same.
pub(super) fn migrate(connection: &mut Connection) -> rusqlite::Result<()> {
    let step = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let from = usize::try_from(version(&step)?).unwrap_or(STEPS.len());
    for sql in STEPS.iter().skip(from) {
        step.execute_batch(sql)?;
    }
    if from < STEPS.len() {
        step.pragma_update(None, "user_version", VERSION)?;
        step.pragma_update(None, "application_id", APPLICATION)?;
    }
    step.commit()
}

/// A file as the program of that version would have left it.
#[cfg(test)]
pub(super) fn as_of(connection: &Connection, version: usize) -> rusqlite::Result<()> {
    for sql in STEPS.iter().take(version) {
        connection.execute_batch(sql)?;
    }
    connection.pragma_update(None, "user_version", i64::try_from(version).unwrap_or(0))?;
    connection.pragma_update(None, "application_id", APPLICATION)
}
