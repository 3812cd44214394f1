//! What to do next as `hardstart/next/1`.
//!
//! Must not choose: every move is there.

use serde_json::{Value, json};

use super::next::{ColdNow, Found, Move, MoveKind, Next};
use super::round;
use super::vocab;
use crate::job::Job;

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/next/1";

/// The document.
#[must_use]
pub fn next(next: &Next, job: &Job, figures_sha256: &str) -> Value {
    let hidden: Value = next
        .hidden
        .iter()
        .map(|h| json!({ "check": h.check, "why": h.why }))
        .collect();
    json!({
        "schema": SCHEMA,
        "job": job.job,
        "figures_sha256": figures_sha256,
        "stop": next.stop,
        "moves": next.moves.iter().map(one).collect::<Value>(),
        "hidden": hidden,
        "cold": {
            "state": state(next.cold),
            "worth_keeping": next.cold.worth_keeping,
        },
    })
}

fn state(cold: ColdNow) -> &'static str {
    match cold.cold {
        Some(true) => "cold",
        Some(false) => "warm",
        None => "unknown",
    }
}

fn one(one: &Move) -> Value {
    let kind = match one.kind {
        MoveKind::Check => "check",
        MoveKind::Repair => "repair",
        MoveKind::HandOver => "hand_over",
    };
    json!({
        "kind": kind,
        "id": one.id,
        "cylinder": one.cylinder,
        "minutes": round::number(one.minutes),
        "access": one.access,
        "cold": vocab::cold(one.cold),
        "expected_total": round::number(one.expected_total),
        "saves": round::number(one.saves),
        "changes_next": round::number(one.changes_next),
        "risk": round::number(one.risk),
        "outcomes": one.outcomes.iter().map(found).collect::<Value>(),
        "hazards": one.hazards,
    })
}

fn found(found: &Found) -> Value {
    json!({
        "state": found.state,
        "chance": round::chance(found.chance),
        "leads_to": found.leads_to,
    })
}
