//! The slip of a job, top to bottom: job, cold or warm, where we stand, next check, what moved
//! it, readings, done.
//!
//! Must not reckon.

use maud::{Markup, html};

use super::answers::Standing;
use super::bench::{Bench, Reckoned};
use super::fields::Fields;
use super::forms::form;
use super::frame::{bar_of_job, of_job, page};
use super::inputs::{problems, text};
use super::routes::{Ask, Refusal, Reply};
use super::{cards, stand_card, start_card, trials_card};
use crate::job::{Arrived, EntryBody, Job, JobState, Verification, Withdrawn, verification};
use crate::knowledge::Knowledge;
use crate::report::comes_first::{First, comes_first};
use crate::report::{closing_text, entry_words, next_text, panels};

/// The slip.
///
/// # Errors
/// When there is no such job.
pub fn slip(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    slip_with(bench, ask, &[]).map(Reply::Page)
}

/// How many entries the job has: whether somebody else wrote meanwhile.
///
/// # Errors
/// When there is no such job.
pub fn count(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    Ok(Reply::Count(bench.book()?.entries(&ask.job)?))
}

/// The slip with what is wrong in a form of it.
///
/// # Errors
/// When there is no such job.
pub fn slip_with(bench: &Bench, ask: &Ask, wrong: &[(String, String)]) -> Result<Markup, Refusal> {
    let knowledge = bench.knowledge();
    let reckoned = bench.reckoned(&ask.job)?;
    let job = reckoned.job();
    let state = crate::job::state(job, knowledge);
    reckoned.prepare();
    let standing = reckoned.standing();
    let all = ask.query.some("all").is_some();
    let next = cards::next(ask, &reckoned, knowledge);
    reckoned.keep();
    let content = html! {
        (head(job, state, &Now {
            not_right: start_card::not_right(&reckoned),
            next: next_in_short(&reckoned, knowledge),
            left_off: left_off(ask, job, knowledge),
        }))
        (problems(wrong))
        (saved(ask, job, knowledge, standing.as_ref().ok().copied()))
        (cold(job, state, knowledge, &reckoned))
        @match &standing {
            Ok(standing) => {
                (hunch(ask, job))
                (stand_card::causes(standing, job, knowledge, all))
                (next)
            }
            Err(why) => {
                section.card #next { h2 { (panels::WHERE_WE_STAND) } p.care { (why) }
                    p { "Undo or set aside an entry below that is not so." } }
            }
        }
        (trials_card::trials(job))
        (entries(ask, job, knowledge))
        (done(job, state))
    };
    Ok(page(
        &format!("Job {}", job.job),
        &bar_of_job(&job.job),
        &content,
    ))
}

/// What the head of the slip says of this moment.
struct Now {
    /// That the last start was not right.
    not_right: Option<String>,
    /// What comes next, and where it stands.
    next: Option<(String, String)>,
    /// The last entry, for who comes back to the job.
    left_off: Option<String>,
}

/// The next move in a few words, and the address of its card or form.
fn next_in_short(reckoned: &Reckoned<'_>, knowledge: &Knowledge) -> Option<(String, String)> {
    let job = reckoned.job();
    let first = match comes_first(job, knowledge) {
        Some(First::Watch) => Some(("watch the first start", "start")),
        Some(First::ColdStart(_)) => Some(("wait for the cold start and write it down", "cold")),
        None => None,
    };
    if let Some((name, page)) = first {
        return Some((name.to_owned(), of_job(&job.job, page)));
    }
    let next = reckoned.next().ok()?.moves.first()?;
    let name = next_text::name(next, knowledge);
    Some((name, format!("{}#next", of_job(&job.job, ""))))
}

/// Where the job was left off: the last entry and when it was written, unless it was just saved.
fn left_off(ask: &Ask, job: &Job, knowledge: &Knowledge) -> Option<String> {
    let last = job.entries.len().checked_sub(1)?;
    if ask.query.some("saved").is_some() {
        return None;
    }
    let entry = &job.entries[last];
    let when = entry
        .at
        .as_deref()
        .map(|at| format!(" ({})", short_time(at)));
    let by = entry.by.as_ref().map(|by| format!(", {by}"));
    let says = entry_words::in_full(knowledge, job, last);
    Some(format!(
        "{says}{}{}",
        when.unwrap_or_default(),
        by.unwrap_or_default()
    ))
}

