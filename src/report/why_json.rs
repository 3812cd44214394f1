//! What moved a cause as `hardstart/why/1`.
//!
//! Must not leave out entries that moved nothing.

use serde_json::{Value, json};

use super::round;
use crate::diagnosis::FaultPlace;
use crate::diagnosis::{Moved, Why};
use crate::evidence::Source;
use crate::job::Job;

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/why/1";

/// The document.
#[must_use]
pub fn why(why: &Why, place: &FaultPlace, label: &str, job: &Job, figures_sha256: &str) -> Value {
    let cause = match place.cylinder {
        Some(c) => format!("{}.{}:{c}", place.part, place.fault),
        None => format!("{}.{}", place.part, place.fault),
    };
    let method = if why.exact {
        "shapley_log_odds_every_subset"
    } else {
        "shapley_log_odds_sampled_orders"
    };
    json!({
        "schema": SCHEMA,
        "job": job.job,
        "figures_sha256": figures_sha256,
        "cause": cause,
        "part": place.part,
        "fault": place.fault,
        "cylinder": place.cylinder,
        "label": label,
        "base": round::chance(why.base),
        "start": round::chance(why.start),
        "end": round::chance(why.end),
        "method": method,
        "moved": why.moved.iter().map(|m| moved(m, job)).collect::<Value>(),
        "rest": round::number(why.rest),
    })
}

/// Name of what is said of a start, as in job files.
const RESULT: &str = "result";

fn moved(moved: &Moved, job: &Job) -> Value {
    let position = job.entries.get(moved.entry).and_then(|e| e.position);
    let (kind, id, cylinder, start) = match &moved.source {
        Source::Told { sign } => ("told", sign.as_str(), None, None),
        Source::Seen { sign, start } => ("seen", sign.as_str(), None, Some(*start)),
        Source::Verdict { start, .. } => ("seen", RESULT, None, Some(*start)),
        Source::Reading { check, cylinder } => ("reading", check.as_str(), *cylinder, None),
        Source::Timings { check } => ("timings", check.as_str(), None, None),
    };
    json!({
        "entry": moved.entry + 1,
        "line": position.map(|p| p.line),
        "kind": kind,
        "id": id,
        "cylinder": cylinder,
        "start": start,
        "typed": moved.typed,
        "log_odds": round::number(moved.log_odds),
        // Ten times the logarithm to base ten of the factor on the odds.
        "decibans": round::number(10.0 * moved.log_odds / std::f64::consts::LN_10),
    })
}
