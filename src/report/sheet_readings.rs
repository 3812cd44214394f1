//! The readings on the job sheet: one row for a check, with what it showed at each cylinder.
//!
//! Must not lay out, and must not judge.

use super::names;
use super::sheet::{Content, short};
use crate::evidence::timed;
use crate::job::{Entry, EntryBody, Job, Reading};
use crate::knowledge::Knowledge;

/// Most rows, so that the sheet stays one page.
const MOST_ROWS: usize = 12;
/// Most readings of one check in a row; own judgement: every cylinder twice.
const MOST_IN_A_ROW: usize = 12;
/// Headings of the table where each row is one check.
const HEAD: [&str; 3] = ["Check", "Value (cylinder: value)", "By, tool"];

/// Readings of one check, by the same hand, between the same works.
struct Row {
    slice: usize,
    check: String,
    by: String,
    values: Vec<String>,
}

/// The table; timings that are drawn are not in it.
pub(super) fn readings(job: &Job, knowledge: &Knowledge, timings_drawn: bool) -> Content {
    let mut rows: Vec<Row> = Vec::new();
    let mut slice = 0;
    for entry in job.entries.iter().filter(|e| e.is_recorded()) {
        let reading = match &entry.body {
            EntryBody::Work(_) if entry.is_used() => {
                slice += 1;
                continue;
            }
            EntryBody::Reading(r) if !(timings_drawn && r.check == timed::TIMED) => r,
            _ => continue,
        };
        let (by, value) = (by(entry, reading), value(entry, reading));
        let same = |r: &&mut Row| r.slice == slice && r.check == reading.check && r.by == by;
        match rows.iter_mut().find(same) {
            Some(row) => row.values.push(value),
            None => rows.push(Row {
                slice,
                check: reading.check.clone(),
                by,
                values: vec![value],
            }),
        }
    }
    let left_out = rows.len().saturating_sub(MOST_ROWS);
    let several = slice > 0 && rows.iter().any(|r| r.slice > 0);
    let rows = rows.iter().take(MOST_ROWS).map(|row| {
        let when = if several && row.slice > 0 {
            ", after work"
        } else {
            ""
        };
        let check = format!("{}{when}", names::check(knowledge, &row.check));
        vec![short(&check), said(&row.values), short(&row.by)]
    });
    Content::Table {
        head: HEAD.to_vec(),
        rows: rows.collect(),
        left_out,
    }
}

fn said(values: &[String]) -> String {
    let shown = &values[..values.len().min(MOST_IN_A_ROW)];
    let all = short(&shown.join("; "));
    match values.len() - shown.len() {
        0 => all,
        more => format!("{all}; and {more} more in the job"),
    }
}

/// `3: 0,9 ohm (leads 0,2 ohm)`.
fn value(entry: &Entry, r: &Reading) -> String {
    let mut value = names::reading_says(r);
    if let Some(cylinder) = r.cylinder {
        value = format!("{cylinder}: {value}");
    }
    if let Some(trial) = r.trial {
        value.push_str(&format!(" (trial {trial})"));
    }
    if let Some(leads) = &r.leads {
        value.push_str(&format!(" (leads {})", leads.typed));
    }
    if !entry.is_used() {
        value.push_str(" (set aside)");
    }
    value
}

fn by(entry: &Entry, r: &Reading) -> String {
    let by = [entry.by.as_deref(), r.tool.as_deref()];
    let by: Vec<String> = by.into_iter().flatten().map(names::plain).collect();
    by.join(", ")
}
