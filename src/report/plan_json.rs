//! The next few moves as a tree, as `hardstart/plan/1`.
//!
//! Must not choose or cut.

use serde_json::{Value, json};

use super::{moves, round};
use crate::job::{Job, JobState, Repeat};
use crate::planning::bench::{Plan, PlanStep};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/plan/1";

/// The document.
#[must_use]
pub fn plan(plan: &Plan, job: &Job, figures_sha256: &str) -> Value {
    json!({
        "schema": SCHEMA,
        "job": job.job,
        "figures_sha256": figures_sha256,
        "cold": plan.cold,
        "over": plan.over.map(JobState::id),
        "tree": plan.first.as_ref().map(step),
    })
}

fn step(step: &PlanStep) -> Value {
    let branches: Value = step
        .branches
        .iter()
        .map(|b| {
            json!({
                "state": b.state,
                "chance": round::chance(b.chance),
                "then": b.then.as_ref().map(self::step),
            })
        })
        .collect();
    json!({
        "kind": moves::kind_id(step.kind),
        "id": step.id,
        "cylinder": step.cylinder,
        "repeat": step.repeat.map(Repeat::id),
        "minutes": round::number(step.minutes),
        "expected_total": round::number(step.expected_total),
        "waits_for_cold": step.waits_for_cold,
        "uses_up_cold": step.uses_up_cold,
        "hazards": step.hazards,
        "branches": branches,
    })
}
