//! What to do next as `hardstart/next/1`.
//!
//! Must not choose: every move is there.

use serde_json::{Value, json};

use super::{moves, round};
use crate::job::{Job, JobState, Repeat};
use crate::planning::bench::{Found, Next, NextMove};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/next/1";

/// The document.
#[must_use]
pub fn next(next: &Next, job: &Job, figures_sha256: &str) -> Value {
    let hidden: Value = next
        .hidden
        .iter()
        .map(|h| json!({ "check": h.check, "why": h.why, "detail": h.detail }))
        .collect();
    let wants: Value = next
        .wants_checks
        .iter()
        .map(|(repair, checks)| json!({ "repair": repair, "checks": checks }))
        .collect();
    json!({
        "schema": SCHEMA,
        "job": job.job,
        "figures_sha256": figures_sha256,
        "stop": next.stop,
        "over": next.over.map(JobState::id),
        "settle_first": next.settle_first,
        "moves": next.moves.iter().map(one).collect::<Value>(),
        "hidden": hidden,
        "cold": {
            "state": if next.cold.cold { "cold" } else { "warm" },
            "worth_keeping": next.cold.worth_keeping,
        },
        "wants_checks": wants,
    })
}

/// One move.
pub(super) fn one(one: &NextMove) -> Value {
    json!({
        "kind": moves::kind_id(one.kind),
        "id": one.id,
        "cylinder": one.cylinder,
        "repeat": one.repeat.map(Repeat::id),
        "minutes": round::number(one.minutes),
        "access": one.access,
        "cold": one.cold,
        "expected_total": round::number(one.expected_total),
        "saves": round::number(one.saves),
        "changes_next": round::number(one.changes_next),
        "risk": round::number(one.risk),
        "outcomes": one.outcomes.iter().map(found).collect::<Value>(),
        "hazards": one.hazards,
        "tied": one.tied,
    })
}

fn found(found: &Found) -> Value {
    json!({
        "state": found.state,
        "chance": round::chance(found.chance),
        "leads_to": found.leads_to,
    })
}
