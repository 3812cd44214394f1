//! Opening the book, to read or to write.
//!
//! Readers never wait for a writer and a writer waits for another: the log is written ahead
//! (WAL) and flushed at each commit. Must not know the entries.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};

use super::error::BookError;
use super::layout;

/// Longest a writer waits for another one (own judgement: a write takes milliseconds).
const PATIENCE: Duration = Duration::from_secs(20);
/// Tries to set up a new file while others set it up too, and the wait between them.
const SET_UP_TRIES: u32 = 200;
const SET_UP_WAIT: Duration = Duration::from_millis(20);

/// What the book is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// To be read; works on a write-protected file too.
    Read,
    /// To be written in; the file must be there.
    Write,
    /// To be written in; the file is made if it is not there.
    Create,
}

/// An open job book.
#[derive(Debug)]
pub struct Book {
    pub(super) connection: Connection,
    file: PathBuf,
}

impl Book {
    /// Opens a book. One of an older version is brought to the newest, all or nothing.
    ///
    /// # Errors
    /// When there is none, it is something else, newer than this program, or cannot be opened.
    pub fn open(file: &Path, access: Access) -> Result<Self, BookError> {
        if access != Access::Create && !file.is_file() {
            return Err(BookError::NotOpened {
                file: file.to_owned(),
                why: "there is no such file".to_owned(),
            });
        }
        let connection = match access {
            Access::Read => to_read(file),
            Access::Write => to_write(file, OpenFlags::empty()),
            Access::Create => to_write(file, OpenFlags::SQLITE_OPEN_CREATE),
        };
        let file = file.to_owned();
        let connection = connection.map_err(|e| BookError::of(&file, &e))?;
        let mut book = Self { connection, file };
        book.check(access)?;
        Ok(book)
    }

    /// The file.
    #[must_use]
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// The error of the database, with the name of this file.
    pub(super) fn sql(&self, error: &rusqlite::Error) -> BookError {
        BookError::of(&self.file, error)
    }

    fn check(&mut self, access: Access) -> Result<(), BookError> {
        let ours = layout::is_ours(&self.connection).map_err(|e| self.sql(&e))?;
        let found = layout::version(&self.connection).map_err(|e| self.sql(&e))?;
        if !ours {
            let file = self.file.clone();
            return Err(BookError::NotABook { file });
        }
        if found > layout::VERSION {
            return Err(BookError::Newer {
                file: self.file.clone(),
                found,
                known: layout::VERSION,
            });
        }
        if found == layout::VERSION {
            return Ok(());
        }
        if access == Access::Read {
            // An older layout can only be read once it is brought up to date.
            let mut writer = to_write(&self.file, OpenFlags::empty()).map_err(|e| self.sql(&e))?;
            return layout::migrate(&mut writer).map_err(|e| self.sql(&e));
        }
        layout::migrate(&mut self.connection).map_err(|e| BookError::of(&self.file, &e))
    }

    /// Runs one change, all of it or nothing. Once it is acknowledged it is on the disk.
    pub(super) fn change<T>(
        &mut self,
        make: impl FnOnce(&Transaction<'_>, &Path) -> Result<T, BookError>,
    ) -> Result<T, BookError> {
        let file = self.file.clone();
        let sql = |e: rusqlite::Error| BookError::of(&file, &e);
        let change = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(sql)?;
        let made = make(&change, &file)?;
        change.commit().map_err(sql)?;
        Ok(made)
    }
}

const ALWAYS: OpenFlags = OpenFlags::SQLITE_OPEN_NO_MUTEX;

fn to_write(file: &Path, more: OpenFlags) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | ALWAYS | more;
    let connection = Connection::open_with_flags(file, flags)?;
    connection.busy_timeout(PATIENCE)?;
    if layout::is_ours(&connection)? {
        set_up(&connection)?;
    }
    Ok(connection)
}

/// Two who make the same file at once get in each other's way for a moment, and the database
/// does not wait then.
fn set_up(connection: &Connection) -> rusqlite::Result<()> {
    let once = || -> rusqlite::Result<()> {
        let journal: String =
            connection.pragma_query_value(None, "journal_mode", |row| row.get(0))?;
        if journal != "wal" {
            connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
        }
        Ok(())
    };
    let mut left = SET_UP_TRIES;
    loop {
        match once() {
            Err(e) if left > 0 && e.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) => {
                left -= 1;
                std::thread::sleep(SET_UP_WAIT);
            }
            // A write-protected file says so at the first entry, in better words.
            Err(e) if e.sqlite_error_code() == Some(ErrorCode::ReadOnly) => break,
            other => {
                other?;
                break;
            }
        }
    }
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)
}

