//! The plan: the next three moves as a tree that opens branch by branch.
//!
//! Must not reckon.

use std::time::Duration;

use maud::{Markup, PreEscaped, html};

use super::bench::Bench;
use super::cautions_card::care_of;
use super::cell::Patience;
use super::forms::of_which;
use super::frame::{bar_of_job, of_job, page};
use super::routes::{Ask, Refusal, Reply};
use crate::knowledge::Knowledge;
use crate::planning::bench::{PlanBranch, PlanStep};
use crate::report::{chance, moves, next_text, panels, plan_svg, plan_text};

/// A page waits so long for a plan; after that it says that it is being reckoned. Own judgement.
const PATIENCE: Patience = Patience {
    queued: Duration::from_millis(1500),
    in_all: Duration::from_millis(1500),
};

/// That the plan takes its time; with script the page looks again by itself.
fn reckoned_still(ask: &Ask) -> Markup {
    html! {
        h1 { (panels::PLAN) }
        section.card data-again="1000" {
            p role="status" { "The plan is being reckoned: it looks three moves ahead, which takes some seconds." }
            a.main href=(of_job(&ask.job, "plan")) { "Look again" }
            a.key href=(of_job(&ask.job, "")) { "Back to the slip" }
        }
    }
}

/// The next three moves.
///
/// # Errors
/// When there is no such job, or no plan can be made.
pub fn plan(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let knowledge = bench.knowledge();
    let reckoned = bench.reckoned(&ask.job)?;
    let job = reckoned.job();
    let content = match reckoned.plan_within(PATIENCE) {
        None => reckoned_still(ask),
        Some(Err(why)) => return Err(Refusal::Missing(why)),
        Some(Ok(plan)) => html! {
            h1 { (panels::PLAN) }
            (of_which(job))
            section.card {
                p { "The next three moves, if things are as they look now. Ask again after each \
                     finding; open a line to see what would come then." }
                @if let Some(first) = &plan.first { p.hint { (next_text::counted(job, first.night.is_some())) } }
                @match &plan.first {
                    Some(first) => {
                        (care_of(bench, ask, plan_text::hazards(first).into_iter()))
                        div.drawing aria-hidden="true" {
                            (PreEscaped(plan_svg::without_cautions(plan, job, knowledge)))
                        }
                        (step(first, knowledge, true))
                    }
                    None => p { (moves::nothing_left(plan.over)) }
                }
                a.key href=(of_job(&ask.job, "")) { "Back to the slip" }
            }
        },
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
