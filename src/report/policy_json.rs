//! A stated problem solved, as `hardstart/policy/1`.
//!
//! Must not solve.

use serde_json::{Value, json};

use super::round;
use crate::planning::{Policy, Problem, move_id};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/policy/1";

/// The document.
#[must_use]
pub fn policy(policy: &Policy, problem: &Problem) -> Value {
    let moves: Value = policy
        .moves
        .iter()
        .map(|(action, total)| {
            json!({
                "id": move_id(problem, *action),
                "expected_total": round::number(*total),
            })
        })
        .collect();
    json!({
        "schema": SCHEMA,
        "policy_cost": round::number(policy.policy_cost),
        "optimum": policy.optimum.map(round::number),
        "moves": moves,
    })
}
