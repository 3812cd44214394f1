//! The cold start after the work, and what stands against closing a job, in words.
//!
//! Must not judge.

use super::page::and;
use super::page::{Layout, Page};
use super::{chance, names};
use crate::diagnosis::{Against, Closing};
use crate::job::{Job, Proof, StartAfter, Verification, WhyNot, WorkProof};
use crate::knowledge::Knowledge;

/// Word for how far something is proven.
#[must_use]
pub fn proof(proof: Proof) -> &'static str {
    match proof {
        Proof::Shown => "shown: made to come and go",
        Proof::Cured => "cured: one change, then a right cold start",
        Proof::CuredShared => "cured, shared: several changes before the right cold start",
        Proof::Believed => "believed: no right cold start after it yet",
        Proof::Guess => "guess: written down only",
        Proof::Refuted => "not that: no effect at the cold start after it",
    }
}

/// Words for how far a piece of work is proven.
#[must_use]
pub fn work(work: &WorkProof) -> &'static str {
    match work.proof {
        Proof::Believed if work.helped => "helped: better after it, not proven alone",
        of => proof(of),
    }
}

/// What the works did, in one line; nothing where none is proven or helped.
#[must_use]
pub fn cure(closing: &Closing, job: &Job, knowledge: &Knowledge) -> Option<String> {
    let of = |wanted: fn(&WorkProof) -> bool| -> Vec<String> {
        let works = closing.proofs.iter().filter(|w| wanted(w));
        let says = works.map(|w| names::says(knowledge, job, w.entry));
        let mut names: Vec<String> = says
            .map(|s| names::lower(s.strip_prefix("work: ").unwrap_or(&s)))
            .collect();
        // The same work done again is one cure.
        let mut known = Vec::new();
        names.retain(|n| {
            let new = !known.contains(n);
            known.push(n.clone());
            new
        });
        names
    };
    let lists = [
        ("cured by", of(|w| w.proof == Proof::Cured)),
        ("cured, shared by", of(|w| w.proof == Proof::CuredShared)),
        ("helped, not proven alone", of(|w| w.helped)),
    ];
    let said = lists.iter().filter(|(_, works)| !works.is_empty());
    let said: Vec<String> = said
        .map(|(how, works)| format!("{how}: {}", and(works)))
        .collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// Causes that are still likely, in one line; nothing where there are none.
#[must_use]
pub fn still_open(closing: &Closing) -> Option<String> {
    let open = closing.open.iter().map(|c| {
        let name = names::cause(&c.label, c.cylinder);
        format!("{name}, {}", chance::of_100(c.chance))
    });
    let open: Vec<String> = open.collect();
    (!open.is_empty()).then(|| open.join("; "))
}

/// Why a start does not count as a cold start.
#[must_use]
pub fn why_not(why: &WhyNot) -> String {
    match why {
        WhyNot::SoakUnknown => "nobody wrote down how long the engine had stood".to_owned(),
        WhyNot::NotSoaked { hours } => {
            let stood = if *hours < 1.0 {
                format!("{hours:.1}")
            } else {
                format!("{hours:.0}")
            };
            format!(
                "the engine had stood {stood} h; started warm is not proof for a cold-start fault"
            )
        }
        WhyNot::Heated => "the engine was heated before it".to_owned(),
        WhyNot::TemperatureUnknown => "nobody wrote down how cold it was".to_owned(),
        WhyNot::ComplaintTemperatureUnknown => {
            "nobody wrote down how cold it was when it started badly".to_owned()
        }
        WhyNot::TooWarm { was, limit } => format!(
            "at {was:.0} degC it was warmer than {limit:.0} degC; the thaw may have cured it"
        ),
    }
}

/// What a start after work says.
#[must_use]
pub fn after_start(closing: &Closing, job: &Job, knowledge: &Knowledge, layout: Layout) -> String {
    let mut page = Page::new(layout);
    if let Some(start) = closing.verification.starts.last() {
        last_start(&mut page, closing, start);
    }
    for work in &closing.proofs {
        let says = names::says(knowledge, job, work.entry);
        page.hang("  ", &format!("{says}: {}", self::work(work)));
    }
    page.finish()
}

fn last_start(page: &mut Page, closing: &Closing, start: &StartAfter) {
    if let Some(why) = &start.why_not {
        page.say(&format!("This start does not count: {}.", why_not(why)));
        if let Some(wanted) = wanted(&closing.verification) {
            page.say(&wanted);
        }
    } else if closing.verification.is_proven_twice() {
        page.say("Right, on a second day too.");
    } else if start.right == Some(true) {
        page.say("Right. Common practice asks for a second cold start on another day.");
    } else {
        for against in &closing.against {
            if let Against::NotRight { .. } = against {
                page.say(&format!("{}.", one(against)));
            }
        }
    }
}

/// Which start would count; nothing if nobody knows how cold it was when it started badly.
#[must_use]
pub fn wanted(verification: &Verification) -> Option<String> {
    let warmest = verification.complaint_temperature? + crate::job::WARMER_BY;
    let soak = crate::job::LEAST_SOAK_HOURS;
    Some(format!(
        "One counts after {soak:.0} h or more, at {warmest:.0} degC or colder."
    ))
}

/// Whether a start that was too warm would count with its sign turned: the minus may have been
/// forgotten.
#[must_use]
pub fn may_lack_a_minus(why: &WhyNot) -> bool {
    matches!(why, WhyNot::TooWarm { was, limit } if *was > 0.0 && -was <= *limit)
}

/// One thing that stands against closing, without a full stop.
#[must_use]
pub fn one(against: &Against) -> String {
    match against {
        Against::NoWork => "No work is written down".to_owned(),
        Against::NoColdStart => "No cold start after the work is written down".to_owned(),
        Against::NotRight {
            result, remains, ..
        } => {
            let word = match result {
                Some(crate::job::StartResult::Same) => "As before",
                Some(crate::job::StartResult::Worse) => "Worse than before",
                _ => "Better, not right",
            };
            let remains = chance::count(*remains);
            format!("{word}: about {remains} in 100 that something else remains")
        }
        Against::Standing(cause) => format!(
            "Still pointed at: {}, {}",
            names::cause(&cause.label, cause.cylinder),
            chance::in_words(cause.chance)
        ),
        Against::Clash(entries) => {
            let list: Vec<String> = entries.iter().map(|e| (e + 1).to_string()).collect();
            format!("Entries that do not fit together: {}", list.join(", "))
        }
    }
}
