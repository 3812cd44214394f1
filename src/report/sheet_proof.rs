//! The proof on the job sheet: every cold start since the first work, what it was, what is open.
//!
//! Must not lay out, and must not judge.

use super::sheet::short;
use super::{closing_text, entry_words, names};
use crate::diagnosis::{Against, Ranking, closing};
use crate::job::{EntryBody, Job, StartAfter, Verification};
use crate::knowledge::Knowledge;

/// What stands on a blank sheet too.
pub(super) const PROOF: [&str; 4] = ["Counts", "First cold start", "Second, another day", "By"];
/// Starts before the first that counts here; it stands on no blank sheet, nor do those below.
const BEFORE_IT: &str = "Before it";
/// What remains after a cold start that was not right.
const REMAINS: &str = "What remains";
/// What the proofs say the works did.
const WHAT_IT_WAS: &str = "What it was";
/// What is still likely when the job is over.
const STILL_OPEN: &str = "Still open";
/// What was written when the job was finished.
const NOTE: &str = "Note";

/// The fields.
pub(super) fn proof(
    job: &Job,
    knowledge: &Knowledge,
    ranking: &Ranking,
) -> Vec<(&'static str, String)> {
    let closing = closing(job, knowledge, ranking);
    let v = &closing.verification;
    let counts = match v.complaint_temperature {
        Some(t) => format!(
            "after {:.0} h or more, at {:.0} degC or colder",
            crate::job::LEAST_SOAK_HOURS,
            t + crate::job::WARMER_BY
        ),
        None => format!("after {:.0} h or more", crate::job::LEAST_SOAK_HOURS),
    };
    let (before, right) = starts(job, knowledge, v);
    let at = |i: usize| right.get(i).cloned().unwrap_or_default();
    let mut fields = vec![(PROOF[0], counts)];
    if !before.is_empty() {
        fields.push((BEFORE_IT, before.join("; ")));
    }
    fields.push((PROOF[1], at(0)));
    // What an improvement is worth is said where the improvement stands.
    let not_right = |a: &&Against| matches!(a, Against::NotRight { .. });
    if let Some(not_right) = closing.against.iter().find(not_right) {
        fields.push((REMAINS, closing_text::one(not_right)));
    }
    fields.push((PROOF[2], at(1)));
    if let Some(cure) = closing_text::cure(&closing, job, knowledge) {
        fields.push((WHAT_IT_WAS, cure));
    }
    let open = closing_text::still_open(&closing);
    if let Some(open) = open.filter(|_| v.last_work.is_some()) {
        fields.push((STILL_OPEN, short(&open)));
    }
    let marks = job.entries.iter().rev().filter(|e| e.is_used());
    let mut marks = marks.filter(|e| matches!(e.body, EntryBody::Mark(_)));
    if let Some(note) = marks.next().and_then(|e| e.note.as_deref()) {
        fields.push((NOTE, short(note)));
    }
    fields.push((PROOF[3], String::new()));
    fields
}

/// `better, not right at -6 degC, stood 12 h, cranked 9,5 s, 2025-01-14`.
fn says(job: &Job, start: &StartAfter) -> String {
    let EntryBody::Start(seen) = &job.entries[start.entry].body else {
        return String::new();
    };
    let result = match (start.result, start.right) {
        (None, Some(true)) => "right",
        (Some(result), _) => entry_words::result(result),
        _ => "not judged",
    };
    let at = seen.engine_temperature.as_ref();
    let at = at.or(seen.air_temperature.as_ref());
    let at = at.map_or(String::new(), |t| format!(" at {}", t.typed));
    let soak = seen.soak.as_ref().map(|s| format!("stood {}", s.typed));
    let cranked = seen.signs.iter().find(|s| s.sign == CRANK_TIME);
    let cranked = cranked.map(|s| match s.value.number() {
        Some(_) => format!("cranked {}", s.typed),
        None => format!("cranked {}", names::state(&s.typed)),
    });
    let facts = [soak, cranked, start.day.clone()];
    let facts: Vec<String> = facts.into_iter().flatten().collect();
    format!("{result}{at}, {}", facts.join(", "))
        .trim_end_matches(", ")
        .to_owned()
}

/// The sign of how long it was cranked.
const CRANK_TIME: &str = "crank_time";

/// Cold starts since the first work before the first of those that prove it; and that one with one of
/// another day. Where the last word is not right, it stands first: nothing is proven.
fn starts(job: &Job, knowledge: &Knowledge, v: &Verification) -> (Vec<String>, Vec<String>) {
    let of = |s: &StartAfter| says(job, s);
    let speaks = |s: &&StartAfter| s.why_not.is_none() || s.right == Some(false);
    let since: Vec<&StartAfter> = v.starts.iter().filter(speaks).collect();
    let proving = since.iter().rposition(|s| s.right != Some(true));
    let first = match proving {
        // The last word itself was not right.
        Some(at) if at + 1 == since.len() => at,
        Some(at) => at + 1,
        None => 0,
    };
    let all = crate::job::starts_since_work(job, knowledge);
    let between = all.iter().filter(speaks);
    let between = between.filter(|s| v.last_work.is_some_and(|last| s.entry < last));
    let mut before: Vec<String> = between.map(of).collect();
    before.extend(since[..first.min(since.len())].iter().map(|s| of(s)));
    let mut proof: Vec<String> = since.get(first).map(|s| of(s)).into_iter().collect();
    let another_day = |s: &&&StartAfter| s.day.is_some() && s.day != since[first].day;
    let second = since.iter().skip(first + 1).find(another_day);
    proof.extend(second.map(|s| of(s)));
    (before, proof)
}