/// Day and minute.
fn short_time(at: &str) -> String {
    at.chars()
        .take("2025-01-14T07:40".len())
        .collect::<String>()
        .replace('T', " ")
}

fn head(job: &Job, state: JobState, now: &Now) -> Markup {
    let shape = panels::engine(&job.engine);
    let shape = match shape.is_empty() {
        true => "not described yet",
        false => &shape,
    };
    html! {
        header.head data-job=(of_job(&job.job, "count")) data-entries=(job.entries.len()) {
            h1 { "Job " (job.job) }
            p.complaint { (job.complaint) }
            dl {
                dt { "State" } dd { (state.label()) }
                @if let Some((name, place)) = &now.next {
                    dt { "Next" } dd { a.small href=(place) { (name) } }
                }
                @if let Some(not_right) = &now.not_right {
                    dt { "Last start" } dd { (not_right) "." @if state == JobState::Open { " The job goes on." } }
                }
                @if let Some(left_off) = &now.left_off {
                    dt { "Left off at" } dd { (left_off) }
                }
                @if let Some(arrived) = job.bench.arrived {
                    dt { "Came in" } dd { (came(arrived)) }
                }
                dt { "Engine" } dd { (shape) " " a.small href=(of_job(&job.job, "engine")) { "Change" span.sr { " engine and bench" } } }
            }
        }
    }
}

/// How the engine came, as it was said when the job was opened.
fn came(arrived: Arrived) -> &'static str {
    match arrived {
        Arrived::Cold => "cold, not started that day",
        Arrived::Warm => "warm, it was run",
        Arrived::NotHereYet => "not here yet",
    }
}

/// What was just saved, what it did, and whether another phone wrote meanwhile.
fn saved(ask: &Ask, job: &Job, knowledge: &Knowledge, standing: Option<&Standing>) -> Markup {
    let number = |name: &str| ask.query.get(name).parse::<usize>().ok();
    let there = |n: &usize| *n >= 1 && *n <= job.entries.len();
    let Some(saved) = number("saved").filter(there) else {
        return html! {};
    };
    let seen = number("seen").unwrap_or(saved - 1);
    let others: Vec<usize> = (seen + 1..saved).collect();
    // Putting off, setting aside and work move no chance by what was seen.
    let is_seen = matches!(
        job.entries[saved - 1].body,
        EntryBody::Start(_) | EntryBody::Reading(_) | EntryBody::Told(_)
    );
    let moved = standing.filter(|_| is_seen && saved == job.entries.len());
    let moved = moved
        .map(|s| cards::what_that_did(&s.ranking))
        .unwrap_or_default();
    html! {
        section.card.saved role="status" {
            p { "Saved: " (entry_words::in_full(knowledge, job, saved - 1)) }
            @if !moved.is_empty() { p { "What that did: " (moved.join("; ")) } }
            @if !others.is_empty() {
                h2 { "Another phone wrote meanwhile" }
                ul {
                    @for n in others {
                        li { "entry " (n) ": " (entry_words::in_full(knowledge, job, n - 1))
                            @if let Some(by) = &job.entries[n - 1].by { " (" (by) ")" } }
                    }
                }
            }
        }
    }
}

