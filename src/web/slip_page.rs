//! The slip of a job, top to bottom: job, cold or warm, where we stand, next check, what moved
//! it, readings, done.
//!
//! Must not reckon.

use std::time::Duration;

use maud::{Markup, html};

use super::bench::{Bench, Reckoned};
use super::cell::Patience;
use super::entries_card::{entries, short_time};
use super::fields::{Fields, coded};
use super::forms::form;
use super::frame::{bar_of_job, of_job, page};
use super::inputs::{problems, text};
use super::routes::{Ask, Refusal, Reply};
use super::saved_card::{saved, since};
use super::{cards, closing_pages, stand_card, start_card, trials_card};
use crate::job::{Arrived, EntryBody, Job, JobState, Verification, verification};
use crate::knowledge::Knowledge;
use crate::report::comes_first::{First, comes_first};
use crate::report::page::typeset;
use crate::report::{closing_text, entry_words, next_text, panels};

/// So long a page waits for a reckoning that is under way, and for one that others stand before;
/// after that the slip is shown without it. Own judgement: a second is as long as a hand waits.
const PATIENCE: Patience = Patience {
    queued: Duration::from_millis(100),
    in_all: Duration::from_secs(1),
};
/// How soon the script looks again for what is being reckoned, milliseconds. Own judgement.
const LOOK_AGAIN: u32 = 500;

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
    if !reckoned.is_ready(PATIENCE) {
        return Ok(under_way(ask, job, knowledge, state, wrong));
    }
    let standing = reckoned.standing();
    let all = ask.query.some("all").is_some();
    let next = cards::next(ask, &reckoned, knowledge);
    let since = match &standing {
        Ok(standing) => Some(since(&reckoned, &standing.ranking)?),
        Err(_) => None,
    };
    reckoned.keep();
    let content = html! {
        (head(job, state, &Now {
            not_right: start_card::not_right(&reckoned),
            next: next_in_short(&reckoned, knowledge),
            left_off: left_off(ask, job, knowledge),
        }))
        (problems(wrong))
        (saved(ask, job, knowledge, since.as_ref()))
        (cold(job, state, knowledge, &reckoned))
        @match &standing {
            Ok(standing) => {
                (hunch(ask, job))
                (stand_card::causes(standing, since.as_ref().map_or(&standing.ranking, |s| &s.ranking), job, knowledge, all))
                (next)
            }
            Err(why) => {
                section.card #next { h2 { (panels::WHERE_WE_STAND) } p.care { (why) }
                    p { "Undo or set aside an entry below that is not so." } }
            }
        }
        (trials_card::trials(job))
        (entries(ask, job, knowledge))
        (done(job, state, html! {
            (closing_pages::what_it_was(&reckoned, knowledge))
            (closing_pages::still_open(&reckoned))
        }))
    };
    Ok(page(
        &format!("Job {}", job.job),
        &bar_of_job(&job.job),
        &content,
    ))
}

/// The slip while it is being reckoned: what was saved and all that needs no reckoning stands there,
/// and a way on. With script it looks again by itself.
fn under_way(
    ask: &Ask,
    job: &Job,
    knowledge: &Knowledge,
    state: JobState,
    wrong: &[(String, String)],
) -> Markup {
    let saved_at = ask.query.some("saved").map_or(String::new(), |saved| {
        format!(
            "?saved={}&seen={}",
            coded(saved),
            coded(ask.query.get("seen"))
        )
    });
    let content = html! {
        (head(job, state, &Now {
            not_right: None,
            next: None,
            left_off: left_off(ask, job, knowledge),
        }))
        (problems(wrong))
        (saved(ask, job, knowledge, None))
        @let proof = verification(job, knowledge);
        @if proof.last_work.is_some() { (start_card::does_not_count(&job.job, &proof)) }
        section.card #next data-again=(LOOK_AGAIN) {
            h2 { (panels::WHERE_WE_STAND) }
            p role="status" {
                "Being reckoned. All that was written is kept; where we stand and the next check are \
                 here in a moment."
            }
            a.main href=(format!("{}{saved_at}", of_job(&job.job, ""))) { "Look again" }
        }
        (trials_card::trials(job))
        (entries(ask, job, knowledge))
        (done(job, state, html! {}))
    };
    page(&format!("Job {}", job.job), &bar_of_job(&job.job), &content)
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
                dt { "State" } dd { (state_in_words(job, state)) }
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

