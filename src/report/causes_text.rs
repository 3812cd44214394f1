//! The ranking as a job slip: one column, counts of a hundred, dots beside them.
//!
//! Must not choose what is listed (see `rows`) nor compute.

use super::chance;
use super::names;
use super::page::{self, Layout, Page};
use super::remarks::{self, Note};
use super::rows::{Row, rows};
use crate::diagnosis::{Cause, Ranking, Standing};
use crate::evidence::Evidence;
use crate::job::Job;
use crate::knowledge::Knowledge;

/// What the list looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Every cause, not only the likeliest.
    pub all: bool,
    /// Systems in rows of their own instead of one line.
    pub systems: bool,
}

/// The slip.
#[must_use]
pub fn causes(
    ranking: &Ranking,
    job: &Job,
    evidence: &Evidence,
    knowledge: &Knowledge,
    notes: &[Note],
    wanted: Wanted,
    layout: Layout,
) -> String {
    let mut page = Page::new(layout);
    page.hang(&format!("Job {}  ", job.job), &job.complaint);
    page.gap();
    misfit(&mut page, ranking, job, knowledge);
    page.say("Where we stand");
    page.say(
        "Chances are separate: two things can be wrong at once, so they can add to more than 100.",
    );
    page.gap();
    let shown = rows(ranking, wanted.all);
    let leading = ranking.causes.iter();
    let level = leading.filter(|c| c.standing == Standing::Leading).count() > 1;
    for row in &shown.rows {
        let name = with_cylinders(row);
        let each = row.cylinders.len() > 1;
        entry(&mut page, row.cause, &name, each, level);
    }
    if let Some(other) = shown.other {
        entry(&mut page, other, &other.label, false, level);
    }
    page.gap();
    if shown.hidden > 0 {
        page.say(&format!(
            "{} more, each less likely than these; see them with --all.",
            shown.hidden
        ));
    }
    leader(&mut page, &shown.rows, level);
    let nothing = chance::of_100(ranking.healthy);
    page.say(&format!("Nothing wrong with the engine at all: {nothing}."));
    page.gap();
    systems(&mut page, ranking, wanted.systems);
    page.gap();
    foot(&mut page, job, evidence, notes);
    page.finish()
}

/// Name of a row with the cylinders that share it.
#[must_use]
pub fn with_cylinders(row: &Row<'_>) -> String {
    let label = &row.cause.label;
    match &row.cylinders[..] {
        [] => label.clone(),
        [one] => names::cause(label, Some(*one)),
        many => {
            let many: Vec<String> = many.iter().map(u8::to_string).collect();
            format!("{label}, each of cylinders {}", page::and(&many))
        }
    }
}

/// Two lines: number, dots and name; then standing, change and standing rate.
fn entry(page: &mut Page, cause: &Cause, name: &str, each: bool, level: bool) {
    let dots = chance::dots(cause.chance, page.layout().symbols);
    let lead = format!("{:>9}  {dots}  ", chance::of_100(cause.chance));
    let indent = " ".repeat(lead.chars().count());
    page.hang(&lead, name);
    let mut facts = Vec::new();
    let moved = cause.before.and_then(|b| chance::change(b, cause.chance));
    match cause.standing {
        Standing::Leading if level => facts.push("level".to_owned()),
        Standing::InTheRunning => {}
        // What the last entry moved has been looked at.
        Standing::NotLookedAt if moved.is_some() => {}
        // What stands higher than usual is not called set aside, however small it is.
        Standing::SetAside if cause.chance > cause.base => {}
        standing => facts.push(names::standing(standing).to_owned()),
    }
    if let (Some(low), Some(high)) = (cause.low, cause.high) {
        let (low, high) = (chance::count(low), chance::count(high));
        facts.push(format!("{low} to {high} if our starting figures are off"));
    }
    facts.extend(moved);
    let usually = chance::count(cause.base);
    facts.push(if each {
        format!("usually {usually} each")
    } else {
        format!("usually {usually}")
    });
    page.hang(&indent, &facts.join("; "));
}

fn leader(page: &mut Page, rows: &[Row<'_>], level: bool) {
    let leading: Vec<&Row<'_>> = rows
        .iter()
        .filter(|r| matches!(r.cause.standing, Standing::Leading | Standing::Proven))
        .collect();
    let Some(first) = leading.first() else {
        page.say("Nothing stands out.");
        return;
    };
    let words = chance::in_words(first.cause.chance);
    let name = with_cylinders(first);
    if first.cause.standing == Standing::Proven {
        page.say(&format!("Proven by a cold start: {name}."));
    } else if level {
        page.say(&format!(
            "Level at the front, first of them {name}: {words}. Nothing leads yet."
        ));
    } else {
        page.say(&format!("Leading: {name}: {words}."));
    }
}

fn misfit(page: &mut Page, ranking: &Ranking, job: &Job, knowledge: &Knowledge) {
    let misfit = &ranking.misfit;
    if misfit.entries.is_empty() {
        return;
    }
    page.say("These readings do not fit together");
    for at in &misfit.entries {
        let text = names::says(knowledge, job, *at);
        page.hang("  ", &format!("{}: {text}", names::place(job, *at)));
    }
    match &misfit.repeat {
        Some((check, cylinder)) => {
            let name = names::cause(names::check(knowledge, check), *cylinder);
            page.say(&format!(
                "Cheapest way to settle it: once more, {}",
                names::lower(&name)
            ));
        }
        None => page.say("Look again at the next cold start which of the two holds."),
    }
    page.gap();
}

fn systems(page: &mut Page, ranking: &Ranking, in_rows: bool) {
    let known: Vec<_> = ranking
        .systems
        .iter()
        .map(|s| (names::plain(&s.system), s.chance))
        .collect();
    if in_rows {
        page.say("By system, at least one thing wrong in it:");
        for (name, chance) in known {
            let dots = chance::dots(chance, page.layout().symbols);
            page.hang(&format!("{:>9}  {dots}  ", chance::of_100(chance)), &name);
        }
        return;
    }
    let list: Vec<String> = known
        .iter()
        .map(|(name, chance)| format!("{name} {}", chance::count(*chance)))
        .collect();
    page.hang("By system, of 100: ", &list.join(", "));
}

fn foot(page: &mut Page, job: &Job, evidence: &Evidence, notes: &[Note]) {
    let used = remarks::entries_used(job, evidence).in_words();
    page.say(&format!("Reckoned from {used}."));
    if !notes.is_empty() {
        page.say("Assumed or left out:");
        for note in notes {
            page.hang("  - ", &note.text);
        }
    }
}
