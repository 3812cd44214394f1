//! Cautions before a step, and which of them somebody has read already.
//!
//! A caution that stood before a reading which the same browser saved for the same job on the same
//! day is folded under its name, so that the new ones and the buttons are in sight. Whoever takes
//! over on another phone has not read it: there it is open again. Must not leave one out.

use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

use maud::{Markup, html};

use super::bench::Bench;
use super::forms::now;
use super::routes::Ask;
use crate::knowledge::Knowledge;
use crate::report::names;
use crate::report::page::typeset;

/// Readings remembered; beyond, all are forgotten and every caution stands open again. Own judgement.
const MOST: usize = 4096;

/// Day, browser, job and check of readings that were saved.
type Saved = (String, String, String, String);

/// Readings saved since the server was started, and by which browser.
#[derive(Debug, Default)]
pub struct Read(Mutex<BTreeSet<Saved>>);

impl Read {
    /// A reading was saved: the cautions of its check stood before it.
    pub fn is_saved(&self, ask: &Ask, check: &str) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= MOST {
            all.clear();
        }
        all.insert((
            today(),
            ask.caller.seat.clone(),
            ask.job.clone(),
            check.to_owned(),
        ));
    }

    /// Whether this browser saved a reading of the check for this job today.
    fn has(&self, ask: &Ask, check: &str) -> bool {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (seat, job) = (ask.caller.seat.clone(), ask.job.clone());
        all.contains(&(today(), seat, job, check.to_owned()))
    }
}

fn today() -> String {
    now().chars().take("2025-01-14".len()).collect()
}

/// Cautions before a step, those read before folded.
#[must_use]
pub fn care_of<'i>(bench: &Bench, ask: &Ask, ids: impl Iterator<Item = &'i str>) -> Markup {
    let knowledge = bench.knowledge();
    let read = knowledge.checks.iter();
    let read = read.filter(|c| bench.read().has(ask, c.id.get_ref()));
    let said: Vec<&str> = read
        .flat_map(|c| c.hazards.iter().map(|h| h.get_ref().as_str()))
        .collect();
    let (again, new): (Vec<&str>, Vec<&str>) = ids.partition(|id| said.contains(id));
    let names: Vec<String> = again.iter().map(|id| names::plain(id)).collect();
    html! {
        (care(knowledge, new.into_iter()))
        @if !again.is_empty() {
            details.care {
                summary { "Take care, as before: " (names.join(", ")) }
                ul { @for text in cautions(knowledge, again.into_iter()) { li { (text) } } }
            }
        }
    }
}

/// Cautions, each once; they stand before the steps.
#[must_use]
pub fn care<'i>(knowledge: &Knowledge, ids: impl Iterator<Item = &'i str>) -> Markup {
    let said = cautions(knowledge, ids);
    html! {
        @if !said.is_empty() {
            div.care { h3 { "Take care" } ul { @for text in said { li { (text) } } } }
        }
    }
}

/// The texts of cautions; one without a text is said by its name.
fn cautions<'i>(knowledge: &Knowledge, ids: impl Iterator<Item = &'i str>) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for id in ids {
        let known = knowledge.hazards.iter().find(|h| h.id.get_ref() == id);
        let text = typeset(known.map_or(id, |h| h.text.as_str()));
        if !said.contains(&text) {
            said.push(text);
        }
    }
    said
}
