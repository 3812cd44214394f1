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
            JobState::Booked => "booked",
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
        Some(Mark::Open) => JobState::Open,
        Some(Mark::WaitingForParts) => JobState::WaitingForParts,
        Some(Mark::Parked) => JobState::Parked,
        Some(Mark::LeftAsIs) => JobState::LeftAsIs,
        Some(Mark::Done) => done(&verification),
        None => by_work(job, &verification),
    }
}

fn done(verification: &Verification) -> JobState {
    let last = verification.counting().last();
    match last {
        Some(start) if start.right == Some(true) => JobState::DoneProven,
        Some(start) if start.right == Some(false) => JobState::Open,
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
    match verification.counting().last() {
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

fn mark_in_force(job: &Job) -> Option<Mark> {
    let mut in_force = None;
    for entry in job.entries.iter().filter(|e| e.is_used()) {
        match (&entry.body, in_force) {
            (EntryBody::Mark(mark), _) => in_force = Some(*mark),
            (EntryBody::Start(_), Some(Mark::Done)) => {}
            _ if touches(entry) => in_force = None,
            _ => {}
        }
    }
    in_force
}
