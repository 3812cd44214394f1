//! Answers: what is reckoned of a job, and where it is kept, once for all jobs that say the same.
//!
//! Must not make pages, must not know the book, and must not choose the thread it runs in.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use serde_json::Value;
use sha2::{Digest, Sha256};

use super::cell::Cell;
use crate::diagnosis::{FaultPlace, Ranking, Why};
use crate::evidence::Evidence;
use crate::job::{Job, Parsed, to_json};
use crate::knowledge::Knowledge;
use crate::network::Shelf;
use crate::planning::bench::{MoveKind, Next, NextMove, Plan};
use crate::report::remarks::{self, Note, Used};
use crate::{diagnosis, planning};

/// Moves kept of an answer: the first and those a page offers beside it.
const MOVES: usize = 6;

/// How a job stands.
#[derive(Debug)]
pub struct Standing {
    /// Causes.
    pub ranking: Ranking,
    /// What was assumed.
    pub notes: Vec<Note>,
    /// Entries reckoned with, and those that were not.
    pub used: Used,
}

/// The answers to a job, whatever its number.
#[derive(Debug, Default)]
pub struct Answers {
    /// One number for each state of a job.
    pub state: u64,
    /// How it stands.
    pub standing: Arc<Cell<Result<Standing, String>>>,
    /// What to do next.
    pub next: Arc<Cell<Result<Next, String>>>,
    /// The next few moves.
    pub plan: Arc<Cell<Result<Plan, String>>>,
}

fn gather(shelf: &Shelf, knowledge: &Knowledge, job: &Job) -> Result<Evidence, String> {
    diagnosis::bearable(knowledge, job, shelf).map_err(|e| e.to_string())
}

/// How a job stands, or why that cannot be said.
pub fn standing(shelf: &Shelf, knowledge: &Knowledge, parsed: &Parsed) -> Result<Standing, String> {
    let job = &parsed.job;
    let evidence = gather(shelf, knowledge, job)?;
    let ranking = diagnosis::causes(&evidence, job).map_err(|e| e.to_string())?;
    Ok(Standing {
        notes: remarks::notes(knowledge, job, &parsed.notes, &evidence),
        used: remarks::entries_used(job, &evidence),
        ranking,
    })
}

/// The causes with the ranges of their chances, or why that cannot be said.
pub fn ranges(shelf: &Shelf, knowledge: &Knowledge, job: &Job) -> Result<Ranking, String> {
    let evidence = gather(shelf, knowledge, job)?;
    let mut ranking = diagnosis::causes(&evidence, job).map_err(|e| e.to_string())?;
    let ranges = diagnosis::ranges::ranges(knowledge, job, &evidence);
    ranges.map_err(|e| e.to_string())?.put_into(&mut ranking);
    Ok(ranking)
}

/// What moved a cause, or why that cannot be said.
pub fn why(
    shelf: &Shelf,
    knowledge: &Knowledge,
    job: &Job,
    cause: &FaultPlace,
) -> Result<Why, String> {
    let evidence = gather(shelf, knowledge, job)?;
    diagnosis::why(&evidence, cause).map_err(|e| e.to_string())
}

/// The beginning of a hash, enough to tell figures apart.
#[must_use]
pub fn short(hash: &str) -> &str {
    /// Letters; the sheet shows as many.
    const LETTERS: usize = 12;
    hash.get(..LETTERS).unwrap_or(hash)
}

/// The next moves, or why there are none.
pub fn next(shelf: &Shelf, knowledge: &Knowledge, job: &Job) -> Result<Next, String> {
    let evidence = gather(shelf, knowledge, job)?;
    let next = planning::bench::next(knowledge, job, &evidence);
    let mut next = next.map_err(|e| e.to_string())?;
    // The best repair is the other choice where checks come first.
    let is_repair = |m: &NextMove| m.kind == MoveKind::Repair;
    let mend = next
        .moves
        .iter()
        .position(is_repair)
        .filter(|at| *at >= MOVES);
    let mend = mend.map(|at| next.moves.remove(at));
    next.moves.truncate(MOVES);
    next.moves.extend(mend);
    next.moves.shrink_to_fit();
    Ok(next)
}

/// The next few moves as a tree, or why there is none.
pub fn plan(shelf: &Shelf, knowledge: &Knowledge, job: &Job) -> Result<Plan, String> {
    let evidence = gather(shelf, knowledge, job)?;
    planning::bench::plan(knowledge, job, &evidence).map_err(|e| e.to_string())
}

/// What an answer depends on, as a hash: not on numbers, times, names and remarks.
type Sense = [u8; 32];

fn sense(job: &Job) -> Sense {
    let mut written = to_json(job);
    if let Some(head) = written.as_object_mut() {
        head.retain(|key, _| !matches!(key.as_str(), "job" | "complaint"));
        let entries = head.get_mut("entry").and_then(Value::as_array_mut);
        for entry in entries
            .into_iter()
            .flatten()
            .filter_map(Value::as_object_mut)
        {
            entry.retain(|key, _| !matches!(key.as_str(), "at" | "by" | "note"));
        }
    }
    Sha256::digest(written.to_string()).into()
}

/// When they were last asked for, and the answers.
type Aged = (u64, Arc<Answers>);

/// Answers given, the ones used last; the one longest unused makes room.
#[derive(Debug)]
pub struct Given {
    most: usize,
    kept: Mutex<(u64, BTreeMap<Sense, Aged>)>,
}

impl Given {
    /// Nothing given yet; `most` are kept.
    #[must_use]
    pub fn new(most: usize) -> Self {
        let kept = Mutex::default();
        Self { most, kept }
    }

    /// The answers to a job as it stands, reckoned already or yet to be.
    pub fn to(&self, job: &Job) -> Arc<Answers> {
        let sense = sense(job);
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let (clock, kept) = &mut *kept;
        *clock += 1;
        if let Some((used, answers)) = kept.get_mut(&sense) {
            *used = *clock;
            return Arc::clone(answers);
        }
        if kept.len() >= self.most {
            let oldest = kept.iter().min_by_key(|(_, (used, _))| *used);
            if let Some(oldest) = oldest.map(|(sense, _)| *sense) {
                kept.remove(&oldest);
            }
        }
        let fresh = Arc::new(Answers {
            state: *clock,
            ..Answers::default()
        });
        kept.insert(sense, (*clock, Arc::clone(&fresh)));
        fresh
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Entry, EntryBody};

    #[test]
    fn jobs_that_say_the_same_share_answers_and_the_longest_unused_make_room() {
        let given = Given::new(2);
        let noted = |job: &str, at: &str, entries: usize| {
            let mut noted = Job::new(job, job);
            for _ in 0..entries {
                let mut entry = Entry::new(EntryBody::Note);
                entry.at = Some(at.to_owned());
                noted.entries.push(entry);
            }
            given.to(&noted)
        };
        let one = noted("A", "2025-01-14T07:40:00Z", 1);
        assert!(Arc::ptr_eq(&one, &noted("B", "2025-01-15T07:40:00Z", 1)));
        let two = noted("A", "", 2);
        assert!(!Arc::ptr_eq(&one, &two));
        assert!(Arc::ptr_eq(&one, &noted("A", "", 1)), "used again");
        noted("A", "", 3);
        assert!(Arc::ptr_eq(&one, &noted("A", "", 1)), "still there");
        assert!(!Arc::ptr_eq(&two, &noted("A", "", 2)), "made room");
    }
}
