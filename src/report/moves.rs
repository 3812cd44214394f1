//! What moves are called: checks, repeats of readings, repairs, handing over.
//!
//! Must not price or choose.

use super::names;
use crate::job::{JobState, Repeat};
use crate::knowledge::Knowledge;
use crate::planning::bench::MoveKind;

/// What a person reads for a move.
#[must_use]
pub fn name(
    knowledge: &Knowledge,
    kind: MoveKind,
    id: &str,
    cylinder: Option<u8>,
    repeat: Option<Repeat>,
) -> String {
    let label = match kind {
        MoveKind::Check => names::check(knowledge, id),
        MoveKind::Repair => repair(knowledge, id),
        MoveKind::HandOver => "give the job to somebody better equipped",
        MoveKind::Ask => "which preheat and which chambers the engine has, and note it in the job",
    };
    let name = names::cause(label, cylinder);
    match repeat {
        None => name,
        Some(repeat) => format!("{name}, once more: {}", how(repeat)),
    }
}

/// What is changed for a reading that is taken again.
#[must_use]
pub fn how(repeat: Repeat) -> &'static str {
    match repeat {
        Repeat::AsItIs => "as before",
        Repeat::ContactRemade => {
            "with the contact made afresh (clamp set to nought, tips and clips cleaned)"
        }
        Repeat::OtherMeter => "with another meter",
        Repeat::Swapped => "with the part changed over with its neighbour, both read",
    }
}

/// What a person reads for a move by the name it has in answers: `id`, `id:cylinder`,
/// `id:cylinder@repeat`.
#[must_use]
pub fn of_id(knowledge: &Knowledge, id: &str) -> String {
    let (place, repeat) = match id.split_once('@') {
        Some((place, word)) => (place, repeats().into_iter().find(|r| r.id() == word)),
        None => (id, None),
    };
    let (plain, cylinder) = match place.split_once(':') {
        Some((plain, cylinder)) => (plain, cylinder.parse().ok()),
        None => (place, None),
    };
    if plain == "hand_over" {
        return "hand it over".to_owned();
    }
    let is_repair = knowledge.repairs.iter().any(|r| r.id.get_ref() == plain);
    let kind = if is_repair {
        MoveKind::Repair
    } else {
        MoveKind::Check
    };
    names::lower(&name(knowledge, kind, plain, cylinder, repeat))
}

fn repeats() -> [Repeat; 4] {
    [
        Repeat::AsItIs,
        Repeat::ContactRemade,
        Repeat::OtherMeter,
        Repeat::Swapped,
    ]
}

fn repair<'k>(knowledge: &'k Knowledge, id: &'k str) -> &'k str {
    let known = knowledge.repairs.iter().find(|r| r.id.get_ref() == id);
    known.map_or(id, |r| r.label.as_str())
}

/// `5 minutes`, `1 minute`, `under a minute`.
#[must_use]
pub fn minutes(minutes: f64) -> String {
    match format!("{minutes:.0}").as_str() {
        "0" => "under a minute".to_owned(),
        "1" => "1 minute".to_owned(),
        more => format!("{more} minutes"),
    }
}

/// Expected minutes to a proven repair, a night that is sure to pass among them said as one:
/// `about 43 minutes to a proven repair`, `about one night and 23 minutes to a proven repair`.
#[must_use]
pub fn to_proof(total: f64, night: Option<f64>) -> String {
    match night {
        Some(night) if total >= night => {
            let rest = minutes(total - night);
            format!("about one night and {rest} to a proven repair")
        }
        _ => format!("about {} to a proven repair", minutes(total)),
    }
}

/// What is said where there is no move: the job is over, or nothing can be done here.
#[must_use]
pub fn nothing_left(over: Option<JobState>) -> &'static str {
    match over {
        Some(JobState::DoneProven) => {
            "Done, and proven by a cold start: nothing remains to be done. Common practice is to \
             watch a second cold start on another day."
        }
        Some(JobState::DoneNotProven) => {
            "Handed back as mended: no check or repair remains to be done. A right start after a \
             night in the cold would prove it."
        }
        Some(_) => "Handed back as it is: nothing remains to be done.",
        None => "There is nothing to do next.",
    }
}

/// Kind of a move as documents name it.
#[must_use]
pub fn kind_id(kind: MoveKind) -> &'static str {
    match kind {
        MoveKind::Check => "check",
        MoveKind::Repair => "repair",
        MoveKind::HandOver => "hand_over",
        MoveKind::Ask => "ask",
    }
}
