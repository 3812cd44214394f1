//! Cards of the slip: where we stand, and the next check with its cautions before it.
//!
//! Must not choose rows or moves.

use maud::{Markup, html};

use super::answers;
use super::bench::Reckoned;
use super::fields::{Fields, coded};
use super::forms::form;
use super::frame::of_job;
use super::reading_page::{address, care, care_of, pad};
use super::routes::Ask;
use crate::diagnosis::{self, Cause, Standing};
use crate::job::{EntryBody, Job};
use crate::knowledge::{Check, Knowledge, Repair};
use crate::planning::bench::{Found, MoveKind, Next, NextMove};
use crate::report::page::{Symbols, and};
use crate::report::rows::rows;
use crate::report::{causes_text, chance, moves, names, next_text, panels};

/// Other moves in one line each. Own judgement.
const OTHERS: usize = 4;
/// Most outcomes listed; the rest have little chance.
const OUTCOMES: usize = 6;

/// Where we stand.
#[must_use]
pub fn causes(standing: &answers::Standing, job: &Job, knowledge: &Knowledge, all: bool) -> Markup {
    let ranking = &standing.ranking;
    let shown = rows(ranking, all);
    let leading = ranking.causes.iter();
    let level = leading.filter(|c| c.standing == Standing::Leading).count() > 1;
    html! {
        section.card #stand {
            h2 { (panels::WHERE_WE_STAND) }
            (misfit(standing, job, knowledge))
            p { "Chances are separate: two things can be wrong at once, so they can add to more \
                 than 100." }
            ol.causes {
                @for row in &shown.rows {
                    (cause(row.cause, &causes_text::with_cylinders(row), &job.job, level))
                }
                @if let Some(other) = shown.other { (cause(other, &other.label, &job.job, level)) }
            }
            p { "Nothing wrong with the engine at all: " (chance::of_100(ranking.healthy)) "." }
            @if shown.hidden > 0 {
                a.key href=(format!("{}?all=yes#stand", of_job(&job.job, ""))) {
                    "Show all (" (shown.hidden) " more)"
                }
            }
            details {
                summary { "By system" }
                ul {
                    @for s in &ranking.systems {
                        li { (names::plain(&s.system)) ": " (chance::of_100(s.chance)) }
                    }
                }
            }
            p.hint {
                "Reckoned from " (standing.used.in_words()) "."
            }
            @if !standing.notes.is_empty() {
                details {
                    summary { "Assumed or left out (" (standing.notes.len()) ")" }
                    ul { @for note in &standing.notes { li { (note.text) } } }
                }
            }
        }
    }
}

fn cause(cause: &Cause, name: &str, job: &str, level: bool) -> Markup {
    let why = format!("{}?cause={}", of_job(job, "why"), coded(&cause.cause));
    let moved = cause.before.and_then(|b| chance::change(b, cause.chance));
    let standing = match cause.standing {
        Standing::Leading if level => "level",
        standing => names::standing(standing),
    };
    let facts = [
        Some(standing.to_owned()),
        moved,
        Some(format!("usually {}", chance::count(cause.base))),
    ];
    let facts: Vec<String> = facts.into_iter().flatten().collect();
    html! {
        li {
            a.row href=(why) { (name) }
            p.chance {
                span.count { (chance::of_100(cause.chance)) }
                span.dots aria-hidden="true" { (chance::dots(cause.chance, Symbols::Unicode)) }
            }
            p.hint { (facts.join("; ")) }
        }
    }
}

fn misfit(standing: &answers::Standing, job: &Job, knowledge: &Knowledge) -> Markup {
    let misfit = &standing.ranking.misfit;
    html! {
        @if !misfit.entries.is_empty() {
            div.care {
                h3 { "These readings don't fit together" }
                ul {
                    @for at in &misfit.entries {
                        li { (names::place(job, *at)) ": " (names::says(knowledge, job, *at)) }
                    }
                }
                @if let Some((check, cylinder)) = &misfit.repeat {
                    a.row href=(address(&job.job, check, *cylinder)) {
                        "Cheapest way to settle it: once more, "
                        (names::lower(&names::cause(names::check(knowledge, check), *cylinder)))
                    }
                }
            }
        }
    }
}

/// What the last entry moved, at most three.
#[must_use]
pub fn what_that_did(ranking: &diagnosis::Ranking) -> Vec<String> {
    /// Most causes named.
    const NAMED: usize = 3;
    let mut moved: Vec<(f64, String)> = ranking
        .causes
        .iter()
        .filter_map(|c| {
            let before = c.before?;
            let change = chance::change(before, c.chance)?;
            let name = names::cause(&c.label, c.cylinder);
            let now = chance::of_100(c.chance);
            Some((
                (c.chance - before).abs(),
                format!("{name} {change}, now {now}"),
            ))
        })
        .collect();
    moved.sort_by(|a, b| b.0.total_cmp(&a.0));
    moved.into_iter().take(NAMED).map(|m| m.1).collect()
}

