//! The card of the next check, with its cautions before it, and the others to choose from.
//!
//! Must not choose moves.

use maud::{Markup, html};

use super::bench::{Bench, Reckoned};
use super::cautions_card::care_of;
use super::fields::{Fields, coded};
use super::forms::form;
use super::frame::of_job;
use super::reading_page::{address, pad};
use super::routes::Ask;
use crate::job::{EntryBody, Job, JobState, Later};
use crate::knowledge::{Check, Knowledge, Per, Repair};
use crate::planning::bench::{Found, MoveKind, Next, NextMove};
use crate::report::comes_first::{First, comes_first};
use crate::report::page::{and, typeset};
use crate::report::{chance, moves, names, next_text, panels};

/// Other moves in one line each. Own judgement.
const OTHERS: usize = 4;
/// Most outcomes listed; the rest have little chance.
const OUTCOMES: usize = 6;

/// The next check or repair, and others to choose from. What comes before any check stands first,
/// and the check is folded under it.
#[must_use]
pub fn next(ask: &Ask, reckoned: &Reckoned<'_>, knowledge: &Knowledge) -> Markup {
    let job = reckoned.job();
    let offered = match reckoned.next() {
        Err(why) => html! { p { (why) } },
        Ok(next) => offered(reckoned.bench(), ask, job, next),
    };
    html! {
        section.card #next {
            h2 { (panels::NEXT_CHECK) }
            @match comes_first(job, knowledge) {
                Some(first) => {
                    (before_any_check(job, &first))
                    details {
                        summary {
                            @match first {
                                First::Watch => "Checks that may come before it",
                                First::ColdStart(_) => "Checks meanwhile",
                            }
                        }
                        (offered)
                    }
                }
                None => (offered),
            }
            @if !reckoned.next().is_ok_and(|n| n.over.is_some()) { (put_off(ask, job, knowledge)) }
        }
    }
}

fn before_any_check(job: &Job, first: &First) -> Markup {
    let (name, page, says) = match first {
        First::Watch => (
            "Watch the first start",
            "start",
            "It costs a minute, before anything is unscrewed, and there is one a day: it tells fuel \
             that does not come from fuel that does not burn.",
        ),
        First::ColdStart(_) => (
            "Wait for the cold start",
            "cold",
            "The work is done; only a cold start can tell whether that was it.",
        ),
    };
    html! {
        h3.move { (name) }
        p { (says) }
        @if let First::ColdStart(Some(wanted)) = first { p { (typeset(wanted)) } }
        a.main href=(of_job(&job.job, page)) {
            @match first {
                First::Watch => (panels::FIRST_START),
                First::ColdStart(_) => "Write down the cold start",
            }
        }
    }
}

fn offered(bench: &Bench, ask: &Ask, job: &Job, next: &Next) -> Markup {
    let knowledge = bench.knowledge();
    let Some((first, others)) = next.moves.split_first() else {
        return html! {
            p { (moves::nothing_left(next.over)) }
            @if next.over == Some(JobState::DoneProven) {
                div.keys {
                    a.key href=(of_job(&job.job, "sheet")) { (panels::JOB_SHEET) }
                    a.key href=(of_job(&job.job, "close")) { "Finish job" }
                }
            }
        };
    };
    html! {
        @if next.stop {
            p { "Stop checking: no check here is worth its minutes any more, acting comes out \
                 cheaper." }
        }
        @if next.settle_first {
            p { "These readings don't fit together: one of them is most likely wrong. Settle that \
                 first." }
        }
        (first_move(bench, ask, job, next, first))
        (rest(job, next, others, knowledge))
    }
}

/// Where the work of a repair is written down.
fn work_of(job: &Job, repair: &NextMove) -> String {
    let cylinder = repair
        .cylinder
        .map_or(String::new(), |c| format!("&cylinder={c}"));
    let work = of_job(&job.job, "work");
    format!("{work}?repair={}{cylinder}", coded(&repair.id))
}

