//! The list of the job book: who waits for a cold start, then the jobs, newest first.
//!
//! Must not look at the clock: the caller says what time it is.

use jiff::Timestamp;
use serde_json::{Value, json};

use super::page::{Layout, Page};
use super::round::number;
use crate::job::LEAST_SOAK_HOURS;
use crate::job::book::{Said, Slip, Waiting};

/// Days without word after which somebody should ring and ask; own judgement.
const RING_AFTER_DAYS: i64 = 3;
const SECONDS_A_DAY: i64 = 24 * 3600;

/// The list for people.
#[must_use]
pub fn text(slips: &[Slip], waiting: &[Waiting], now: Timestamp, layout: Layout) -> String {
    let mut page = Page::new(layout);
    if slips.is_empty() {
        page.say("No jobs.");
    }
    if !waiting.is_empty() {
        page.say("Waiting for a cold start");
        for job in waiting {
            page.hang(&format!("  {}  ", job.job), &reminder(job, now));
        }
        page.gap();
    }
    for slip in slips {
        let entries = if slip.entries == 1 {
            "entry"
        } else {
            "entries"
        };
        let text = format!(
            "{}; {} {entries}; {}",
            slip.state.label(),
            slip.entries,
            slip.complaint
        );
        page.hang(&format!("{}  ", slip.job), &text);
    }
    page.finish()
}

/// What to ask for, and whether it is time to ring.
#[must_use]
pub fn reminder(job: &Waiting, now: Timestamp) -> String {
    let since = job
        .since
        .as_deref()
        .and_then(|s| s.parse::<Timestamp>().ok());
    let days = since.map(|s| (now.as_second() - s.as_second()).max(0) / SECONDS_A_DAY);
    let wanted = match job.warmest {
        Some(warmest) => {
            format!("a start after {LEAST_SOAK_HOURS:.0} h or more at {warmest:.0} degC or colder")
        }
        None => format!("a start after {LEAST_SOAK_HOURS:.0} h or more, as cold as it was then"),
    };
    match days {
        Some(days) if days >= RING_AFTER_DAYS => {
            format!("{wanted}; no word for {days} days: ring and ask")
        }
        Some(0) => format!("{wanted}; work done today"),
        Some(1) => format!("{wanted}; work done a day ago"),
        Some(days) => format!("{wanted}; work done {days} days ago"),
        None => wanted,
    }
}

/// The list for programs.
#[must_use]
pub fn json(slips: &[Slip], waiting: &[Waiting]) -> Value {
    let jobs: Value = slips
        .iter()
        .map(|s| {
            json!({
                "job": s.job,
                "complaint": s.complaint,
                "state": s.state.id(),
                "entries": s.entries,
                "last_at": s.last_at,
            })
        })
        .collect();
    let waiting: Value = waiting
        .iter()
        .map(|w| json!({ "job": w.job, "since": w.since, "warmest_degC": w.warmest.map(number) }))
        .collect();
    json!({ "schema": "hardstart/slips/1", "jobs": jobs, "waiting": waiting })
}

/// One answer as it was given.
#[must_use]
pub fn said(said: &Said) -> Value {
    let body = serde_json::from_str::<Value>(&said.body).unwrap_or_default();
    json!({
        "after": said.after,
        "asked": said.kind,
        "at": said.at,
        "program": said.program,
        "figures_sha256": said.figures,
        "answer": body,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_three_days_somebody_should_ring() {
        let job = Waiting {
            job: "7".to_owned(),
            complaint: String::new(),
            since: Some("2025-01-14T17:00:00+01:00".to_owned()),
            warmest: Some(-3.0),
        };
        let at = |now: &str| reminder(&job, now.parse().unwrap());
        assert_eq!(
            at("2025-01-15T18:00:00Z"),
            "a start after 8 h or more at -3 degC or colder; work done a day ago"
        );
        let late = at("2025-01-17T18:00:00Z");
        assert!(late.ends_with("no word for 3 days: ring and ask"), "{late}");
    }
}
