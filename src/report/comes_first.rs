//! What comes before any check: the first start to be watched, or the cold start that proves the
//! work.
//!
//! Must not choose among checks or judge a start.

use super::closing_text;
use crate::job::{Arrived, EntryBody, Job, JobState, state, verification};
use crate::knowledge::{Cold, Knowledge};

/// What comes first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum First {
    /// The engine is cold, as far as anybody said, and no start was watched.
    Watch,
    /// The work waits for a cold start; which one counts, where that is known.
    ColdStart(Option<String>),
}

impl First {
    /// What a person reads, in whole sentences.
    #[must_use]
    pub fn in_words(&self) -> String {
        match self {
            First::Watch => "No start is written down yet. If the engine is cold, watch the first \
                             start before anything is unscrewed: there is one a day."
                .to_owned(),
            First::ColdStart(wanted) => {
                let wanted = wanted.as_ref().map_or(String::new(), |w| format!(" {w}"));
                format!(
                    "The work waits for a cold start to prove it; that comes before any \
                     check.{wanted}"
                )
            }
        }
    }
}

/// What comes before any check of the job; nothing if a check may come.
#[must_use]
pub fn comes_first(job: &Job, knowledge: &Knowledge) -> Option<First> {
    match state(job, knowledge) {
        JobState::WaitingForColdStart => {
            let wanted = closing_text::wanted(&verification(job, knowledge));
            Some(First::ColdStart(wanted))
        }
        JobState::Booked | JobState::Open => watch(job, knowledge),
        _ => None,
    }
}

/// The watch stands first until a start is written down or somebody took something off: readings that
/// keep the cold and need nothing opened may come before it.
fn watch(job: &Job, knowledge: &Knowledge) -> Option<First> {
    let at_the_engine = job
        .entries
        .iter()
        .filter(|e| e.is_used())
        .any(|e| match &e.body {
            EntryBody::Start(_) | EntryBody::Work(_) => true,
            EntryBody::Reading(r) => !may_come_before(&r.check, knowledge),
            _ => false,
        });
    let may_be_cold = !matches!(job.bench.arrived, Some(Arrived::Warm | Arrived::NotHereYet));
    (may_be_cold && !at_the_engine).then_some(First::Watch)
}

/// Whether a check leaves the cold as it is and needs nothing taken off.
fn may_come_before(check: &str, knowledge: &Knowledge) -> bool {
    let known = knowledge.checks.iter().find(|c| c.id.get_ref() == check);
    known.is_some_and(|c| c.cold != Cold::UsesUp && c.access.is_empty())
}
