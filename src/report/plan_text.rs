//! The next few moves as an indented tree, likeliest finding first.
//!
//! Cautions stand before the steps. A rule is drawn where the cold is used up: what follows and
//! needs it waits for a night. Must not choose or reckon.

use super::page::{Layout, Page};
use super::{cautions, chance, moves, names, next_text};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::planning::bench::{MoveKind, Plan, PlanBranch, PlanStep};

/// Findings less likely than this are counted, not listed. Own judgement.
const RARE: f64 = 0.02;
/// Columns a level is moved in.
const INDENT: usize = 4;

/// The page.
#[must_use]
pub fn plan(plan: &Plan, job: &Job, knowledge: &Knowledge, layout: Layout) -> String {
    let mut page = Page::new(layout);
    page.hang(&format!("Job {}  ", job.job), &job.complaint);
    page.gap();
    let Some(first) = &plan.first else {
        page.say(moves::nothing_left(plan.over));
        return page.finish();
    };
    page.say(
        "Plan: the next three moves, if things are as they look now. After each finding ask again.",
    );
    page.say(&next_text::counted(job, first.night.is_some()));
    page.gap();
    cautions::say(&mut page, knowledge, hazards(first));
    step(&mut page, first, knowledge, 0);
    page.finish()
}

/// Cautions of all steps, each once, in the order of the steps.
#[must_use]
pub fn hazards(step: &PlanStep) -> Vec<&str> {
    let mut all: Vec<&str> = step.hazards.iter().map(String::as_str).collect();
    for then in step.branches.iter().filter_map(|b| b.then.as_ref()) {
        for hazard in hazards(then) {
            if !all.contains(&hazard) {
                all.push(hazard);
            }
        }
    }
    all
}

/// What a step is called.
#[must_use]
pub fn title(step: &PlanStep, knowledge: &Knowledge) -> String {
    moves::name(knowledge, step.kind, &step.id, step.cylinder, step.repeat)
}

/// What a step takes and leads to, in one line.
#[must_use]
pub fn takes(step: &PlanStep) -> String {
    let mut list = Vec::new();
    if step.kind != MoveKind::HandOver {
        list.push(moves::minutes(step.minutes));
    }
    if step.waits_for_cold {
        list.push(
            match step.kind {
                MoveKind::Repair => "then a night's wait: only a cold start proves it",
                _ => "after a night's wait for a cold engine",
            }
            .to_owned(),
        );
    }
    list.push(moves::to_proof(step.expected_total, step.night));
    list.join("; ")
}

/// What a finding is called.
#[must_use]
pub fn state(step: &PlanStep, branch: &PlanBranch) -> String {
    match (step.kind, branch.state.as_str()) {
        (MoveKind::Repair, "right") => "starts right, cold: proven".to_owned(),
        (MoveKind::Repair, _) => "not right yet".to_owned(),
        (_, state) => names::found(state),
    }
}

/// The findings worth a line, likeliest first, and how many there are besides.
#[must_use]
pub fn listed(step: &PlanStep) -> (Vec<&PlanBranch>, usize) {
    let mut listed: Vec<&PlanBranch> = step.branches.iter().filter(|b| b.chance >= RARE).collect();
    listed.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    let rare = step.branches.len() - listed.len();
    (listed, rare)
}

fn step(page: &mut Page, step: &PlanStep, knowledge: &Knowledge, level: usize) {
    let margin = " ".repeat(INDENT * level);
    let mark = match step.hazards.is_empty() {
        true => "",
        false => " (! take care)",
    };
    page.hang(
        &format!("{margin}{}. ", level + 1),
        &format!("{}{mark}", title(step, knowledge)),
    );
    page.hang(&format!("{margin}   "), &takes(step));
    if step.uses_up_cold {
        let width = page.layout().width.saturating_sub(margin.len() + 3);
        let rule = format!("{:-<width$}", "---- the cold is used up here ");
        page.line(&format!("{margin}   {rule}"));
    }
    let (branches, rare) = listed(step);
    for branch in branches {
        let lead = format!("{margin}   {:>9}  ", chance::of_100(branch.chance));
        page.hang(&lead, &state(step, branch));
        if let Some(then) = &branch.then {
            self::step(page, then, knowledge, level + 1);
        }
    }
    if rare > 0 {
        let findings = if rare == 1 { "finding" } else { "findings" };
        page.hang(&format!("{margin}   "), &format!("{rare} rarer {findings}"));
    }
}
