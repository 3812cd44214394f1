//! What every request works on: the book, the figures, and answers reckoned once.
//!
//! An answer belongs to a job as it is written; one more entry asks anew. Must not make pages.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use serde_json::{Map, Value};

use super::answers::{self, Answers, Desk, Given, Standing};
use super::hosts::Hosts;
use super::seats::Seats;
use super::settings::{Limits, Settings};
use super::shown::{self, Keeper};
use crate::diagnosis::{self, Closing, Ranking};
use crate::job::book::{Access, Book, BookError};
use crate::job::{Job, Parsed};
use crate::knowledge::Knowledge;
use crate::network::Shelf;
use crate::planning::bench::{Next, Plan};

/// Keys of forms remembered, so that a form sent twice writes once.
const KEYS: usize = 4096;

/// Between two looks whether a plan is there.
const LOOK_AGAIN: Duration = Duration::from_millis(20);

/// A job with its answers, each reckoned when it is first asked for.
#[derive(Debug)]
pub struct Reckoned<'b> {
    /// The job.
    pub parsed: Parsed,
    answers: Arc<Answers>,
    bench: &'b Bench,
}

impl Reckoned<'_> {
    /// The job itself.
    #[must_use]
    pub fn job(&self) -> &Job {
        &self.parsed.job
    }

    /// How it stands, or why that cannot be said.
    ///
    /// # Errors
    /// When nothing explains what was seen, in words.
    pub fn standing(&self) -> Result<&Standing, String> {
        let reckon = || {
            let (shelf, knowledge, parsed) = (self.shelf(), self.figures(), self.parsed.clone());
            let reckon = move || answers::standing(&shelf, &knowledge, &parsed);
            self.bench.reckon(reckon)
        };
        let standing = self.answers.standing.get_or_init(reckon);
        standing.as_ref().map_err(Clone::clone)
    }

    /// Has all that a slip shows reckoned side by side.
    pub fn prepare(&self) {
        if self.answers.next.get().is_none() {
            std::thread::scope(|scope| {
                scope.spawn(|| self.next().is_ok());
                let _ = self.standing();
            });
        }
    }

    /// The causes with the ranges of their chances; reckoned each time, for it is seldom asked.
    ///
    /// # Errors
    /// As for [`Reckoned::standing`].
    pub fn ranking_with_ranges(&self) -> Result<Ranking, String> {
        let (shelf, knowledge, job) = (self.shelf(), self.figures(), self.job().clone());
        self.bench
            .reckon(move || answers::ranges(&shelf, &knowledge, &job))
    }

    /// What stands against closing it.
    ///
    /// # Errors
    /// As for [`Reckoned::standing`].
    pub fn closing(&self) -> Result<Closing, String> {
        let ranking = &self.standing()?.ranking;
        let knowledge = self.bench.knowledge();
        Ok(diagnosis::closing(self.job(), knowledge, ranking))
    }

    /// The next moves, or why there are none.
    ///
    /// # Errors
    /// When they cannot be reckoned, in words.
    pub fn next(&self) -> Result<&Next, String> {
        let reckon = || {
            let (shelf, knowledge, job) = (self.shelf(), self.figures(), self.job().clone());
            self.bench
                .reckon(move || answers::next(&shelf, &knowledge, &job))
        };
        let next = self.answers.next.get_or_init(reckon);
        next.as_ref().map_err(Clone::clone)
    }

    /// The next few moves as a tree, or why there is none; nothing yet when it takes longer than
    /// this. It is reckoned on, for whoever asks again.
    pub fn plan_within(&self, patience: Duration) -> Option<Result<&Plan, String>> {
        if !self.answers.plan_asked.swap(true, Ordering::SeqCst) {
            let (shelf, knowledge, job) = (self.shelf(), self.figures(), self.job().clone());
            let answers = Arc::clone(&self.answers);
            self.bench.desk.hand(move || {
                let reckon = || answers::plan(&shelf, &knowledge, &job);
                let plan = catch_unwind(AssertUnwindSafe(reckon));
                let broken = |_| Err("The reckoning broke off: a fault of the program.".to_owned());
                let _ = answers.plan.set(plan.unwrap_or_else(broken));
            });
        }
        let begun = Instant::now();
        loop {
            if let Some(plan) = self.answers.plan.get() {
                return Some(plan.as_ref().map_err(Clone::clone));
            }
            if begun.elapsed() >= patience {
                return None;
            }
            std::thread::sleep(LOOK_AGAIN);
        }
    }

    /// Keeps in the book what a page says of the job, once for each state of it. The page does
    /// not wait for it.
    pub fn keep(&self) {
        let entries = self.job().entries.len();
        let mut kept = self
            .bench
            .kept
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        if kept.get(&self.job().job) == Some(&entries) {
            return;
        }
        let next = self.answers.next.get().and_then(|n| n.as_ref().ok());
        let Ok(standing) = self.standing() else {
            return;
        };
        if kept.len() >= KEYS {
            kept.pop_first();
        }
        kept.insert(self.job().job.clone(), entries);
        let said = shown::said(&standing.ranking, next, entries, self.bench.knowledge());
        self.bench.keeper.keep(self.job().job.clone(), said);
    }

    /// Where its programs are kept.
    pub fn shelf(&self) -> Shelf {
        self.bench.shelf.clone()
    }

    fn figures(&self) -> Arc<Knowledge> {
        Arc::clone(&self.bench.settings.knowledge)
    }
}

