//! The ranking as `hardstart/causes/1`.
//!
//! Must not choose or round beyond twelve digits: every cause is there.

use serde_json::{Value, json};

use super::names;
use super::remarks::{self, Note};
use super::round;
use crate::diagnosis::{Cause, Ranking};
use crate::job::Job;

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/causes/1";

/// The document.
#[must_use]
pub fn causes(ranking: &Ranking, job: &Job, notes: &[Note], figures_sha256: &str) -> Value {
    let systems: Value = ranking
        .systems
        .iter()
        .map(|s| json!({ "system": s.system, "chance": round::chance(s.chance) }))
        .collect();
    let kinds: Value = ranking
        .kinds
        .iter()
        .map(|(chamber, preheat, chance)| {
            json!({ "chamber": chamber, "preheat": preheat, "chance": round::chance(*chance) })
        })
        .collect();
    let entries: Value = ranking
        .misfit
        .entries
        .iter()
        .map(|e| json!(e + 1))
        .collect();
    let repeat = ranking.misfit.repeat.as_ref();
    json!({
        "schema": SCHEMA,
        "job": job.job,
        "figures_sha256": figures_sha256,
        "log_evidence": round::number(ranking.log_evidence),
        "healthy": round::chance(ranking.healthy),
        "causes": ranking.causes.iter().map(cause).collect::<Value>(),
        "systems": systems,
        "misfit": {
            "bits": round::number(ranking.misfit.bits),
            "entries": entries,
            "repeat": repeat.map(|(check, cylinder)| json!({ "check": check, "cylinder": cylinder })),
        },
        "kinds": kinds,
        "notes": remarks::json(notes),
    })
}

fn cause(cause: &Cause) -> Value {
    json!({
        "cause": cause.cause,
        "part": cause.part,
        "fault": cause.fault,
        "cylinder": cause.cylinder,
        "label": cause.label,
        "system": cause.system,
        "chance": round::chance(cause.chance),
        "low": round::maybe_chance(cause.low),
        "high": round::maybe_chance(cause.high),
        "base": round::chance(cause.base),
        "standing": names::standing_id(cause.standing),
        "before": round::maybe_chance(cause.before),
    })
}
