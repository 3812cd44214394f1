//! What every request works on: the book, the figures, and answers reckoned once.
//!
//! An answer belongs to a job as it is written; one more entry asks anew. Must not make pages.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex, PoisonError};

use serde_json::{Map, Value};

use super::answers::{self, Answers, Given, Standing};
use super::cautions_card::Read;
use super::cell::Patience;
use super::desk::{Desk, State};
use super::hosts::Hosts;
use super::own_record::Record;
use super::seats::Seats;
use super::settings::{Limits, Settings};
use super::shown::{self, Keeper};
use crate::diagnosis::{self, Closing, FaultPlace, Ranking, Why};
use crate::job::book::{Access, Book, BookError};
use crate::job::{Job, Parsed};
use crate::knowledge::Knowledge;
use crate::network::Shelf;
use crate::planning::bench::{Next, Plan};
use crate::report::sheet::{self, SheetCause};
use crate::scoring::came_true::CameTrue;

/// What is said of an answer that is not there after all; nobody should read it.
const UNDER_WAY: &str = "It is still being reckoned.";

/// Keys of forms remembered, so that a form sent twice writes once.
const KEYS: usize = 4096;

/// A job with its answers, each reckoned when it is first asked for, or before.
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
        let standing = self.standing_within(Patience::ENDLESS);
        standing.unwrap_or_else(|| Err(UNDER_WAY.to_owned()))
    }

    fn standing_within(&self, patience: Patience) -> Option<Result<&Standing, String>> {
        let (shelf, knowledge, parsed) = (self.shelf(), self.figures(), self.parsed.clone());
        let reckon = move || answers::standing(&shelf, &knowledge, &parsed);
        let (desk, cell) = (&self.bench.desk, &self.answers.standing);
        let standing = desk.ask(&self.state(), cell, patience, reckon)?;
        Some(standing.as_ref().map_err(Clone::clone))
    }

    fn next_within(&self, patience: Patience) -> Option<Result<&Next, String>> {
        let (desk, cell) = (&self.bench.desk, &self.answers.next);
        let next = desk.ask(&self.state(), cell, patience, self.reckon_next())?;
        Some(next.as_ref().map_err(Clone::clone))
    }

    fn reckon_next(&self) -> impl FnOnce() -> Result<Next, String> + use<> {
        let (shelf, knowledge, job) = (self.shelf(), self.figures(), self.job().clone());
        move || answers::next(&shelf, &knowledge, &job)
    }

    fn state(&self) -> State {
        State {
            job: self.job().job.clone(),
            state: self.answers.state,
        }
    }

    /// Whether all that a slip shows is reckoned, waited for with patience. What is not there yet
    /// is reckoned on.
    pub fn is_ready(&self, patience: Patience) -> bool {
        let (desk, answers) = (&self.bench.desk, &self.answers);
        if answers.next.get().is_none() {
            desk.want(&self.state(), &answers.next, self.reckon_next());
        }
        self.standing_within(patience).is_some() && self.next_within(patience).is_some()
    }

    /// Has all that a slip shows reckoned in the background: somebody wrote, and will look.
    pub fn begin(&self) {
        let (desk, answers, state) = (&self.bench.desk, &self.answers, self.state());
        desk.is_written(&state);
        let (shelf, knowledge, parsed) = (self.shelf(), self.figures(), self.parsed.clone());
        desk.ahead(&state, &answers.standing, move || {
            answers::standing(&shelf, &knowledge, &parsed)
        });
        desk.ahead(&state, &answers.next, self.reckon_next());
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
        let next = self.next_within(Patience::ENDLESS);
        next.unwrap_or_else(|| Err(UNDER_WAY.to_owned()))
    }

    /// The next few moves as a tree, or why there is none; nothing yet when it takes longer than
    /// this. It is reckoned on, for whoever asks again.
    pub fn plan_within(&self, patience: Patience) -> Option<Result<&Plan, String>> {
        let (shelf, knowledge, job) = (self.shelf(), self.figures(), self.job().clone());
        let reckon = move || answers::plan(&shelf, &knowledge, &job);
        let (desk, cell) = (&self.bench.desk, &self.answers.plan);
        let plan = desk.ask(&self.state(), cell, patience, reckon)?;
        Some(plan.as_ref().map_err(Clone::clone))
    }

    /// What moved a cause; reckoned each time, for it is seldom asked.
    ///
    /// # Errors
    /// As for [`Reckoned::standing`].
    pub fn why(&self, cause: FaultPlace) -> Result<Why, String> {
        let (shelf, knowledge, job) = (self.shelf(), self.figures(), self.job().clone());
        self.bench
            .reckon(move || answers::why(&shelf, &knowledge, &job, &cause))
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
    fn shelf(&self) -> Shelf {
        self.bench.shelf.clone()
    }

    /// The bench it lies on.
    #[must_use]
    pub fn bench(&self) -> &Bench {
        self.bench
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
    /// Cautions read.
    read: Read,
    /// What came true.
    record: Record,
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
            read: Read::default(),
            record: Record::default(),
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

    /// Cautions read.
    pub fn read(&self) -> &Read {
        &self.read
    }

    /// How often what was said before a repair came true in this book.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn came_true(&self) -> Result<CameTrue, BookError> {
        self.record.of(&self.book()?, self.knowledge())
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

    /// The causes as they stood when the first work of a job was begun; none without work, or where
    /// that cannot be said.
    pub fn before_work(&self, job: &Job) -> Vec<SheetCause> {
        let Some(then) = sheet::before_work(job) else {
            return Vec::new();
        };
        let then = Reckoned {
            answers: self.given.to(&then),
            parsed: Parsed {
                job: then,
                notes: Vec::new(),
            },
            bench: self,
        };
        let causes = then.standing().map(|s| sheet::causes(&s.ranking));
        causes.unwrap_or_default()
    }

    /// Has what the slip of a job shows reckoned in the background, now that it was written in.
    pub fn begin(&self, job: &str) {
        if let Ok(reckoned) = self.reckoned(job) {
            reckoned.begin();
        }
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
