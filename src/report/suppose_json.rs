//! What would be the list and the next step, as `hardstart/suppose/1`.
//!
//! Must not choose or reckon.

use serde_json::{Value, json};

use super::remarks::Note;
use super::{causes_json, next_json};
use crate::diagnosis::Ranking;
use crate::job::Job;
use crate::planning::bench::Next;

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/suppose/1";

/// An answer to a job: the ranking and what to do next.
#[derive(Debug, Clone, Copy)]
pub struct Answer<'a> {
    /// The ranking.
    pub ranking: &'a Ranking,
    /// What to do next.
    pub next: &'a Next,
}

/// The document: `causes` and `next` as those commands give them for the supposed job, and what
/// they are now.
#[must_use]
pub fn suppose(
    now: Answer<'_>,
    then: Answer<'_>,
    readings: &[String],
    supposed: &Job,
    notes: &[Note],
    figures_sha256: &str,
) -> Value {
    let is: Value = now
        .ranking
        .causes
        .iter()
        .map(|c| json!({ "cause": c.cause, "chance": super::round::chance(c.chance) }))
        .collect();
    json!({
        "schema": SCHEMA,
        "job": supposed.job,
        "figures_sha256": figures_sha256,
        "supposed": readings,
        "causes_now": is,
        "next_now": now.next.moves.first().map(next_json::one),
        "causes": causes_json::causes(then.ranking, supposed, notes, figures_sha256),
        "next": next_json::next(then.next, supposed, figures_sha256),
    })
}
