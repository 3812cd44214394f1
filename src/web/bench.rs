//! What every request works on: the book, the figures, and answers reckoned once.
//!
//! An answer belongs to a job as it is written; one more entry asks anew. Must not make pages.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use serde_json::{Map, Value};

use super::hosts::Hosts;
use super::seats::Seats;
use super::settings::{Limits, Settings};
use super::shown::{self, Keeper};
use crate::diagnosis::{Closing, Ranking};
use crate::job::book::{Access, Book, BookError};
use crate::job::{Job, Parsed, to_json};
use crate::knowledge::Knowledge;
use crate::planning::bench::{Next, Plan};
use crate::report::remarks::{self, Note};
use crate::{diagnosis, evidence, planning};

/// Keys of forms remembered, so that a form sent twice writes once.
const KEYS: usize = 4096;

/// How a job stands.
#[derive(Debug)]
pub struct Standing {
    /// Causes.
    pub ranking: Ranking,
    /// What stands against closing it.
    pub closing: Closing,
    /// What was assumed.
    pub notes: Vec<Note>,
    /// Entries reckoned with, and entries there.
    pub used: remarks::Used,
}

/// A job with its answers, each reckoned when it is first asked for.
#[derive(Debug)]
pub struct Reckoned {
    /// The job.
    pub parsed: Parsed,
    standing: OnceLock<Result<Standing, String>>,
    next: OnceLock<Result<Next, String>>,
    plan: OnceLock<Result<Plan, String>>,
    kept: AtomicBool,
}

impl Reckoned {
    /// The job itself.
    #[must_use]
    pub fn job(&self) -> &Job {
        &self.parsed.job
    }

    /// How it stands, or why that cannot be said.
    ///
    /// # Errors
    /// When nothing explains what was seen, in words.
    pub fn standing(&self, knowledge: &Knowledge) -> Result<&Standing, String> {
        let reckon = || {
            let job = &self.parsed.job;
            let evidence = evidence::gather(knowledge, job).map_err(|e| e.to_string())?;
            let ranking = diagnosis::causes(&evidence, job).map_err(|e| e.to_string())?;
            let closing = diagnosis::closing(job, knowledge, &ranking);
            Ok(Standing {
                notes: remarks::notes(knowledge, job, &self.parsed.notes, &evidence),
                used: remarks::entries_used(job, &evidence),
                ranking,
                closing,
            })
        };
        let standing = self.standing.get_or_init(reckon);
        standing.as_ref().map_err(Clone::clone)
    }

    /// What was reckoned so far.
    pub(super) fn answered(&self) -> (Option<&Standing>, Option<&Next>) {
        let standing = self.standing.get().and_then(|s| s.as_ref().ok());
        (standing, self.next.get().and_then(|n| n.as_ref().ok()))
    }

    /// The next moves, or why there are none.
    ///
    /// # Errors
    /// When they cannot be reckoned, in words.
    pub fn next(&self, knowledge: &Knowledge) -> Result<&Next, String> {
        let reckon = || {
            let job = &self.parsed.job;
            let evidence = evidence::gather(knowledge, job).map_err(|e| e.to_string())?;
            planning::bench::next(knowledge, job, &evidence).map_err(|e| e.to_string())
        };
        self.next.get_or_init(reckon).as_ref().map_err(Clone::clone)
    }

    /// The next few moves as a tree, or why there is none.
    ///
    /// # Errors
    /// When it cannot be reckoned, in words.
    pub fn plan(&self, knowledge: &Knowledge) -> Result<&Plan, String> {
        let reckon = || {
            let job = &self.parsed.job;
            let evidence = evidence::gather(knowledge, job).map_err(|e| e.to_string())?;
            planning::bench::plan(knowledge, job, &evidence).map_err(|e| e.to_string())
        };
        self.plan.get_or_init(reckon).as_ref().map_err(Clone::clone)
    }
}

/// Answers by job, with the job as it was written then.
type Answers = BTreeMap<String, (String, Arc<Reckoned>)>;

/// The bench.
#[derive(Debug)]
pub struct Bench {
    settings: Settings,
    hosts: Hosts,
    port: u16,
    seats: Seats,
    answers: Mutex<Answers>,
    keeper: Keeper,
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
            keeper: Keeper::new(&settings.book)?,
            settings,
            answers: Mutex::default(),
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

    /// A job as it stands in the book now.
    ///
    /// # Errors
    /// When there is no such job.
    pub fn reckoned(&self, job: &str) -> Result<Arc<Reckoned>, BookError> {
        let parsed = self.book()?.job(job, self.knowledge())?;
        let written = to_json(&parsed.job).to_string();
        let mut answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((then, kept)) = answers.get(job)
            && *then == written
        {
            return Ok(Arc::clone(kept));
        }
        if answers.len() >= self.settings.limits.answers && !answers.contains_key(job) {
            answers.pop_first();
        }
        let fresh = Arc::new(Reckoned {
            parsed,
            standing: OnceLock::new(),
            next: OnceLock::new(),
            plan: OnceLock::new(),
            kept: AtomicBool::new(false),
        });
        answers.insert(job.to_owned(), (written, Arc::clone(&fresh)));
        Ok(fresh)
    }

    /// Keeps in the book what a page says of a job, once for each state of it. The page does not
    /// wait for it.
    pub fn keep(&self, reckoned: &Reckoned) {
        if !reckoned.kept.swap(true, Ordering::Relaxed)
            && let Some(said) = shown::said(reckoned, self.knowledge())
        {
            self.keeper.keep(reckoned.job().job.clone(), said);
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
