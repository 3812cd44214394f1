//! Minutes to settle in the suggested order, for people and as JSON.
//!
//! Must not compute beyond rounding.

use std::fmt::Write;

use serde_json::{Value, json};

use super::round::number;
use crate::scoring::settle::Settling;

/// As a page.
#[must_use]
pub fn settle(s: &Settling) -> String {
    let mut page = format!(
        "\nIn the suggested order, {} jobs played again from their first look\n",
        s.jobs
    );
    let _ = writeln!(
        page,
        "  settled {} of {}: {} with every check open to them, {} held to the checks on record; {} could not be reckoned",
        s.settled,
        s.jobs,
        s.free,
        s.settled - s.free,
        s.failed
    );
    if s.suggested > 0 {
        let _ = writeln!(
            page,
            "  of {} checks suggested, {} were on record; what the others would have shown nobody knows",
            s.suggested, s.answered
        );
    }
    if s.settled > 0 {
        let _ = writeln!(
            page,
            "  to settle: {:.1} minutes of checks ({:.1} to {:.1}), {:.1} checks; on record {:.1} minutes",
            s.minutes, s.interval.low, s.interval.high, s.checks, s.on_record
        );
    }
    if s.judged > 0 {
        let _ = writeln!(
            page,
            "  the repair they came to was one for what was found in {} of {}",
            s.right, s.judged
        );
    }
    page
}

/// As JSON.
#[must_use]
pub fn settle_json(s: &Settling) -> Value {
    json!({
        "jobs": s.jobs,
        "settled": s.settled,
        "failed": s.failed,
        "minutes": { "value": number(s.minutes),
            "interval": [number(s.interval.low), number(s.interval.high)] },
        "checks": number(s.checks),
        "minutes_on_record": number(s.on_record),
        "settled_free": s.free,
        "suggested": s.suggested,
        "suggested_on_record": s.answered,
        "came_to_a_repair": s.judged,
        "right_repair": s.right,
    })
}
