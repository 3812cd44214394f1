//! The self-test as `hardstart/selftest/1`. Must not reckon.

use serde_json::{Value, json};

use super::round;
use crate::selftest::Check;

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/selftest/1";

/// The document.
#[must_use]
pub fn selftest(checks: &[Check]) -> Value {
    let passed = checks.iter().filter(|c| c.passed()).count();
    json!({
        "schema": SCHEMA,
        "passed": passed,
        "missed": checks.len() - passed,
        "checks": checks.iter().map(check).collect::<Value>(),
    })
}

fn check(check: &Check) -> Value {
    json!({
        "name": check.name,
        "source": check.source,
        "expected": round::number(check.expected),
        "within": round::number(check.within),
        "found": round::number(check.found),
        "passed": check.passed(),
    })
}