/// The bench.
#[derive(Debug)]
pub struct Bench {
    settings: Settings,
    hosts: Hosts,
    port: u16,
    seats: Seats,
    given: Given,
    desk: Desk,
    /// Programs of jobs like each other, made once.
    shelf: Shelf,
    keeper: Keeper,
    /// Entries of a job when something was last said of it.
    kept: Mutex<BTreeMap<String, usize>>,
    /// Held while something is written, so that a key is looked up and kept in one go.
    keys: Mutex<BTreeMap<String, String>>,
}

impl Bench {
    /// Opens the bench; the book is made if it is not there.
    ///
    /// # Errors
    /// When the book cannot be opened, in words, or the system has no random numbers.
    pub fn new(settings: Settings, address: SocketAddr) -> std::io::Result<Self> {
        Book::open(&settings.book, Access::Create)
            .map_err(|e| std::io::Error::other(format!("{e}; {}", e.advice())))?;
        Ok(Self {
            hosts: Hosts::new(address, settings.lan),
            port: address.port(),
            seats: Seats::new(settings.limits.wrong_codes)?,
            given: Given::new(settings.limits.answers),
            desk: Desk::new()?,
            shelf: Shelf::new(settings.limits.program_bytes),
            keeper: Keeper::new(&settings.book)?,
            kept: Mutex::default(),
            settings,
            keys: Mutex::default(),
        })
    }

    /// The names it may be asked under.
    pub fn hosts(&self) -> &Hosts {
        &self.hosts
    }

    /// Its port.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// Who sits at it.
    pub fn seats(&self) -> &Seats {
        &self.seats
    }

    /// What is borne.
    pub fn limits(&self) -> Limits {
        self.settings.limits
    }

    /// The figures.
    pub fn knowledge(&self) -> &Knowledge {
        &self.settings.knowledge
    }

    /// The book, to be looked at.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub fn book(&self) -> Result<Book, BookError> {
        Book::open(&self.settings.book, Access::Read)
    }

    /// Has something reckoned at the desk.
    pub fn reckon<T: Send + 'static>(&self, task: impl FnOnce() -> T + Send + 'static) -> T {
        self.desk.reckon(task)
    }

    /// A job as it stands in the book now.
    ///
    /// # Errors
    /// When there is no such job.
    pub fn reckoned(&self, job: &str) -> Result<Reckoned<'_>, BookError> {
        let parsed = self.book()?.job(job, self.knowledge())?;
        let answers = self.given.to(&parsed.job);
        Ok(Reckoned {
            parsed,
            answers,
            bench: self,
        })
    }

    /// Opens a job under the next free number, once for a key. Gives its number.
    ///
    /// # Errors
    /// When the book refuses.
    pub fn open_job(&self, key: &str, job: &Job, first: &[Value]) -> Result<String, BookError> {
        self.once(key, || {
            let mut book = Book::open(&self.settings.book, Access::Create)?;
            let number = if job.job.is_empty() {
                book.open_next(job, self.knowledge())?
            } else {
                book.open_job(job, self.knowledge())?;
                job.job.clone()
            };
            if !first.is_empty() {
                book.add(&number, first, self.knowledge())?;
            }
            Ok(number)
        })
    }

    /// Adds entries, once for a key. Gives the number of the first one.
    ///
    /// # Errors
    /// When the book refuses.
    pub fn add(&self, key: &str, job: &str, entries: &[Value]) -> Result<usize, BookError> {
        let first = self.once(key, || {
            let mut book = Book::open(&self.settings.book, Access::Write)?;
            let added = book.add(job, entries, self.knowledge())?;
            Ok(added.first.to_string())
        })?;
        Ok(first.parse().unwrap_or(1))
    }

    /// Says more about a job as a whole, once for a key.
    ///
    /// # Errors
    /// When the book refuses.
    pub fn describe(
        &self,
        key: &str,
        job: &str,
        more: &Map<String, Value>,
    ) -> Result<(), BookError> {
        self.once(key, || {
            let mut book = Book::open(&self.settings.book, Access::Write)?;
            book.describe(job, more, self.knowledge())?;
            Ok(String::new())
        })?;
        Ok(())
    }

    /// Writes unless this form was written already, and says what came of it then.
    fn once(
        &self,
        key: &str,
        write: impl FnOnce() -> Result<String, BookError>,
    ) -> Result<String, BookError> {
        let mut keys = self.keys.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(then) = keys.get(key) {
            return Ok(then.clone());
        }
        let made = write()?;
        if !key.is_empty() {
            if keys.len() >= KEYS {
                keys.pop_first();
            }
            keys.insert(key.to_owned(), made.clone());
        }
        Ok(made)
    }
}
