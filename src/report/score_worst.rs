//! The jobs with the lowest scores, and what misled, for people.
//!
//! Must not compute beyond rounding.

use std::fmt::Write;

use crate::job::{Entry, EntryBody, Told};
use crate::scoring::worst::Misled;

/// The list as a page.
#[must_use]
pub fn worst(list: &[Misled]) -> String {
    let mut page = String::from("\nLowest scores\n");
    for misled in list {
        let line = &misled.line;
        let _ = writeln!(
            page,
            "  {}  score {:.2}; said {} ({}); was {}",
            line.job,
            line.log_score_all.unwrap_or(0.0),
            line.first.as_deref().unwrap_or("nothing"),
            line.top.map_or_else(String::new, super::chance::of_100),
            if line.causes.is_empty() {
                "nothing listed".to_owned()
            } else {
                line.causes.join(", ")
            },
        );
        for (entry, gain) in &misled.by {
            let _ = writeln!(page, "      {gain:+.2} without  {}", entry_text(entry));
        }
    }
    page
}

/// An entry in a few words.
fn entry_text(entry: &Entry) -> String {
    match &entry.body {
        EntryBody::Told(told) => {
            let one = |t: &Told| match t {
                Told::Sign(s) => format!("{} {}", s.sign, s.typed),
                Told::Fact { fact, state, .. } => format!("{} {state}", fact.id()),
            };
            format!(
                "told: {}",
                told.iter().map(one).collect::<Vec<_>>().join(", ")
            )
        }
        EntryBody::Start(start) => {
            let seen = start
                .signs
                .iter()
                .map(|s| format!("{} {}", s.sign, s.typed));
            format!("start: {}", seen.collect::<Vec<_>>().join(", "))
        }
        EntryBody::Reading(r) => match r.cylinder {
            Some(c) => format!("{} at cylinder {c}: {}", r.check, r.typed),
            None => format!("{}: {}", r.check, r.typed),
        },
        _ => "another entry".to_owned(),
    }
}
