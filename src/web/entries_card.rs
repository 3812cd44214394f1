//! The entries of a job, and undoing or setting one aside.
//!
//! Must not take an entry out of the book.

use maud::{Markup, html};

use super::bench::Bench;
use super::fields::Fields;
use super::forms::form;
use super::frame::{bar_of_job, of_job, page};
use super::inputs::text;
use super::routes::{Ask, Refusal, Reply};
use crate::job::{EntryBody, Job, Withdrawn};
use crate::knowledge::Knowledge;
use crate::report::{entry_words, panels};

/// Entries seen without opening anything: the last ones. Own judgement.
const RECENT: usize = 3;

/// The entries, the last ones in sight, and where a reading or a remark is added.
#[must_use]
pub fn entries(ask: &Ask, job: &Job, knowledge: &Knowledge) -> Markup {
    let earlier = job.entries.len().saturating_sub(RECENT);
    html! {
        section.card {
            h2 { (panels::READINGS) }
            @if job.entries.is_empty() { p { "Nothing is written down yet." } }
            @if earlier > 0 {
                details {
                    summary { "Earlier entries (" (earlier) ")" }
                    ol.entries { @for at in 0..earlier { (entry(job, knowledge, at)) } }
                }
            }
            ol.entries start=(earlier + 1) {
                @for at in earlier..job.entries.len() { (entry(job, knowledge, at)) }
            }
            a.key href=(of_job(&job.job, "reading")) { "Add reading" }
            details {
                summary { "A remark" }
                (form(ask, &job.job, "note", job.entries.len(), &html! {
                    div.field {
                        label for="remark" { "Remark" }
                        textarea id="remark" name="note" rows="3" {}
                    }
                    button.second type="submit" { "Keep it" }
                }))
            }
        }
    }
}

fn entry(job: &Job, knowledge: &Knowledge, at: usize) -> Markup {
    let entry = &job.entries[at];
    html! {
        li.off[!entry.is_used()] {
            p {
                (entry_words::in_full(knowledge, job, at))
                @if !entry.is_used() { (taken_back(job, at)) }
            }
            @if let Some(note) = &entry.note { p.hint { (note) } }
            p.hint {
                @if let Some(when) = &entry.at { (short_time(when)) }
                @if let Some(by) = &entry.by { ", " (by) }
            }
            @match entry.withdrawn {
                None => (change_link(job, at, "Undo or set aside")),
                // Undoing what took it back puts it back.
                Some(Withdrawn::Undone { by } | Withdrawn::Aside { by }) => {
                    (change_link(job, by, "Put back"))
                }
            }
        }
    }
}

/// How an entry was taken back, and why.
fn taken_back(job: &Job, at: usize) -> String {
    let how = match job.entries[at].is_recorded() {
        true => "set aside",
        false => "undone",
    };
    match job.why_not_used(at).filter(|why| !why.is_empty()) {
        Some(why) => format!(" ({how}: {why})"),
        None => format!(" ({how})"),
    }
}

fn change_link(job: &Job, at: usize, says: &str) -> Markup {
    html! {
        a.small href=(format!("{}?entry={}", of_job(&job.job, "change"), at + 1)) {
            (says) span.sr { " entry " (at + 1) }
        }
    }
}

/// One entry, to be undone or set aside; it stays in the book either way.
///
/// # Errors
/// When there is no such job or entry.
pub fn change(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let knowledge = bench.knowledge();
    let job = bench.book()?.job(&ask.job, knowledge)?.job;
    let number = ask.query.get("entry").parse::<usize>().unwrap_or(0);
    let Some(entry) = number.checked_sub(1).and_then(|at| job.entries.get(at)) else {
        return Err(Refusal::Missing("There is no such entry.".to_owned()));
    };
    let none = Fields::default();
    let one = |what: &str, content: &Markup| {
        form(
            ask,
            &job.job,
            what,
            job.entries.len(),
            &html! {
                input type="hidden" name="entry" value=(number);
                (content)
            },
        )
    };
    let content = html! {
        h1 { "Entry " (number) }
        section.card {
            p { (entry_words::in_full(knowledge, &job, number - 1)) }
            p { "Nothing is rubbed out: what was written stays in the book, and undoing can be \
                 undone." }
            (one("undo", &html! {
                button.main type="submit" { "Undo" }
            }))
        }
        @if matches!(entry.body, EntryBody::Reading(_) | EntryBody::Start(_)) {
            section.card {
                (one("aside", &html! {
                    (text("why", "Why it is set aside", "a slipped clip, a cold contact, the stopwatch", &none))
                    button.second type="submit" { "Set aside" }
                }))
            }
        }
    };
    Ok(Reply::Page(page("Undo", &bar_of_job(&job.job), &content)))
}

/// Day and minute.
#[must_use]
pub fn short_time(at: &str) -> String {
    at.chars()
        .take("2025-01-14T07:40".len())
        .collect::<String>()
        .replace('T', " ")
}
