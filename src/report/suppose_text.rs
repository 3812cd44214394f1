//! What would be the list and the next step if this were read, beside what they are now.
//!
//! Must not choose or reckon.

use super::page::{self, Layout, Page};
use super::suppose_json::Answer;
use super::{cautions, chance, moves, names};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::planning::bench::{MoveKind, Next};

/// Causes listed.
const LISTED: usize = 8;

/// The page.
#[must_use]
pub fn suppose(
    now: Answer<'_>,
    then: Answer<'_>,
    readings: &[String],
    job: &Job,
    knowledge: &Knowledge,
    layout: Layout,
) -> String {
    let mut page = Page::new(layout);
    page.hang(&format!("Job {}  ", job.job), &job.complaint);
    page.gap();
    page.say(&format!(
        "Suppose {}. Nothing is saved.",
        page::and(readings)
    ));
    page.gap();
    if !then.ranking.misfit.entries.is_empty() && now.ranking.misfit.entries.is_empty() {
        page.say("That would not fit together with what is written down.");
        page.gap();
    }
    page.say("Where we would stand (now in brackets)");
    for cause in then.ranking.causes.iter().take(LISTED) {
        let before = now.ranking.causes.iter().find(|c| c.cause == cause.cause);
        let before = before.map_or_else(|| "-".to_owned(), |c| chance::count(c.chance));
        page.hang(
            &format!(
                "  {:>10} {:>10}  ",
                chance::of_100(cause.chance),
                format!("({before})")
            ),
            &names::cause(&cause.label, cause.cylinder),
        );
    }
    page.gap();
    // Cautions of both steps named below, before either.
    let steps = [then.next, now.next].into_iter();
    let steps = steps.filter_map(|next| next.moves.first());
    let hazards = steps.flat_map(|step| step.hazards.iter().map(String::as_str));
    cautions::say(&mut page, knowledge, hazards);
    page.hang("Next would be: ", &first(then.next, knowledge));
    page.hang("Next is now: ", &first(now.next, knowledge));
    page.finish()
}

fn first(next: &Next, knowledge: &Knowledge) -> String {
    let Some(one) = next.moves.first() else {
        return moves::nothing_left(next.over).to_owned();
    };
    let name = moves::name(knowledge, one.kind, &one.id, one.cylinder, one.repeat);
    match one.kind {
        MoveKind::Ask => name,
        _ => format!(
            "{name} ({})",
            moves::to_proof(one.expected_total, one.night)
        ),
    }
}
