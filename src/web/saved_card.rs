//! What was just saved, what it did, and whether another phone wrote meanwhile.
//!
//! What an entry did is the difference between what the list shows now and what it showed before, so
//! that nobody adds up other figures than those they saw. Must not reckon.

use maud::{Markup, html};

use super::bench::Reckoned;
use super::routes::Ask;
use crate::diagnosis::{Cause, Ranking};
use crate::job::book::BookError;
use crate::job::{Entry, EntryBody, Job};
use crate::knowledge::Knowledge;
use crate::report::{chance, entry_words, names};
use crate::scoring::came_true::{self, KIND};

/// Most causes named.
const NAMED: usize = 3;
/// A cause that was not on the list before is named from this chance on. Own judgement.
const NEW_FROM: f64 = 0.05;

/// The causes, each with its chance as the list showed it before the last entry that can move one.
#[derive(Debug)]
pub struct Since {
    /// The causes; without a chance before where the list did not show them.
    pub ranking: Ranking,
    /// How many entries the job had when the list was shown; nothing where it was not.
    after: Option<usize>,
    /// Entries before the one that can have moved something.
    entries: usize,
}

/// What the list showed before, from the book.
///
/// # Errors
/// When the book cannot be read.
pub fn since(reckoned: &Reckoned<'_>, ranking: &Ranking) -> Result<Since, BookError> {
    let (job, bench) = (reckoned.job(), reckoned.bench());
    let mut ranking = ranking.clone();
    let moves = |e: &Entry| {
        e.is_used()
            && matches!(
                e.body,
                EntryBody::Start(_)
                    | EntryBody::Reading(_)
                    | EntryBody::Told(_)
                    | EntryBody::Work(_)
            )
    };
    let entries = job.entries.iter().rposition(moves);
    let said = match entries {
        Some(entries) => bench.book()?.said_before(&job.job, KIND, entries)?,
        None => None,
    };
    // Other figures are no measure of what an entry did.
    let said = said.filter(|s| s.figures == bench.knowledge().sha256);
    let then = said.as_ref().and_then(|s| came_true::causes(&s.body));
    for cause in &mut ranking.causes {
        let fault = format!("{}.{}", cause.part, cause.fault);
        let mut listed = then.iter().flatten();
        let listed = listed.find(|t| t.fault == fault && t.cylinder == cause.cylinder);
        cause.before = listed.map(|t| t.chance);
    }
    Ok(Since {
        ranking,
        after: then.and(said).map(|s| s.after),
        entries: entries.unwrap_or(0),
    })
}

/// What changed on the list, at most three causes.
fn what_that_did(since: &Since) -> Vec<String> {
    let said = |cause: &Cause| -> Option<(f64, String)> {
        let name = names::cause(&cause.label, cause.cylinder);
        let now = chance::of_100(cause.chance);
        match cause.before {
            Some(before) => {
                let change = chance::change(before, cause.chance)?;
                let far = (cause.chance - before).abs();
                Some((far, format!("{name} {change}, now {now}")))
            }
            None if cause.chance >= NEW_FROM => {
                let says = format!("{name} now {now}, not on the list before");
                Some((cause.chance, says))
            }
            None => None,
        }
    };
    let mut moved: Vec<(f64, String)> = since.ranking.causes.iter().filter_map(said).collect();
    moved.sort_by(|a, b| b.0.total_cmp(&a.0));
    moved.into_iter().take(NAMED).map(|m| m.1).collect()
}

/// The card; nothing where nothing was just saved.
#[must_use]
pub fn saved(ask: &Ask, job: &Job, knowledge: &Knowledge, since: Option<&Since>) -> Markup {
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
    let since = since.filter(|_| is_seen && saved == job.entries.len());
    let since = since.and_then(|s| Some((s, s.after?)));
    html! {
        section.card.saved role="status" {
            p { "Saved: " (entry_words::in_full(knowledge, job, saved - 1)) }
            @if let EntryBody::Reading(r) = &job.entries[saved - 1].body && let Some(why) = &r.suspect {
                p.care { b { "Not used: " } (why) }
            }
            @if let Some((since, after)) = since {
                @let moved = what_that_did(since);
                p {
                    @if after == since.entries { "What that did: " }
                    @else { "Since the list was last seen: " }
                    @if moved.is_empty() { "nothing that shows on the list." }
                    @else { (moved.join("; ")) }
                }
            }
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
