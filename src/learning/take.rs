//! Which entries of a finished job may be used: those that stood there before the repair.
//!
//! Work, what came after it, opinions, findings and marks never count as input unless asked for;
//! they hold the answer. Must not judge entries.

use std::collections::BTreeMap;

use crate::job::{Bench, EntryBody, Job, SHOP, SHOP_ID, Told, to_json};

/// As of when a job is scored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum AsOf {
    /// What was told, and the starts before the first reading.
    FirstLook,
    /// Everything before the first work.
    #[default]
    BeforeRepair,
    /// Everything, the repair too: shows how much the answer leaks.
    All,
}

/// A job cut down to what may be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The job with the entries that may be used.
    pub job: Job,
    /// Number of entries used.
    pub used: usize,
    /// Entries left out, by reason.
    pub left_out: BTreeMap<&'static str, usize>,
}

/// Cuts a job down.
#[must_use]
pub fn take(job: &Job, as_of: AsOf) -> Taken {
    let mut left_out = BTreeMap::new();
    let mut entries = Vec::new();
    let (mut worked, mut read) = (false, false);
    for entry in &job.entries {
        worked |= matches!(entry.body, EntryBody::Work(_));
        let reading = matches!(entry.body, EntryBody::Reading(_));
        read |= reading && entry.is_used();
        let why = match &entry.body {
            EntryBody::Finding(_) | EntryBody::Mark(_) => Some("answer"),
            EntryBody::Opinion(_) => Some("opinion"),
            EntryBody::Note | EntryBody::CannotDo(_) | EntryBody::Later(_) => Some("note"),
            _ if !entry.is_used() => Some("set_aside"),
            _ if worked && as_of != AsOf::All => Some("after_repair"),
            _ if read && as_of == AsOf::FirstLook => Some("after_first_look"),
            EntryBody::Reading(r) if !r.value.has_result() => Some("no_result"),
            _ => None,
        };
        match why {
            Some(why) => *left_out.entry(why).or_insert(0) += 1,
            None => entries.push(entry.clone()),
        }
    }
    let used = entries.len();
    let job = Job {
        entries,
        ..job.clone()
    };
    Taken {
        job,
        used,
        left_out,
    }
}

/// A job of which nothing is known but the engine, its past and the temperature.
#[must_use]
pub fn bare(job: &Job) -> Job {
    let mut bare = job.clone();
    bare.entries.retain_mut(|entry| match &mut entry.body {
        EntryBody::Start(start) => {
            start.signs.clear();
            true
        }
        EntryBody::Told(told) => {
            told.retain(|t| matches!(t, Told::Fact { .. }));
            !told.is_empty()
        }
        _ => false,
    });
    bare
}

/// What decides the shares of a bare job, the shop included: shops may differ.
#[must_use]
pub fn bare_key(job: &Job) -> String {
    key(bare(job))
}

/// What decides the chances of a job that is cut down: not its number, its bench, who wrote an
/// entry, or when.
#[must_use]
pub fn key(job: Job) -> String {
    let mut job = job;
    job.job.clear();
    job.complaint.clear();
    job.extra.retain(|key, _| key == SHOP || key == SHOP_ID);
    job.bench = Bench::default();
    for entry in &mut job.entries {
        (entry.at, entry.by, entry.note) = (None, None, None);
    }
    to_json(&job).to_string()
}
