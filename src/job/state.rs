//! The state of a job, derived from its entries.
//!
//! Nothing is stored: a state is what the entries say, so undoing one undoes the state.

use super::cold::{Verification, verification};
use super::entry::{Entry, EntryBody, Mark};
use super::names::named;
use super::record::Job;
use crate::knowledge::Knowledge;

named! {
    /// State of a job.
    JobState {
        /// Nothing but what was told.
        Booked = "booked",
        /// Being worked on.
        Open = "open",
        /// Work was done; only a cold start can tell.
        WaitingForColdStart = "waiting_for_cold_start",
        /// Waiting for parts.
        WaitingForParts = "waiting_for_parts",
        /// Set by, not settled.
        Parked = "parked",
        /// Work was done and a cold start after it was right.
        DoneProven = "done_proven",
        /// Handed back as mended, without such a start.
        DoneNotProven = "done_not_proven",
        /// Handed back as it is.
        LeftAsIs = "left_as_is",
    }
}

impl JobState {
    /// What a person reads.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            JobState::Booked => "booked, nothing looked at yet",
            JobState::Open => "open",
            JobState::WaitingForColdStart => "waiting for a cold start",
            JobState::WaitingForParts => "waiting for parts",
            JobState::Parked => "parked",
            JobState::DoneProven => "done, proven",
            JobState::DoneNotProven => "done, not proven",
            JobState::LeftAsIs => "left as is",
        }
    }
}

/// The state of a job.
///
/// A mark holds until another one, or until something is seen, measured or done after it;
/// `done` also holds through starts, which may prove it or, if one that counts was not right,
/// open it again.
#[must_use]
pub fn state(job: &Job, knowledge: &Knowledge) -> JobState {
    let verification = verification(job, knowledge);
    match mark_in_force(job) {
        Some((_, Mark::Open)) => JobState::Open,
        Some((_, Mark::WaitingForParts)) => JobState::WaitingForParts,
        Some((_, Mark::Parked)) => JobState::Parked,
        Some((_, Mark::LeftAsIs)) => JobState::LeftAsIs,
        Some((at, Mark::Done)) => done(&verification, at),
        None => by_work(job, &verification),
    }
}

/// Marked done at entry `at`: a start after it that was not right opens the job again, one
/// before it was known to whoever marked it.
fn done(verification: &Verification, at: usize) -> JobState {
    let last = verification.last_word();
    match last {
        Some(start) if start.right == Some(true) => JobState::DoneProven,
        Some(start) if start.right == Some(false) && start.entry > at => JobState::Open,
        _ => JobState::DoneNotProven,
    }
}

fn by_work(job: &Job, verification: &Verification) -> JobState {
    if verification.last_work.is_none() {
        let touched = job.entries.iter().any(|e| e.is_used() && touches(e));
        return if touched {
            JobState::Open
        } else {
            JobState::Booked
        };
    }
    match verification.last_word() {
        Some(start) if start.right == Some(true) => JobState::DoneProven,
        Some(_) => JobState::Open,
        None => JobState::WaitingForColdStart,
    }
}

/// Whether an entry shows that somebody was at the engine.
fn touches(entry: &Entry) -> bool {
    matches!(
        entry.body,
        EntryBody::Start(_) | EntryBody::Reading(_) | EntryBody::Work(_) | EntryBody::CannotDo(_)
    )
}

/// The mark that holds, with the index of its entry.
fn mark_in_force(job: &Job) -> Option<(usize, Mark)> {
    let mut in_force = None;
    let used = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    for (at, entry) in used {
        match (&entry.body, in_force) {
            (EntryBody::Mark(mark), _) => in_force = Some((at, *mark)),
            (EntryBody::Start(_), Some((_, Mark::Done))) => {}
            _ if touches(entry) => in_force = None,
            _ => {}
        }
    }
    in_force
}
