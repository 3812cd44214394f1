//! Work, finishing a job, and its sheet.
//!
//! Must not judge whether a job is mended.

use maud::{DOCTYPE, Markup, html};

use super::bench::{Bench, Reckoned};
use super::cautions_card::care;
use super::entry::Problems;
use super::fields::Fields;
use super::forms::{OneForm, who};
use super::frame::of_job;
use super::inputs::{choice, number, pick_under, text, words};
use super::routes::{Ask, Refusal, Reply};
use crate::diagnosis::{Ranking, Standing};
use crate::job::{Job, Mark};
use crate::knowledge::{Knowledge, Per, Repair};
use crate::report::{closing_text, names, panels, sheet, sheet_html};

/// Work done, with what was typed.
///
/// # Errors
/// When there is no such job.
pub fn work(
    bench: &Bench,
    ask: &Ask,
    typed: &Fields,
    wrong: &[(String, String)],
) -> Result<Markup, Refusal> {
    let knowledge = bench.knowledge();
    let reckoned = bench.reckoned(&ask.job)?;
    let job = reckoned.job();
    let ranking = reckoned.standing().ok().map(|s| &s.ranking);
    let repairs = repairs(job, knowledge, ranking);
    let chosen = knowledge
        .repairs
        .iter()
        .find(|r| r.id.get_ref() == typed.get("repair"));
    let form = OneForm {
        title: panels::WORK_DONE,
        what: "work",
        before: html! {
            @if let Some(repair) = chosen {
                (care(knowledge, repair.hazards.iter().map(|h| h.get_ref().as_str())))
            }
            p { "One change at a time shows what it was; several before the next cold start share \
                 the proof." }
        },
        fields: html! {
            (pick_under("repair", "What was done", "tap to choose", &repairs, typed))
            (text("cylinder", "Cylinder", "where it was one cylinder's", typed))
            (number("minutes", "Minutes", &[], false, typed))
            (number("parts_cost", "Parts cost", &[], false, typed))
            (who(typed))
        },
        save: "Save the work",
    };
    Ok(form.page(ask, job, wrong))
}

/// The repairs this engine may have, under headings: first those that mend a leading cause, the
/// likeliest first, then all of them by system.
fn repairs(
    job: &Job,
    knowledge: &Knowledge,
    ranking: Option<&Ranking>,
) -> Vec<(String, Vec<(String, String)>)> {
    let shown = |r: &Repair| {
        let each = match r.per {
            Per::Cylinder => " (cylinder below)",
            Per::Engine => "",
        };
        (r.id.get_ref().clone(), format!("{}{each}", r.label))
    };
    let fits: Vec<&Repair> = knowledge
        .repairs
        .iter()
        .filter(|r| job.engine.may_have(&r.needs))
        .collect();
    let mut likely: Vec<&Repair> = Vec::new();
    let causes = ranking.iter().flat_map(|r| &r.causes);
    for cause in causes.filter(|c| c.standing == Standing::Leading) {
        let fault = format!("{}.{}", cause.part, cause.fault);
        let mends = |r: &&&Repair| r.fixes.iter().any(|f| *f.fault.get_ref() == fault);
        for repair in fits.iter().filter(mends) {
            if !likely.iter().any(|l| l.id == repair.id) {
                likely.push(repair);
            }
        }
    }
    let mut groups = Vec::new();
    if !likely.is_empty() {
        let likely = likely.into_iter().map(shown).collect();
        groups.push(("Likely on this job".to_owned(), likely));
    }
    let mut systems: Vec<&str> = fits.iter().map(|r| r.system.as_str()).collect();
    systems.sort_unstable();
    systems.dedup();
    for system in systems {
        let of = fits.iter().filter(|r| r.system == system);
        let mut of: Vec<(String, String)> = of.map(|r| shown(r)).collect();
        of.sort_by(|a, b| a.1.cmp(&b.1));
        groups.push((names::plain(system), of));
    }
    groups
}

/// What stands against finishing a job as mended.
fn against(bench: &Bench, job: &str) -> Result<Vec<String>, Refusal> {
    let reckoned = bench.reckoned(job)?;
    Ok(match reckoned.closing() {
        Ok(closing) => closing.against.iter().map(closing_text::one).collect(),
        Err(why) => vec![why],
    })
}

