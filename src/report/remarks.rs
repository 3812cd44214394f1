//! What was assumed or left out, and how many entries were used.
//!
//! Must not change any figure.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::names;
use super::page::and;
use crate::evidence::{Evidence, Remark};
use crate::job::{EntryBody, Job, JobNote};
use crate::knowledge::Knowledge;

/// One thing a person should know about an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// Stable code, upper case.
    pub code: String,
    /// Position of the entry in the job, if it is about one.
    pub entry: Option<usize>,
    /// In words.
    pub text: String,
}

/// Notes of the reader and remarks of the reckoning, in that order.
#[must_use]
pub fn notes(knowledge: &Knowledge, job: &Job, read: &[JobNote], evidence: &Evidence) -> Vec<Note> {
    let mut notes: Vec<Note> = read.iter().map(read_note).collect();
    for remark in &evidence.remarks {
        let note = remark_note(knowledge, job, remark);
        // The reader and the reckoning may both have met the same suspect number.
        let said = |n: &Note| n.text.contains(&note.text) || (n.entry.is_some() && *n == note);
        if !notes.iter().any(said) {
            notes.push(note);
        }
    }
    notes
}

/// The notes as JSON.
#[must_use]
pub fn json(notes: &[Note]) -> Value {
    notes
        .iter()
        .map(|n| json!({ "code": n.code, "entry": n.entry.map(|e| e + 1), "text": n.text }))
        .collect()
}

fn read_note(note: &JobNote) -> Note {
    Note {
        code: note.code.to_owned(),
        entry: None,
        text: match (note.line, entry_of(&note.path)) {
            (0, Some(entry)) => format!("entry {}: {}", entry + 1, note.what),
            (0, None) => note.what.clone(),
            (line, _) => format!("line {line}: {}", note.what),
        },
    }
}

/// Index of the entry a path leads into (`entry[2].reading.value`).
fn entry_of(path: &str) -> Option<usize> {
    path.strip_prefix("entry[")?.split(']').next()?.parse().ok()
}

fn remark_note(knowledge: &Knowledge, job: &Job, remark: &Remark) -> Note {
    let name = |id: &str| {
        let check = names::check(knowledge, id);
        let name = if check == id {
            names::sign(knowledge, id)
        } else {
            check
        };
        name.to_owned()
    };
    let (code, entry, text) = match remark {
        Remark::NotOnEngine { entry, id } => (
            "NOT_ON_ENGINE",
            Some(*entry),
            format!("left out, this engine has no such thing: {}", name(id)),
        ),
        Remark::OnSomeEngines { entry, id } => (
            "ON_SOME_ENGINES",
            Some(*entry),
            format!(
                "used only for the kinds of engine that have it: {}; other readings are of \
                 something those lack: look which is right",
                name(id)
            ),
        ),
        Remark::Suspect { entry, id, why } => (
            "SUSPECT",
            Some(*entry),
            format!(
                "left out until somebody confirms it: {}: {why}; look again, then write \
                 confirmed = true",
                name(id)
            ),
        ),
        Remark::TooMuch { entry } => (
            "TOO_MUCH",
            Some(*entry),
            "what was seen at this start is left out: all starts together are too much to reckon \
             with; the last one counts"
                .to_owned(),
        ),
        Remark::SetAside { entry } => {
            let why = job.why_not_used(*entry);
            let why = why.filter(|w| !w.is_empty()).unwrap_or("no reason given");
            ("SET_ASIDE", Some(*entry), format!("set aside: {why}"))
        }
        Remark::CylindersAssumed(n) => (
            "CYLINDERS_ASSUMED",
            None,
            format!("number of cylinders not given: reckoned with {n}"),
        ),
        Remark::TemperatureAssumed(t) => (
            "TEMPERATURE_ASSUMED",
            None,
            format!("no temperature given: reckoned with {t} degC"),
        ),
        Remark::KindsMixed(n) => (
            "KINDS_MIXED",
            None,
            format!(
                "chamber or preheat not given: {n} kinds of engine were reckoned and mixed; \
                 saying which would sharpen the list"
            ),
        ),
        Remark::LeadsUnknown { entry } => (
            "LEADS_UNKNOWN",
            Some(*entry),
            "resistance of the meter's own leads not given: touch them together and note it"
                .to_owned(),
        ),
    };
    let text = match entry {
        Some(at) => format!("{}: {text}", names::place(job, at)),
        None => text,
    };
    Note {
        code: code.to_owned(),
        entry,
        text,
    }
}

/// Which entries a list was reckoned from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// Entries that say something that was used.
    pub used: usize,
    /// Entries there are; those that only undo or set aside another are not counted.
    pub there: usize,
    /// Places of the others (`entry 3 (line 12)`), in the order of the job.
    pub unused: Vec<String>,
}

impl Used {
    /// `7 of 8 entries; not used: entry 3 (line 12)`.
    #[must_use]
    pub fn in_words(&self) -> String {
        let entries = if self.there == 1 { "entry" } else { "entries" };
        let mut text = format!("{} of {} {entries}", self.used, self.there);
        if !self.unused.is_empty() {
            text.push_str(&format!("; not used: {}", and(&self.unused)));
        }
        text
    }
}

/// Which entries say something that was used.
#[must_use]
pub fn entries_used(job: &Job, evidence: &Evidence) -> Used {
    let left_out = evidence
        .remarks
        .iter()
        .filter_map(|r| match r {
            Remark::NotOnEngine { entry, .. } | Remark::Suspect { entry, .. } => Some(*entry),
            _ => None,
        })
        .collect::<BTreeSet<_>>();
    let unseen = |at: usize| evidence.remarks.contains(&Remark::TooMuch { entry: at });
    let there = job.entries.iter().enumerate().filter(|(_, e)| {
        e.is_recorded() && !matches!(e.body, EntryBody::Undo(_) | EntryBody::Aside(_))
    });
    let (used, unused): (Vec<_>, Vec<_>) = there.partition(|(at, e)| {
        let says = says_something(&e.body, left_out.contains(at));
        e.is_used() && says && !unseen(*at)
    });
    Used {
        used: used.len(),
        there: used.len() + unused.len(),
        unused: unused
            .into_iter()
            .map(|(at, _)| names::place(job, at))
            .collect(),
    }
}

fn says_something(body: &EntryBody, part_left_out: bool) -> bool {
    match body {
        EntryBody::Told(told) => !told.is_empty(),
        EntryBody::Start(_) | EntryBody::Work(_) => true,
        EntryBody::Reading(reading) => !part_left_out && reading.value.has_result(),
        _ => false,
    }
}
