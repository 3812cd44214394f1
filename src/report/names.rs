//! What causes and entries are called, for people.
//!
//! Must not judge them.

use super::entry_words;
use crate::diagnosis::{Cause, Standing};
use crate::evidence::Source;
use crate::job::{EntryBody, Fact, Job, Measured, Reading, ReadingValue, SeenSign, Told};
use crate::knowledge::Knowledge;

/// Identifier of the part that stands for whatever this list does not know.
pub const OTHER: &str = "other";

/// `dead plug, cylinder 2`.
#[must_use]
pub fn cause(label: &str, cylinder: Option<u8>) -> String {
    match cylinder {
        Some(c) => format!("{label}, cylinder {c}"),
        None => label.to_owned(),
    }
}

/// Whether the cause is the fixed last row of every list.
#[must_use]
pub fn is_other(cause: &Cause) -> bool {
    cause.part == OTHER
}

/// Word for a standing, as people read it.
#[must_use]
pub fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Leading => "leading",
        Standing::InTheRunning => "in the running",
        Standing::SetAside => "set aside",
        Standing::Proven => "proven",
        Standing::NotLookedAt => "not looked at yet",
    }
}

/// Word for a standing in JSON.
#[must_use]
pub fn standing_id(standing: Standing) -> &'static str {
    match standing {
        Standing::Leading => "leading",
        Standing::InTheRunning => "in_the_running",
        Standing::SetAside => "set_aside",
        Standing::Proven => "proven",
        Standing::NotLookedAt => "not_looked_at",
    }
}

/// `fuel supply` for `fuel_supply`; spans are said as such, `8 to 10` for `8_10` and `10 or more` for
/// `10_plus`.
#[must_use]
pub fn plain(id: &str) -> String {
    let mut said = String::with_capacity(id.len());
    let mut before = None;
    for word in id.split('_') {
        match before {
            None => said.push_str(word),
            Some(last) if is_number(last) && is_number(word) => said += &format!(" to {word}"),
            Some(last) if is_number(last) && word == "plus" => said += " or more",
            Some(_) => said += &format!(" {word}"),
        }
        before = Some(word);
    }
    said
}

fn is_number(word: &str) -> bool {
    !word.is_empty() && word.bytes().all(|b| b.is_ascii_digit())
}

/// A state of a sign: spans of seconds are written as such, the rest are words.
#[must_use]
pub fn state(state: &str) -> String {
    let plain = plain(state);
    match plain.strip_prefix('s') {
        Some(span) if span.starts_with(|c: char| c.is_ascii_digit()) => {
            format!("{} s", span.replace(' ', " to "))
        }
        _ if plain.starts_with(char::is_alphabetic)
            && plain.ends_with(|c: char| c.is_ascii_digit()) =>
        {
            format!("{plain} s")
        }
        _ => plain,
    }
}

/// What a check finds, as people say it: `strokes_5_20` is five to twenty strokes.
#[must_use]
pub fn found(state: &str) -> String {
    let words: Vec<&str> = state.split('_').collect();
    match words[..] {
        [of, from, to] if !is_number(of) && is_number(from) && is_number(to) => {
            format!("{from} to {to} {of}")
        }
        _ => plain(state),
    }
}

/// The text with a small first letter, for the middle of a sentence.
#[must_use]
pub fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

/// Label of a check; its identifier if it is not known.
#[must_use]
pub fn check<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    let known = knowledge.checks.iter().find(|c| c.id.get_ref() == id);
    known.map_or(id, |c| c.label.as_str())
}

/// Label of a sign; its identifier if it is not known.
#[must_use]
pub fn sign<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    let known = knowledge.signs.iter().find(|s| s.id.get_ref() == id);
    known.map_or(id, |s| s.label.as_str())
}

/// `entry 3`, with its line where the job came from a file.
#[must_use]
pub fn place(job: &Job, entry: usize) -> String {
    let line = job.entries.get(entry).and_then(|e| e.position);
    match line {
        Some(p) => format!("entry {} (line {})", entry + 1, p.line),
        None => format!("entry {}", entry + 1),
    }
}