/// What is missing from a form that marks a job done: a reason, where something stands against.
///
/// # Errors
/// When there is no such job.
pub fn unanswered(bench: &Bench, job: &str, form: &Fields) -> Result<Problems, Refusal> {
    if form.get("state") != Mark::Done.id() || form.some("note").is_some() {
        return Ok(Vec::new());
    }
    let advice = "go on with it, or say why it is done all the same".to_owned();
    let against = against(bench, job)?.into_iter();
    Ok(against.map(|what| (what, advice.clone())).collect())
}

/// Finishing a job, with what was typed.
///
/// # Errors
/// When there is no such job.
pub fn close(
    bench: &Bench,
    ask: &Ask,
    typed: &Fields,
    wrong: &[(String, String)],
) -> Result<Markup, Refusal> {
    let reckoned = bench.reckoned(&ask.job)?;
    let job = reckoned.job();
    let knowledge = bench.knowledge();
    let against = against(bench, &ask.job)?;
    let proofs = reckoned.closing().map(|c| c.proofs).unwrap_or_default();
    let states = [
        (Mark::Done, "done"),
        (Mark::WaitingForParts, "waiting for parts"),
        (Mark::Parked, "parked, not settled"),
        (Mark::LeftAsIs, "left as is"),
        (Mark::Open, "open again"),
    ]
    .map(|(mark, shown)| (mark.id().to_owned(), shown.to_owned()));
    let form = OneForm {
        title: &format!("Finish job {}", job.job),
        what: "mark",
        before: html! {
            p { "The job is " (crate::job::state(job, knowledge).label()) "." }
            @for work in &proofs {
                p { (names::says(knowledge, job, work.entry)) ": " (closing_text::work(work)) }
            }
            @if against.is_empty() { p { "Nothing stands against it." } } @else {
                h2 { "What stands against it" }
                ul { @for one in &against { li { (one) } } }
            }
            (still_open(&reckoned))
        },
        fields: html! {
            (choice("state", "How the job stands", "", &states, typed))
            (words("note", "Why", "asked for where something stands against it", typed))
            (text("by", "By", "", typed))
        },
        save: "Finish job",
    };
    Ok(form.page(ask, job, wrong))
}

/// What each work did for a job that is done.
#[must_use]
pub fn what_it_was(reckoned: &Reckoned<'_>, knowledge: &Knowledge) -> Markup {
    let job = reckoned.job();
    let proofs = reckoned.closing().map(|c| c.proofs).unwrap_or_default();
    html! {
        @if !proofs.is_empty() {
            ul {
                @for work in &proofs {
                    li { (names::says(knowledge, job, work.entry)) ": " (closing_text::work(work)) }
                }
            }
        }
    }
}

/// Causes that are still likely: a right start does not speak against what comes back in a week.
#[must_use]
pub fn still_open(reckoned: &Reckoned<'_>) -> Markup {
    let closing = reckoned.closing().ok();
    html! {
        @if let Some(open) = closing.as_ref().and_then(closing_text::still_open) {
            div.care {
                p { b { "Still open:" } " " (open) ". Check it before the engine goes, or \
                    say to whoever drives it what to watch for." }
            }
        }
    }
}

/// The sheet, filled or blank.
///
/// # Errors
/// When there is no such job.
pub fn sheet(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let reckoned = bench.reckoned(&ask.job)?;
    let job = reckoned.job();
    let knowledge = bench.knowledge();
    let is_blank = ask.query.some("blank").is_some();
    let sheet = match reckoned.standing() {
        _ if is_blank => sheet::blank(job),
        Ok(standing) => sheet::filled(job, knowledge, &standing.ranking, &bench.before_work(job)),
        Err(why) => return Err(Refusal::Missing(why)),
    };
    let own = of_job(&job.job, "sheet");
    Ok(Reply::Page(html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Job sheet " (job.job) }
                link rel="stylesheet" href="/look/sheet.css";
                link rel="stylesheet" href="/look/slip.css";
                script src="/look/slip.js" defer {}
            }
            body.paper {
                nav.screen aria-label="Sheet" {
                    a.key href=(of_job(&job.job, "")) { "Back to the slip" }
                    a.key href=(if is_blank { own.clone() } else { format!("{own}?blank=yes") }) {
                        @if is_blank { "Filled" } @else { "Blank" }
                    }
                    button.key.print type="button" hidden { "Print sheet" }
                }
                (sheet_html::body(&sheet))
            }
        }
    }))
}