/// Checks that were put off, each to be put back.
fn put_off(ask: &Ask, job: &Job, knowledge: &Knowledge) -> Markup {
    let entries = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    let off: Vec<(usize, String)> = entries
        .filter_map(|(at, e)| match &e.body {
            EntryBody::Later(l) if !is_done(job, at, l, knowledge) => {
                let name = names::cause(names::check(knowledge, &l.check), l.cylinder);
                Some((at + 1, name))
            }
            _ => None,
        })
        .collect();
    html! {
        @if !off.is_empty() {
            h3 { "Put off" }
            ul.plain {
                @for (entry, name) in &off {
                    li {
                        p { (name) }
                        (form(ask, &job.job, "undo", job.entries.len(), &html! {
                            input type="hidden" name="entry" value=(entry);
                            button.second type="submit" { "Put back" span.sr { ": " (name) } }
                        }))
                    }
                }
            }
        }
    }
}

/// Whether what was put off at an entry was done since, at every cylinder it is done at.
fn is_done(job: &Job, at: usize, later: &Later, knowledge: &Knowledge) -> bool {
    let since = job.entries.iter().skip(at).filter(|e| e.is_used());
    let read: Vec<Option<u8>> = since
        .filter_map(|e| match &e.body {
            EntryBody::Reading(r) if r.check == later.check => Some(r.cylinder),
            _ => None,
        })
        .collect();
    let each = knowledge
        .checks
        .iter()
        .any(|c| *c.id.get_ref() == later.check && c.per == Per::Cylinder);
    match (later.cylinder, job.engine.cylinders) {
        (Some(_), _) => read.contains(&later.cylinder),
        (None, Some(count)) if each => (1..=count).all(|c| read.contains(&Some(c))),
        (None, _) => !read.is_empty(),
    }
}

fn first_move(bench: &Bench, ask: &Ask, job: &Job, next: &Next, first: &NextMove) -> Markup {
    let knowledge = bench.knowledge();
    let lead = match first.kind {
        MoveKind::Check => "",
        MoveKind::Repair => "Worth trying now: ",
        MoveKind::HandOver => "Best handed over: ",
        MoveKind::Ask => "First look: ",
    };
    let check = knowledge
        .checks
        .iter()
        .find(|c| first.kind == MoveKind::Check && *c.id.get_ref() == first.id);
    let repair = knowledge
        .repairs
        .iter()
        .find(|r| first.kind == MoveKind::Repair && *r.id.get_ref() == first.id);
    html! {
        h3.move { (lead) (next_text::name(first, knowledge)) }
        @if first.kind != MoveKind::HandOver {
            p { (next_text::takes(first, knowledge))
                @if let Some(night) = next_text::waits(next, first) { "; " b { (night) } } "." }
        }
        @if let Some(apart) = next_text::tells_apart(first) { p { (apart) } }
        @match next_text::chance_it_changes(first) {
            Some(changes) => p { (changes) "." },
            None => p { (sentence(&next_text::worth(first))) },
        }
        @if let Some(why) = next_text::changes_little(first) { p { (why) } }
        @if let Some(mend) = next_text::mend_now(next) { (mend_now(job, mend, knowledge)) }
        @if first.kind != MoveKind::Ask {
            details {
                summary { "What it costs in minutes" }
                @if first.kind == MoveKind::Check { p { (sentence(&next_text::minutes(first))) } }
                p.hint { (next_text::counted(job, first.night.is_some())) }
            }
        }
        (care_of(bench, ask, first.hazards.iter().map(String::as_str)))
        @if let Some(check) = check { (how(check)) }
        @if let Some((_, checks)) = next.wants_checks.iter().find(|w| w.0 == first.id) {
            p { "Heavy work: have " (checks) " checks of different kinds agree on it first." }
        }
        (found(first, knowledge))
        @if let Some(check) = check { (of_check(ask, job, first, check)) }
        @if let Some(repair) = repair { (of_repair(job, first, repair)) }
        @if first.kind == MoveKind::Ask {
            a.main href=(of_job(&job.job, "engine")) { "Engine and bench" }
        }
    }
}

/// The other choice where a check comes first, with its price.
fn mend_now(job: &Job, mend: &NextMove, knowledge: &Knowledge) -> Markup {
    html! {
        p { "The other choice, mending right away:" }
        a.row href=(work_of(job, mend)) { (next_text::name(mend, knowledge)) }
        p.hint { (sentence(&next_text::worth(mend))) }
    }
}

