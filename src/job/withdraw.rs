//! Which entries are taken back or set aside by later ones.
//!
//! Nothing is ever removed: an entry that was undone stays, and an undo can be undone. Must not
//! decide what an entry that stands is worth.

use super::entry::{Entry, EntryBody, Withdrawn};
use super::record::Job;

/// The entry (from 0) that a body speaks about, and what happens to it.
fn target(body: &EntryBody, by: usize) -> Option<(usize, Withdrawn)> {
    let (entry, withdrawn) = match body {
        EntryBody::Undo(undo) => (undo.entry, Withdrawn::Undone { by }),
        EntryBody::Aside(aside) => (aside.entry, Withdrawn::Aside { by }),
        _ => return None,
    };
    let entry = entry.checked_sub(1).filter(|at| *at < by)?;
    Some((entry, withdrawn))
}

/// Marks every entry with what later ones did to it. The last word holds: an undo that was
/// itself undone does nothing. An entry both undone and set aside counts as undone.
pub(super) fn settle(entries: &mut [Entry]) {
    for entry in entries.iter_mut() {
        entry.withdrawn = None;
    }
    for by in (0..entries.len()).rev() {
        if !entries[by].is_used() {
            continue;
        }
        if let Some((at, withdrawn)) = target(&entries[by].body, by)
            && !matches!(entries[at].withdrawn, Some(Withdrawn::Undone { .. }))
        {
            entries[at].withdrawn = Some(withdrawn);
        }
    }
}

impl Job {
    /// Marks every entry with what later ones did to it; needed after entries were added or cut.
    pub fn settle(&mut self) {
        settle(&mut self.entries);
    }

    /// Why an entry is not used, in a person's words; `None` if it is used. Empty if nobody
    /// gave a reason.
    #[must_use]
    pub fn why_not_used(&self, entry: usize) -> Option<&str> {
        let entry = self.entries.get(entry)?;
        if let Some(why) = &entry.set_aside {
            return Some(why);
        }
        let by = match entry.withdrawn? {
            Withdrawn::Undone { by } | Withdrawn::Aside { by } => by,
        };
        let why = self.entries.get(by).map(|e| match &e.body {
            EntryBody::Undo(undo) => undo.why.as_deref().unwrap_or_default(),
            EntryBody::Aside(aside) => aside.why.as_str(),
            _ => "",
        });
        Some(why.unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Aside, Undo};

    fn job(bodies: Vec<EntryBody>) -> Job {
        let mut job = Job::new("A", "");
        job.entries = bodies.into_iter().map(Entry::new).collect();
        job.settle();
        job
    }

    fn undo(entry: usize) -> EntryBody {
        EntryBody::Undo(Undo { entry, why: None })
    }

    fn aside(entry: usize) -> EntryBody {
        let why = "clip slipped".to_owned();
        EntryBody::Aside(Aside { entry, why })
    }

    fn used(job: &Job) -> Vec<bool> {
        job.entries.iter().map(Entry::is_used).collect()
    }

    #[test]
    fn an_undo_takes_back_and_an_undo_of_it_puts_back() {
        let one = EntryBody::Note;
        assert_eq!(used(&job(vec![one.clone(), undo(1)])), [false, true]);
        let back = job(vec![one.clone(), undo(1), undo(2)]);
        assert_eq!(used(&back), [true, false, true]);
        let again = job(vec![one, undo(1), undo(2), undo(3)]);
        assert_eq!(used(&again), [false, true, false, true]);
    }

    #[test]
    fn set_aside_is_still_recorded_and_undone_is_not() {
        let job = job(vec![EntryBody::Note, aside(1), EntryBody::Note, undo(3)]);
        assert!(!job.entries[0].is_used() && job.entries[0].is_recorded());
        assert_eq!(job.why_not_used(0), Some("clip slipped"));
        assert!(!job.entries[2].is_used() && !job.entries[2].is_recorded());
        assert_eq!(job.why_not_used(2), Some(""));
        assert_eq!(job.why_not_used(3), None);
    }

    #[test]
    fn an_entry_that_is_not_there_yet_cannot_be_taken_back() {
        assert_eq!(used(&job(vec![undo(1), undo(0), undo(9)])), [true; 3]);
    }
}
