//! The card of the next move: what, what it takes, cautions, steps, what may be found.
//!
//! The person chooses: two others stand below, and nothing is ordered. Must not choose or reckon.

use std::collections::BTreeMap;

use super::page::{self, Layout, Page};
use super::{cautions, chance, comes_first, moves, names};
use crate::job::Job;
use crate::knowledge::{Check, Knowledge, Per, Repair};
use crate::planning::bench::{Hidden, MoveKind, Next, NextMove, Prices, Raised};

/// A chance to change which repair is begun with, below which the reason for the check is said; own judgement.
const LITTLE: f64 = 0.1;
/// Other moves in one line each. Own judgement.
const OTHERS: usize = 2;
/// Reasons named why checks are hidden.
const REASONS: usize = 4;
/// Most outcomes listed; the rest have little chance.
const OUTCOMES: usize = 6;

/// The card.
#[must_use]
pub fn next(next: &Next, job: &Job, knowledge: &Knowledge, layout: Layout) -> String {
    let mut page = Page::new(layout);
    page.hang(&format!("Job {}  ", job.job), &job.complaint);
    page.gap();
    if next.cold.cold && next.cold.worth_keeping {
        page.say("This engine is cold. That is worth keeping.");
        page.gap();
    }
    let Some((first, others)) = next.moves.split_first() else {
        page.say(moves::nothing_left(next.over));
        return page.finish();
    };
    if let Some(first) = comes_first::comes_first(job, knowledge) {
        page.say(&first.in_words());
        page.gap();
    }
    if next.stop {
        page.say(
            "Stop checking: no check here is worth its minutes any more, acting comes out cheaper.",
        );
    }
    if next.settle_first {
        page.say("These readings don't fit together: one of them is most likely wrong. Settle that first.");
    }
    card(&mut page, next, first, job, knowledge);
    if !others.is_empty() {
        page.gap();
        let level = first.tied && others[0].tied && first.kind != MoveKind::Ask;
        page.say(if level { "Just as good" } else { "Or" });
        let mend = mend_now(next).filter(|m| !others.iter().take(OTHERS).any(|o| o == *m));
        for other in others.iter().take(OTHERS).chain(mend) {
            page.hang(
                "  - ",
                &format!("{}; {}", name(other, knowledge), worth(other)),
            );
        }
    }
    if let Some(hidden) = hidden(next) {
        page.gap();
        page.say(&hidden);
    }
    page.finish()
}

fn card(page: &mut Page, next: &Next, first: &NextMove, job: &Job, knowledge: &Knowledge) {
    let heading = match first.kind {
        MoveKind::Check => "Next check",
        MoveKind::Repair => "Worth trying now",
        MoveKind::HandOver => "Best handed over",
        MoveKind::Ask => "First look",
    };
    page.hang(&format!("{heading}: "), &name(first, knowledge));
    if first.kind != MoveKind::HandOver {
        page.hang("  ", &takes(first, knowledge));
    }
    if let Some(night) = waits(next, first) {
        page.hang("  ", night);
    }
    page.hang("  ", &format!("{}.", worth(first)));
    if let Some(apart) = tells_apart(first) {
        page.hang("  ", &apart);
    }
    if let Some(why) = changes_little(first) {
        page.hang("  ", why);
    }
    if first.kind != MoveKind::Ask {
        page.hang("  ", &counted(job, first.night.is_some()));
    }
    page.gap();
    cautions::say(page, knowledge, first.hazards.iter().map(String::as_str));
    if let Some(check) = check(first, knowledge) {
        page.say("How");
        for (step, text) in (1..).zip(&check.how) {
            page.hang(&format!("  {step}. "), text);
        }
        if !check.spoilers.is_empty() {
            page.hang("  Spoiled by: ", &page::and(&check.spoilers));
        }
        page.gap();
    }
    if let Some((_, checks)) = next.wants_checks.iter().find(|w| w.0 == first.id) {
        page.say(&format!(
            "Heavy work: have {checks} checks of different kinds agree on it first."
        ));
    }
    if let Some(repair) = repair(first, knowledge) {
        if let Some(ask) = &repair.ask_why {
            page.hang("Find out too: ", ask);
        }
        page.hang("How to show that it worked: ", &repair.verify);
        page.gap();
    }
    found(page, first, knowledge);
}