/// With a capital and one full stop.
fn sentence(text: &str) -> String {
    let mut letters = text.trim_end_matches('.').chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

fn how(check: &Check) -> Markup {
    html! {
        h3 { "How" }
        ol { @for step in &check.how { li { (typeset(step)) } } }
        @if !check.spoilers.is_empty() { p { "Spoiled by: " (typeset(&and(&check.spoilers))) } }
    }
}

fn found(one: &NextMove, knowledge: &Knowledge) -> Markup {
    let mut outcomes = one_of_them(&one.outcomes);
    outcomes.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    html! {
        @if !outcomes.is_empty() {
            details {
                summary { "What you may find" }
                ul {
                    @for o in outcomes.iter().take(OUTCOMES) {
                        li {
                            (names::found(&o.state)) ": about " (chance::of_100(o.chance))
                            @if let Some(then) = &o.leads_to { "; then " (moves::of_id(knowledge, then)) }
                        }
                    }
                }
            }
        }
    }
}

/// Outcomes that differ only in the cylinder, as one line; what then is said where it is the same
/// for all.
fn one_of_them(outcomes: &[Found]) -> Vec<Found> {
    let mut said: Vec<Found> = Vec::new();
    for outcome in outcomes {
        let state = match outcome.state.starts_with("cylinder ") {
            true => "one of the cylinders",
            false => &outcome.state,
        };
        match said.iter_mut().find(|s| s.state == state) {
            Some(one) => {
                one.chance += outcome.chance;
                one.leads_to = one
                    .leads_to
                    .take()
                    .filter(|l| Some(l) == outcome.leads_to.as_ref());
            }
            None => said.push(Found {
                state: state.to_owned(),
                ..outcome.clone()
            }),
        }
    }
    said
}

fn of_check(ask: &Ask, job: &Job, first: &NextMove, check: &Check) -> Markup {
    let mut typed = Fields::default();
    if let Some(cylinder) = first.cylinder {
        typed = typed.with("cylinder", &cylinder.to_string());
    }
    if let Some(repeat) = first.repeat {
        typed = typed.with("repeat", repeat.id());
    }
    html! {
        (pad(ask, job, check, &typed))
        (form(ask, &job.job, "later", job.entries.len(), &html! {
            input type="hidden" name="check" value=(check.id.get_ref());
            @if let Some(c) = first.cylinder { input type="hidden" name="cylinder" value=(c); }
            button.second type="submit" { "Later" }
        }))
        details {
            summary { "Can't do this" }
            (form(ask, &job.job, "cannot", job.entries.len(), &html! {
                input type="hidden" name="check" value=(check.id.get_ref());
                @if let Some(c) = first.cylinder { input type="hidden" name="cylinder" value=(c); }
                fieldset.chips {
                    legend { "Why" }
                    @for why in ["no tool", "seized", "unsafe", "too long"] {
                        label.chip {
                            input type="radio" name="reason" value=(why);
                            span { (why) }
                        }
                    }
                }
                button.second type="submit" { "Don't offer it again" }
            }))
        }
    }
}

fn of_repair(job: &Job, first: &NextMove, repair: &Repair) -> Markup {
    html! {
        @if let Some(why) = &repair.ask_why { p { "Find out too: " (why) } }
        p { "How to show that it worked: " (repair.verify) }
        a.main href=(work_of(job, first)) { "Write the work down" }
    }
}

fn rest(job: &Job, next: &Next, others: &[NextMove], knowledge: &Knowledge) -> Markup {
    let mend = next_text::mend_now(next);
    let others: Vec<&NextMove> = others
        .iter()
        .filter(|o| Some(*o) != mend)
        .take(OTHERS)
        .collect();
    html! {
        @if !others.is_empty() {
            details {
                summary { (panels::OTHER_CHECKS) " (" (others.len()) ")" }
                ul.plain {
                    @for other in others {
                        li {
                            @match other.kind {
                                MoveKind::Check => a.row href=(address(&job.job, &other.id, other.cylinder)) {
                                    (next_text::name(other, knowledge))
                                },
                                MoveKind::Repair => a.row href=(work_of(job, other)) {
                                    (next_text::name(other, knowledge))
                                },
                                _ => p { (next_text::name(other, knowledge)) },
                            }
                            p.hint { (sentence(&next_text::worth(other))) }
                        }
                    }
                }
            }
        }
        @if let Some(hidden) = next_text::hidden(next) {
            p.hint { (hidden) " " a.small href=(of_job(&job.job, "engine")) { "Change tools and people" } }
        }
        a.key href=(of_job(&job.job, "plan")) { (panels::PLAN) }
    }
}