/// The next check or repair, and others to choose from.
#[must_use]
pub fn next(ask: &Ask, reckoned: &Reckoned<'_>, knowledge: &Knowledge) -> Markup {
    let job = reckoned.job();
    let content = match reckoned.next() {
        Err(why) => html! { p { (why) } },
        Ok(next) => match next.moves.split_first() {
            None => html! { p { (moves::nothing_left(next.over)) } },
            Some((first, others)) => html! {
                @if next.stop {
                    p { "Stop checking: no check here is worth its minutes any more, acting comes \
                         out cheaper." }
                }
                @if next.settle_first {
                    p { "These readings don't fit together: one of them is most likely wrong. \
                         Settle that first." }
                }
                (first_move(ask, job, next, first, knowledge))
                (rest(job, next, others, knowledge))
            },
        },
    };
    html! {
        section.card #next {
            h2 { (panels::NEXT_CHECK) }
            (content)
            (put_off(ask, job, knowledge))
        }
    }
}

/// Checks that were put off, each to be put back.
fn put_off(ask: &Ask, job: &Job, knowledge: &Knowledge) -> Markup {
    let entries = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    let off: Vec<(usize, String)> = entries
        .filter_map(|(at, e)| match &e.body {
            EntryBody::Later(l) => {
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

fn first_move(
    ask: &Ask,
    job: &Job,
    next: &Next,
    first: &NextMove,
    knowledge: &Knowledge,
) -> Markup {
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
        @if first.kind != MoveKind::HandOver { p { (next_text::takes(first, knowledge)) } }
        p { (sentence(&next_text::worth(first))) }
        @match check {
            // Those of the way in to it are said in full each time.
            Some(check) if first.hazards.iter().all(|h| check.hazards.iter().any(|c| c.get_ref() == h)) => {
                (care_of(knowledge, job, check))
            }
            _ => (care(knowledge, first.hazards.iter().map(String::as_str))),
        }
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

/// With a capital and one full stop.
fn sentence(text: &str) -> String {
    let mut letters = text.trim_end_matches('.').chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

fn how(check: &Check) -> Markup {
    html! {
        h3 { "How" }
        ol { @for step in &check.how { li { (step) } } }
        @if !check.spoilers.is_empty() { p { "Spoiled by: " (and(&check.spoilers)) } }
    }
}

fn found(one: &NextMove, knowledge: &Knowledge) -> Markup {
    let mut outcomes = one_of_them(&one.outcomes);
    outcomes.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    html! {
        @if !outcomes.is_empty() {
            h3 { "What you may find" }
            ul {
                @for o in outcomes.iter().take(OUTCOMES) {
                    li {
                        (names::plain(&o.state)) ": about " (chance::of_100(o.chance))
                        @if let Some(then) = &o.leads_to { "; then " (moves::of_id(knowledge, then)) }
                    }
                }
            }
        }
    }
}

/// Outcomes that differ only in the cylinder and lead to the same move, as one line.
fn one_of_them(outcomes: &[Found]) -> Vec<Found> {
    let mut said: Vec<Found> = Vec::new();
    for outcome in outcomes {
        let state = match outcome.state.starts_with("cylinder ") {
            true => "one of the cylinders",
            false => &outcome.state,
        };
        let like = |s: &&mut Found| s.state == state && s.leads_to == outcome.leads_to;
        match said.iter_mut().find(like) {
            Some(one) => one.chance += outcome.chance,
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
    let cylinder = first
        .cylinder
        .map_or(String::new(), |c| format!("&cylinder={c}"));
    let work = format!(
        "{}?repair={}{cylinder}",
        of_job(&job.job, "work"),
        coded(&first.id)
    );
    html! {
        @if let Some(why) = &repair.ask_why { p { "Find out too: " (why) } }
        p { "How to show that it worked: " (repair.verify) }
        a.main href=(work) { "Write the work down" }
    }
}

fn rest(job: &Job, next: &Next, others: &[NextMove], knowledge: &Knowledge) -> Markup {
    html! {
        @if !others.is_empty() {
            h3 { (panels::OTHER_CHECKS) }
            ul.plain {
                @for other in others.iter().take(OTHERS) {
                    li {
                        @if other.kind == MoveKind::Check {
                            a.row href=(address(&job.job, &other.id, other.cylinder)) {
                                (next_text::name(other, knowledge))
                            }
                        } @else { p { (next_text::name(other, knowledge)) } }
                        p.hint { (sentence(&next_text::worth(other))) }
                    }
                }
            }
        }
        @if let Some(hidden) = next_text::hidden(next) { p.hint { (hidden) } }
        a.key href=(of_job(&job.job, "plan")) { (panels::PLAN) }
    }
}