fn cold(job: &Job, state: JobState, knowledge: &Knowledge, reckoned: &Reckoned<'_>) -> Markup {
    let started = job
        .entries
        .iter()
        .any(|e| e.is_used() && matches!(e.body, EntryBody::Start(_)));
    let next = reckoned.next().ok().filter(|n| n.over.is_none());
    let worth = next.is_some_and(|n| n.cold.cold && n.cold.worth_keeping);
    let is_warm = next.is_some_and(|n| !n.cold.cold);
    let verification: Verification = verification(job, knowledge);
    html! {
        section.card {
            h2 { (panels::COLD_OR_WARM) }
            @if worth && started { p { b { "This engine is cold. That is worth keeping." } } }
            @if is_warm && started {
                p { "Warm since it was started, unless it stood a night since: what needs a cold \
                     engine waits." }
            }
            @if !started {
                (before_the_first_start(job.bench.arrived))
                @if job.bench.arrived == Some(Arrived::NotHereYet) {
                    a.main href=(of_job(&job.job, "engine")) { "It is here now" }
                } @else {
                    a.main href=(of_job(&job.job, "start")) { (panels::FIRST_START) }
                }
            } @else if verification.last_work.is_some() {
                (start_card::does_not_count(&job.job, &verification))
                @if state == JobState::WaitingForColdStart {
                    p { "The work is done; it waits for a cold start to prove it." }
                    @if let Some(wanted) = closing_text::wanted(&verification) {
                        p { (cards::in_degrees(&wanted)) }
                    }
                }
                @if verification.is_proven() && !verification.is_proven_twice() {
                    p { "Right once. Common practice asks for a second cold start on another day." }
                }
                a.main href=(of_job(&job.job, "cold")) {
                    @if verification.is_proven() { "Write down a second cold start" }
                    @else { "Write down the cold start" }
                }
            }
            div.keys {
                @if started && verification.last_work.is_none() {
                    a.key href=(of_job(&job.job, "start")) { "Another start" }
                }
                a.key href=(of_job(&job.job, "told")) { "Told by the customer" }
            }
        }
    }
}

/// What there is to say while no start was watched.
fn before_the_first_start(arrived: Option<Arrived>) -> Markup {
    html! {
        @match arrived {
            Some(Arrived::Warm) => {
                p { b { "It came warm: what only a cold engine shows has to wait for a night." } }
                p { "Leave it unstarted overnight and watch the first start tomorrow. Checks that \
                     need no cold can be done now." }
            }
            Some(Arrived::NotHereYet) => {
                p { b { "Not here yet." } }
                p { "Ask for it to be left unstarted overnight, with nothing sprayed in and the \
                     tank as it is." }
            }
            Some(Arrived::Cold) => p { b { "This engine is cold. That is worth keeping." } },
            None => p { b { "If this engine is cold, that is worth keeping." } },
        }
        @if !matches!(arrived, Some(Arrived::Warm | Arrived::NotHereYet)) {
            p { "Watch the first start before anything is unscrewed: there is one a day." }
        }
    }
}

/// The own hunch, asked before the list is seen, once.
fn hunch(ask: &Ask, job: &Job) -> Markup {
    let has =
        |wanted: fn(&EntryBody) -> bool| job.entries.iter().any(|e| e.is_used() && wanted(&e.body));
    let said = has(|b| matches!(b, EntryBody::Opinion(_)));
    let looked = has(|b| matches!(b, EntryBody::Reading(_) | EntryBody::Work(_)));
    html! {
        @if !said && !looked {
            section.card {
                (form(ask, &job.job, "opinion", job.entries.len(), &html! {
                    (text("opinion", "What do you think it is?",
                        "kept as it is; you need not say", &Fields::default()))
                    button.second type="submit" { "Keep it" }
                }))
            }
        }
    }
}

/// Entries seen without opening anything: the last ones. Own judgement.
const RECENT: usize = 3;

fn entries(ask: &Ask, job: &Job, knowledge: &Knowledge) -> Markup {
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

fn done(job: &Job, state: JobState) -> Markup {
    html! {
        section.card {
            h2 { "Done" }
            p { "The job is " (state.label()) "." }
            div.keys {
                a.key href=(of_job(&job.job, "work")) { (panels::WORK_DONE) }
                a.key href=(of_job(&job.job, "cold")) { (panels::COLD_START_PROOF) }
                a.key href=(of_job(&job.job, "close")) { "Finish job" }
                a.key href=(of_job(&job.job, "sheet")) { (panels::JOB_SHEET) }
                a.key href="/" { "Jobs" }
            }
        }
    }
}
