//! Where we stand: the likeliest causes with their chances, the rest folded.
//!
//! Must not choose or order rows.

use maud::{Markup, html};

use super::answers;
use super::fields::coded;
use super::frame::of_job;
use super::reading_page::address;
use crate::diagnosis::{Cause, Ranking, Standing};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::report::page::{Symbols, typeset};
use crate::report::rows::{Row, rows};
use crate::report::{causes_text, chance, names, panels};

/// Causes seen without opening anything, so that what to do next is not pushed away; own
/// judgement. What is not on the list has its row besides.
const SEEN: usize = 3;

/// Where we stand; the ranking has the chances that were shown before beside those of now.
#[must_use]
pub fn causes(
    standing: &answers::Standing,
    ranking: &Ranking,
    job: &Job,
    knowledge: &Knowledge,
    all: bool,
) -> Markup {
    let shown = rows(ranking, all);
    let leading = ranking.causes.iter();
    let level = leading.filter(|c| c.standing == Standing::Leading).count() > 1;
    let row = |row: &Row<'_>| {
        cause(
            row.cause,
            &causes_text::with_cylinders(row),
            &job.job,
            level,
        )
    };
    let (seen, folded) = shown.rows.split_at(SEEN.min(shown.rows.len()));
    html! {
        section.card #stand {
            h2 { (panels::WHERE_WE_STAND) }
            (misfit(standing, job, knowledge))
            @if job.engine.cylinders.is_none() {
                p.hint { "Nobody said how many cylinders it has; " (knowledge.engines.cylinders_if_unknown) " are assumed." }
            }
            ol.causes { @for one in seen { (row(one)) } }
            @if let Some(other) = shown.other {
                ul.causes { (cause(other, &other.label, &job.job, level)) }
            }
            p { "Nothing wrong with the engine at all: " (chance::of_100(ranking.healthy)) "." }
            p.hint {
                "Chances are separate: two things can be wrong at once, so they can add to more than \
                 100. Tap a cause to see what moved it."
            }
            details open[all] {
                summary { "More causes, by system, what was assumed" }
                @if !folded.is_empty() {
                    ol.causes start=(SEEN + 1) { @for one in folded { (row(one)) } }
                }
                @if shown.hidden > 0 {
                    a.key href=(format!("{}?all=yes#stand", of_job(&job.job, ""))) {
                        "Show all (" (shown.hidden) " more)"
                    }
                }
                h3 { "By system" }
                ul {
                    @for s in &ranking.systems {
                        li { (names::plain(&s.system)) ": " (chance::of_100(s.chance)) }
                    }
                }
                h3 { (panels::ABOUT) }
                ul {
                    li { "Reckoned from " (standing.used.in_words()) "." }
                    @for note in &standing.notes { li { (typeset(&note.text)) } }
                    li { "Chances are estimates: of 100 jobs like this one." }
                }
                a.key href=(of_job(&job.job, "figures")) { "How sure are these figures?" }
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
        Some(format!("usually {}", chance::of_100(cause.base))),
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