fn to_read(file: &Path) -> rusqlite::Result<Connection> {
    let open = |name: &Path, flags| {
        let connection = Connection::open_with_flags(name, flags)?;
        connection.busy_timeout(PATIENCE)?;
        layout::is_ours(&connection)?;
        Ok(connection)
    };
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | ALWAYS;
    let opened = open(file, flags);
    // In a place where nothing may be made beside it (a stick, a copy on a disc) the book can
    // still be read if no unfinished log belongs to it.
    let log = PathBuf::from(format!("{}-wal", file.display()));
    match opened {
        Err(_) if log.metadata().map_or(0, |m| m.len()) == 0 => {
            open(&fixed(file), flags | OpenFlags::SQLITE_OPEN_URI)
        }
        other => other,
    }
}

/// The name that tells the database that nobody writes in the file.
fn fixed(file: &Path) -> PathBuf {
    let mut name = "file:".to_owned();
    for c in file.display().to_string().chars() {
        match c {
            '?' => name.push_str("%3f"),
            '#' => name.push_str("%23"),
            '%' => name.push_str("%25"),
            c => name.push(c),
        }
    }
    name.push_str("?immutable=1");
    PathBuf::from(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every version a book ever had comes to the newest with its entries.
    #[test]
    fn a_book_of_each_version_is_brought_up_to_date() {
        for from in 0..=usize::try_from(layout::VERSION).unwrap() {
            let place = tempfile::tempdir().unwrap();
            let file = place.path().join("book");
            let old = Connection::open(&file).unwrap();
            layout::as_of(&old, from).unwrap();
            if from > 0 {
                old.execute_batch(
                    "INSERT INTO job VALUES (1, 'A-1');
                     INSERT INTO head (job, body) VALUES (1, '{}');
                     INSERT INTO entry VALUES (1, 1, '{\"note\": \"kept\"}');",
                )
                .unwrap();
            }
            drop(old);
            // Reading brings it up to date too.
            let access = if from % 2 == 0 {
                Access::Write
            } else {
                Access::Read
            };
            drop(Book::open(&file, access).unwrap());
            let book = Book::open(&file, Access::Write).unwrap();
            assert_eq!(layout::version(&book.connection).unwrap(), layout::VERSION);
            let sql = "SELECT count(*) FROM entry WHERE body LIKE '%kept%'";
            let kept: usize = book.connection.query_row(sql, [], |r| r.get(0)).unwrap();
            assert_eq!(kept, usize::from(from > 0));
            let slips: i64 = book
                .connection
                .query_row("SELECT count(*) FROM slip", [], |r| r.get(0))
                .unwrap();
            assert_eq!(slips, 0);
        }
    }

    #[test]
    fn entries_cannot_be_changed_or_deleted() {
        let place = tempfile::tempdir().unwrap();
        let book = Book::open(&place.path().join("book"), Access::Create).unwrap();
        let run = |sql: &str| book.connection.execute_batch(sql);
        run("INSERT INTO job VALUES (1, 'A'); INSERT INTO entry VALUES (1, 1, '{}');").unwrap();
        for sql in [
            "UPDATE entry SET body = '{\"note\": \"x\"}'",
            "DELETE FROM entry",
            "INSERT OR REPLACE INTO entry VALUES (1, 1, '[]')",
            "UPDATE job SET name = 'B'",
            "DELETE FROM job",
        ] {
            let pragma = book
                .connection
                .execute_batch("PRAGMA recursive_triggers = ON");
            pragma.unwrap();
            assert!(run(sql).is_err(), "{sql}");
        }
        let bad = run("INSERT INTO entry VALUES (1, 2, 'no json')");
        assert!(bad.is_err());
    }

    #[test]
    fn what_is_no_book_is_said() {
        let place = tempfile::tempdir().unwrap();
        let text = place.path().join("text");
        std::fs::write(
            &text,
            "not a database, but long enough to look at ".repeat(40),
        )
        .unwrap();
        let error = Book::open(&text, Access::Write).unwrap_err();
        assert_eq!(error, BookError::NotABook { file: text });
        let other = place.path().join("other");
        let db = Connection::open(&other).unwrap();
        db.execute_batch("CREATE TABLE a (b)").unwrap();
        drop(db);
        let error = Book::open(&other, Access::Create).unwrap_err();
        assert_eq!(error, BookError::NotABook { file: other });
        let newer = place.path().join("newer");
        let db = Connection::open(&newer).unwrap();
        layout::as_of(&db, 2).unwrap();
        db.pragma_update(None, "user_version", 99).unwrap();
        drop(db);
        let error = Book::open(&newer, Access::Read).unwrap_err();
        assert!(matches!(error, BookError::Newer { found: 99, .. }));
        let none = Book::open(&place.path().join("none"), Access::Write).unwrap_err();
        assert!(matches!(none, BookError::NotOpened { .. }));
    }
}
