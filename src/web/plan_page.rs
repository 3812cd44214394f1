//! The plan: the next three moves as a tree that opens branch by branch.
//!
//! Must not reckon.

use maud::{Markup, html};

use super::bench::Bench;
use super::frame::{bar_of_job, of_job, page};
use super::reading_page::care;
use super::routes::{Ask, Refusal, Reply};
use crate::knowledge::Knowledge;
use crate::planning::bench::{PlanBranch, PlanStep};
use crate::report::{chance, moves, panels, plan_text};

/// The next three moves.
///
/// # Errors
/// When there is no such job, or no plan can be made.
pub fn plan(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let knowledge = bench.knowledge();
    let reckoned = bench.reckoned(&ask.job)?;
    let plan = reckoned.plan().map_err(Refusal::Missing)?;
    let content = html! {
        h1 { (panels::PLAN) }
        section.card {
            p { "The next three moves, if things are as they look now. Ask again after each \
                 finding; open a line to see what would come then." }
            @match &plan.first {
                Some(first) => {
                    (care(knowledge, plan_text::hazards(first).into_iter()))
                    (step(first, knowledge, true))
                }
                None => p { (moves::nothing_left(plan.over)) }
            }
            a.key href=(of_job(&ask.job, "")) { "Back to the slip" }
        }
    };
    Ok(Reply::Page(page(
        panels::PLAN,
        &bar_of_job(&ask.job),
        &content,
    )))
}

/// A step and what may be found. The likeliest way is open when the page is.
fn step(step: &PlanStep, knowledge: &Knowledge, open: bool) -> Markup {
    let (branches, rare) = plan_text::listed(step);
    html! {
        div.step {
            p { b { (plan_text::title(step, knowledge)) }
                @if !step.hazards.is_empty() { " (take care)" } }
            p.hint { (plan_text::takes(step)) }
            @if step.uses_up_cold { p.rule { "The cold is used up here." } }
            @if !branches.is_empty() {
                ul.plain.branches {
                    @for (at, branch) in branches.iter().enumerate() {
                        li { (found(step, branch, knowledge, open && at == 0)) }
                    }
                    @if rare > 0 {
                        li { p.hint { (rare) @if rare == 1 { " rarer finding" } @else { " rarer findings" } } }
                    }
                }
            }
        }
    }
}

fn found(of: &PlanStep, branch: &PlanBranch, knowledge: &Knowledge, open: bool) -> Markup {
    let says = html! {
        (plan_text::state(of, branch)) ": about " (chance::of_100(branch.chance))
    };
    html! {
        @match &branch.then {
            Some(then) => {
                details open[open] { summary { (says) } (step(then, knowledge, open)) }
            }
            None => p { (says) },
        }
    }
}