/// What an entry says, in a few words.
#[must_use]
pub fn says(knowledge: &Knowledge, job: &Job, entry: usize) -> String {
    let Some(entry) = job.entries.get(entry) else {
        return String::new();
    };
    match &entry.body {
        EntryBody::Told(told) => {
            let told = told.iter().map(|t| told_says(knowledge, t));
            format!("told: {}", told.collect::<Vec<_>>().join("; "))
        }
        EntryBody::Start(start) => {
            let signs = start.signs.iter().map(|s| sign_says(knowledge, s));
            format!("start: {}", signs.collect::<Vec<_>>().join("; "))
        }
        EntryBody::Reading(r) => {
            let name = cause(check(knowledge, &r.check), r.cylinder);
            format!("{name}: {}", reading_says(r))
        }
        EntryBody::Work(work) => {
            let known = knowledge
                .repairs
                .iter()
                .find(|r| *r.id.get_ref() == work.repair);
            let label = known.map_or(work.repair.as_str(), |r| r.label.as_str());
            format!("work: {}", cause(label, work.cylinder))
        }
        EntryBody::Opinion(o) => {
            let text = o.text.as_deref().or(o.fault.as_deref()).unwrap_or("");
            format!("opinion: {text}")
        }
        EntryBody::CannotDo(c) => format!("can't do: {}", check(knowledge, &c.check)),
        EntryBody::Later(l) => {
            format!("put off: {}", cause(check(knowledge, &l.check), l.cylinder))
        }
        EntryBody::Finding(f) => format!("found: {}", cause(&f.fault, f.cylinder)),
        EntryBody::Mark(m) => format!("marked: {}", plain(m.id())),
        EntryBody::Undo(u) => withdrawn("undone", u.entry, u.why.as_deref()),
        EntryBody::Aside(a) => withdrawn("set aside", a.entry, Some(&a.why)),
        EntryBody::Note => format!("note: {}", entry.note.as_deref().unwrap_or("")),
    }
}

/// A reading as it was typed; a word of the list as people say it.
#[must_use]
pub fn reading_says(reading: &Reading) -> String {
    match &reading.value {
        ReadingValue::Measured(Measured::State(_) | Measured::OffScale(_)) => found(&reading.typed),
        ReadingValue::Measured(Measured::Number(_)) => reading.typed.clone(),
        _ => plain(&reading.typed),
    }
}

fn withdrawn(word: &str, entry: usize, why: Option<&str>) -> String {
    match why.filter(|w| !w.is_empty()) {
        Some(why) => format!("{word}: entry {entry}, {why}"),
        None => format!("{word}: entry {entry}"),
    }
}

/// What one thing told says.
#[must_use]
pub fn told_says(knowledge: &Knowledge, told: &Told) -> String {
    match told {
        Told::Sign(sign) => sign_says(knowledge, sign),
        Told::Fact { fact, state, .. } => {
            let fact = match fact {
                Fact::RecentWork => "work shortly before",
                Fact::LaidUp => "stood unused for weeks",
                Fact::PlugsRenewed => "plugs renewed lately",
            };
            format!("{fact}: {}", plain(state))
        }
    }
}

fn sign_says(knowledge: &Knowledge, seen: &SeenSign) -> String {
    format!("{}: {}", sign(knowledge, &seen.sign), state(&seen.typed))
}

/// What one piece of a job says: a sign told or seen, a reading, or a set of timings.
#[must_use]
pub fn source(knowledge: &Knowledge, source: &Source, typed: &str) -> String {
    let seen = state(typed);
    let typed = plain(typed);
    match source {
        Source::Told { sign: id } => format!("told: {}: {seen}", sign(knowledge, id)),
        Source::Seen { sign: id, start } => {
            format!("start {start}: {}: {seen}", sign(knowledge, id))
        }
        Source::Verdict { result, start } => {
            format!("start {start}: {}", entry_words::result(*result))
        }
        Source::Reading {
            check: id,
            cylinder,
        } => {
            let name = cause(check(knowledge, id), *cylinder);
            format!("{name}: {typed}")
        }
        Source::Timings { check: id } => format!("{}: {typed}", check(knowledge, id)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cause_of_one_cylinder_says_which() {
        assert_eq!(cause("dead plug", Some(2)), "dead plug, cylinder 2");
        assert_eq!(cause("worn starter", None), "worn starter");
    }

    #[test]
    fn an_entry_that_is_not_there_has_a_place_but_says_nothing() {
        let job = Job::new("A", "");
        assert_eq!(place(&job, 2), "entry 3");
    }

    /// Buttons and plans said "10 plus" and "8 10" where a check was about volts.
    #[test]
    fn spans_of_findings_read_as_such() {
        for (id, text) in [
            ("10_plus", "10 or more"),
            ("8_10", "8 to 10"),
            ("under_8", "under 8"),
            ("strokes_5_20", "strokes 5 to 20"),
            ("fuel_supply", "fuel supply"),
            ("_", " "),
            ("", ""),
        ] {
            assert_eq!(plain(id), text);
        }
    }

    #[test]
    fn spans_of_seconds_read_as_such() {
        for (id, text) in [
            ("s8_20", "8 to 20 s"),
            ("under_3", "under 3 s"),
            ("over_60", "over 60 s"),
            ("stays_on", "stays on"),
            ("slow", "slow"),
        ] {
            assert_eq!(state(id), text);
        }
    }
}