/// Minutes, people, tools, access and the cold.
#[must_use]
pub fn takes(one: &NextMove, knowledge: &Knowledge) -> String {
    let mut list = vec![moves::minutes(one.minutes)];
    if let Some(check) = check(one, knowledge) {
        list.push(match check.people {
            1 => "one person".to_owned(),
            n => format!("{n} people"),
        });
        let tools: Vec<String> = check
            .tools
            .iter()
            .map(|any| {
                let any: Vec<&str> = any.iter().map(|t| tool(t, knowledge)).collect();
                any.join(" or ")
            })
            .collect();
        if !tools.is_empty() {
            list.push(page::and(&tools));
        }
    }
    let access: Vec<String> = one
        .access
        .iter()
        .map(|id| {
            let known = knowledge.access.iter().find(|a| a.id.get_ref() == id);
            known.map_or_else(
                || names::plain(id),
                |a| match (a.per, one.cylinder) {
                    (Per::Cylinder, Some(_)) => format!("{}, at that cylinder", a.label),
                    _ => format!("{} ({:.0} minutes)", a.label, a.minutes),
                },
            )
        })
        .collect();
    if !access.is_empty() {
        list.push(format!("to get at it: {}", page::and(&access)));
    }
    if one.kind == MoveKind::Check {
        list.push(
            match one.cold {
                "needs" => "needs a cold engine",
                "uses_up" => "uses up the cold",
                _ => "keeps the cold",
            }
            .to_owned(),
        );
    }
    list.join("; ")
}

/// What it is worth, in words and minutes; never in anything else.
#[must_use]
pub fn worth(one: &NextMove) -> String {
    let total = moves::to_proof(one.expected_total, one.night);
    match one.kind {
        MoveKind::Check => {}
        MoveKind::Ask => return "it decides which checks make sense".to_owned(),
        MoveKind::Repair | MoveKind::HandOver => return total,
    }
    let changes = chance::count(one.changes_next);
    format!(
        "{}; chance this changes which repair you would begin with: {changes} of 100",
        minutes(one)
    )
}

/// Minutes to a proven repair from here, and how many of them a check saves.
#[must_use]
pub fn minutes(one: &NextMove) -> String {
    let total = moves::to_proof(one.expected_total, one.night);
    let saved = if one.saves >= 0.5 {
        format!("saves about {:.0} on average", one.saves)
    } else {
        "saves none on average".to_owned()
    };
    format!("{total}, {saved}")
}

/// The chance that a check changes the repair, as a sentence; nothing for other moves.
#[must_use]
pub fn chance_it_changes(one: &NextMove) -> Option<String> {
    let changes = chance::count(one.changes_next);
    (one.kind == MoveKind::Check)
        .then(|| format!("Chance this changes which repair you would begin with: {changes} of 100"))
}

/// The night that stands before a check that needs the cold, or before the proof of a repair;
/// nothing where the engine is cold, or the move needs no cold.
#[must_use]
pub fn waits(next: &Next, one: &NextMove) -> Option<&'static str> {
    match one.kind {
        _ if next.cold.cold => None,
        MoveKind::Repair => Some("then a night's wait: only a cold start proves it"),
        MoveKind::Check if one.cold != "keeps" => Some("after a night's wait: the engine is warm"),
        _ => None,
    }
}

/// What a night and handing over count as in the minutes to a proven repair; `besides` one that is
/// said apart.
#[must_use]
pub fn counted(job: &Job, besides: bool) -> String {
    let prices = Prices::of(&job.bench);
    let night = if besides {
        "a further night"
    } else {
        "a night's wait"
    };
    format!(
        "In these minutes {night} counts as {:.0}, handing the job over as {:.0}.",
        prices.night, prices.hand_over
    )
}

/// Why a check is offered that seldom changes anything; nothing for one that does.
#[must_use]
pub fn changes_little(one: &NextMove) -> Option<&'static str> {
    (one.kind == MoveKind::Check && one.changes_next < LITTLE).then_some(
        "It seldom changes which repair you would begin with; it is offered because it is cheap beside what it may \
         save.",
    )
}

