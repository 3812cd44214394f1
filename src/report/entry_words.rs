//! An entry in full, as it was typed, so that a slip of the finger can be seen.
//!
//! Must not judge it, and must not leave out a figure.

use super::names::state;
use super::page::typeset;
use super::{moves, names};
use crate::evidence::reading::LEAST_OHMS;
use crate::job::{EntryBody, Job, Reading, SeenSign, Start, StartResult, Told, Work};
use crate::knowledge::Knowledge;
use crate::units::Quantity;

/// How a start was, as the person who watched it said.
#[must_use]
pub fn result(result: StartResult) -> &'static str {
    match result {
        StartResult::Right => "right",
        StartResult::Better => "better, not right",
        StartResult::Same => "as before",
        StartResult::Worse => "worse than before",
    }
}

/// A quantity as it was typed.
fn typed(quantity: &Quantity) -> String {
    typeset(&quantity.typed)
}

/// What an entry says with everything that was typed into it, in one line. Remark, time and name
/// are not part of it.
#[must_use]
pub fn in_full(knowledge: &Knowledge, job: &Job, entry: usize) -> String {
    let short = || names::says(knowledge, job, entry);
    let with = |more: Vec<String>| match more.is_empty() {
        true => short(),
        false => format!("{}; {}", short(), more.join("; ")),
    };
    match job.entries.get(entry).map(|e| &e.body) {
        Some(EntryBody::Start(s)) => format!("start: {}", start(knowledge, s).join("; ")),
        Some(EntryBody::Told(all)) if all.iter().any(|t| matches!(t, Told::Sign(_))) => {
            let all = all.iter().map(|t| match t {
                Told::Sign(seen) => sign(knowledge, seen),
                Told::Fact { .. } => names::told_says(knowledge, t),
            });
            format!("told: {}", all.collect::<Vec<_>>().join("; "))
        }
        Some(EntryBody::Reading(r)) => with(reading(r)),
        Some(EntryBody::Work(w)) => with(work(w)),
        Some(EntryBody::CannotDo(c)) => with(vec![c.reason.clone()]),
        _ => short(),
    }
}

fn start(knowledge: &Knowledge, start: &Start) -> Vec<String> {
    let some =
        |words: &str, q: &Option<Quantity>| q.as_ref().map(|q| format!("{words} {}", typed(q)));
    let facts = [
        start.result.map(|r| result(r).to_owned()),
        some("engine at", &start.engine_temperature),
        some("air at", &start.air_temperature),
        some("stood", &start.soak),
        some("preheated", &start.preheat),
        start.primed.then(|| "fuel pumped up by hand".to_owned()),
        start.heated.then(|| "heated before it".to_owned()),
        start.tries.map(|n| match n {
            1 => "1 try".to_owned(),
            n => format!("{n} tries"),
        }),
    ];
    let signs = start.signs.iter().map(|s| sign(knowledge, s));
    let all: Vec<String> = facts.into_iter().flatten().chain(signs).collect();
    match all.is_empty() {
        true => vec!["nothing said of it".to_owned()],
        false => all,
    }
}

fn sign(knowledge: &Knowledge, seen: &SeenSign) -> String {
    let typed = match seen.value.number() {
        Some(_) => seen.typed.clone(),
        None => state(&seen.typed),
    };
    format!("{}: {typed}", names::sign(knowledge, &seen.sign))
}

fn reading(reading: &Reading) -> Vec<String> {
    let some =
        |words: &str, q: &Option<Quantity>| q.as_ref().map(|q| format!("{words} {}", typed(q)));
    let facts = [
        reading.trial.map(|n| format!("trial {n}")),
        reading
            .repeat
            .map(|r| format!("once more, {}", moves::how(r))),
        some("supply", &reading.supply),
        some("rested", &reading.rest),
        some("leads alone", &reading.leads),
        without_leads(reading),
        reading
            .tool
            .as_ref()
            .map(|t| format!("with {}", names::plain(t))),
        reading.why_not.clone(),
        reading.confirmed.then(|| "looked twice".to_owned()),
    ];
    facts.into_iter().flatten().collect()
}

/// What is left of a resistance when the meter's leads are taken off, as it is reckoned with.
fn without_leads(reading: &Reading) -> Option<String> {
    let read = reading.value.number()?.quantity.value;
    let leads = reading.leads.as_ref()?.value;
    (leads > 0.0).then(|| format!("without the leads {} ohm", least(read - leads)))
}

/// Ohms to the hundredth, never less than one.
fn least(ohms: f64) -> String {
    let text = format!("{:.2}", ohms.max(LEAST_OHMS));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn work(work: &Work) -> Vec<String> {
    let facts = [
        work.minutes.map(|m| format!("{m} min")),
        work.parts_cost.map(|c| format!("parts {c}")),
    ];
    facts.into_iter().flatten().collect()
}