/// The state of a job as people say it: an engine that is here is not booked any more.
fn state_in_words(job: &Job, state: JobState) -> &'static str {
    match (state, job.bench.arrived) {
        (JobState::Booked, Some(Arrived::Cold | Arrived::Warm)) => "here, nothing looked at yet",
        _ => state.label(),
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
                        p { (typeset(&wanted)) }
                    }
                }
                @if verification.is_proven() && !verification.is_proven_twice() {
                    p { "Right once. Common practice asks for a second cold start on another day." }
                }
                // While checks go on, writing down the next cold start is not what comes next.
                a.main[state != JobState::Open].key[state == JobState::Open] href=(of_job(&job.job, "cold")) {
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

fn done(job: &Job, state: JobState, open: Markup) -> Markup {
    html! {
        section.card {
            h2 { "Done" }
            p { "The job is " (state_in_words(job, state)) "." }
            @if matches!(state, JobState::DoneProven | JobState::DoneNotProven) { (open) }
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

#[cfg(test)]
mod tests {
    use std::net::{IpAddr, Ipv4Addr, SocketAddr};
    use std::sync::Arc;
    use std::sync::mpsc::channel;

    use super::*;
    use crate::knowledge::{KnowledgeFiles, load};
    use crate::web::guard::Caller;
    use crate::web::settings::{Limits, Settings};

    /// Under a storm of writes a slip waited for seconds behind the reckonings of other jobs, and
    /// whoever had saved did not see that it was saved.
    #[test]
    fn a_slip_behind_other_reckonings_is_shown_without_them_and_then_whole() {
        let place = tempfile::tempdir().unwrap();
        let settings = Settings {
            book: place.path().join("book"),
            knowledge: Arc::new(load(&KnowledgeFiles::built_in()).unwrap()),
            port: 0,
            lan: None,
            limits: Limits::default(),
        };
        let here = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 1);
        let bench = Bench::new(settings, here).unwrap();
        bench
            .open_job("", &Job::new("1", "hard cold"), &[])
            .unwrap();
        let note = serde_json::json!({ "note": "seen by daylight" });
        bench.add("", "1", &[note]).unwrap();
        let ask = Ask {
            job: "1".to_owned(),
            query: Fields::default().with("saved", "1").with("seen", "0"),
            caller: Caller {
                seat: "a".to_owned(),
                from: here.ip(),
                form: Fields::default(),
            },
            token: String::new(),
            key: String::new(),
        };
        std::thread::scope(|scope| {
            let (begun, begins) = channel();
            let mut holds = Vec::new();
            for _ in 0..2 {
                let (hold, held) = channel::<()>();
                holds.push(hold);
                let (begun, bench) = (begun.clone(), &bench);
                scope.spawn(move || {
                    bench.reckon(move || {
                        begun.send(()).unwrap();
                        let _ = held.recv();
                    });
                });
            }
            (0..2).for_each(|_| begins.recv().unwrap());
            let shown = slip_with(&bench, &ask, &[]).unwrap().into_string();
            for there in [
                "Saved: ",
                "Being reckoned",
                "Look again",
                "seen by daylight",
            ] {
                assert!(shown.contains(there), "{there}: {shown}");
            }
            drop(holds);
        });
        let begun = std::time::Instant::now();
        loop {
            let shown = slip_with(&bench, &ask, &[]).unwrap().into_string();
            if !shown.contains("Being reckoned") {
                assert!(shown.contains("Nothing wrong with the engine"), "{shown}");
                return;
            }
            assert!(begun.elapsed() < Duration::from_secs(300), "never whole");
        }
    }
}