/// What the check tells apart: the cause its main finding speaks for, and the one that everything
/// else speaks for.
#[must_use]
pub fn tells_apart(one: &NextMove) -> Option<String> {
    let split = one.split.as_ref()?;
    let raised = |r: &Raised| {
        let (then, now) = (chance::of_100(r.then), chance::count(r.now));
        format!("{} {then} (now {now})", names::lower(&r.label))
    };
    let found = split.state.as_ref().map_or_else(
        || "one is odd".to_owned(),
        |state| format!("it is \"{}\"", names::found(state)),
    );
    let towards = raised(&split.towards);
    Some(match &split.otherwise {
        Some(other) => format!("If {found}: {towards}. If not: {}.", raised(other)),
        None => format!("If {found}: {towards}."),
    })
}

/// The repair that may be done at once where a check comes first: the other choice, with its
/// price.
#[must_use]
pub fn mend_now(next: &Next) -> Option<&NextMove> {
    let first = next.moves.first()?;
    let repair = || next.moves.iter().find(|m| m.kind == MoveKind::Repair);
    (first.kind == MoveKind::Check).then(repair).flatten()
}

fn found(page: &mut Page, one: &NextMove, knowledge: &Knowledge) {
    if one.outcomes.is_empty() {
        return;
    }
    page.say("What you may find");
    let mut outcomes: Vec<_> = one.outcomes.iter().collect();
    outcomes.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    for outcome in outcomes.iter().take(OUTCOMES) {
        let lead = format!("{:>11}  ", chance::of_100(outcome.chance));
        let then = outcome
            .leads_to
            .as_ref()
            .map(|id| moves::of_id(knowledge, id));
        let state = names::found(&outcome.state);
        page.hang(
            &lead,
            &then.map_or_else(|| state.clone(), |then| format!("{state}: then {then}")),
        );
    }
}

/// How many checks are not offered, by reason; nothing if every one is.
#[must_use]
pub fn hidden(next: &Next) -> Option<String> {
    let mut reasons: BTreeMap<String, usize> = BTreeMap::new();
    // What this engine does not have, or what was done already, was never on offer.
    let wanting = |h: &&Hidden| !matches!(h.why, "not_on_engine" | "done");
    for hidden in next.hidden.iter().filter(wanting) {
        *reasons.entry(why_hidden(hidden)).or_insert(0) += 1;
    }
    if reasons.is_empty() {
        return None;
    }
    let mut ordered: Vec<(&String, &usize)> = reasons.iter().collect();
    // Commonest first; equal ones stay in the order of their words.
    ordered.sort_by(|a, b| b.1.cmp(a.1));
    let rest: usize = ordered.iter().skip(REASONS).map(|r| r.1).sum();
    let mut list: Vec<String> = ordered
        .iter()
        .take(REASONS)
        .map(|(why, count)| format!("{why} ({count})"))
        .collect();
    if rest > 0 {
        list.push(format!("other reasons ({rest})"));
    }
    let count: usize = reasons.values().sum();
    let checks = if count == 1 { "check" } else { "checks" };
    Some(format!("{count} {checks} hidden: {}.", list.join(", ")))
}

fn why_hidden(hidden: &Hidden) -> String {
    match hidden.why {
        "no_tool" => format!("no {}", names::plain(&hidden.detail)),
        "people" => format!("needs {} people", hidden.detail),
        "later" => "put off".to_owned(),
        _ => "can't be done here".to_owned(),
    }
}

/// What a person reads for the move.
#[must_use]
pub fn name(one: &NextMove, knowledge: &Knowledge) -> String {
    moves::name(knowledge, one.kind, &one.id, one.cylinder, one.repeat)
}

fn tool<'k>(id: &'k str, knowledge: &'k Knowledge) -> &'k str {
    let known = knowledge.tools.iter().find(|t| t.id.get_ref() == id);
    known.map_or(id, |t| t.label.as_str())
}

fn check<'k>(one: &NextMove, knowledge: &'k Knowledge) -> Option<&'k Check> {
    let is = |c: &&Check| one.kind == MoveKind::Check && *c.id.get_ref() == one.id;
    knowledge.checks.iter().find(is)
}

fn repair<'k>(one: &NextMove, knowledge: &'k Knowledge) -> Option<&'k Repair> {
    let is = |r: &&Repair| one.kind == MoveKind::Repair && *r.id.get_ref() == one.id;
    knowledge.repairs.iter().find(is)
}
