//! What a column can hold: the checks, signs and fields of jobs, by id, by another word, or by
//! the name a shared table uses.
//!
//! Must not look at cells.

use std::collections::BTreeMap;

use super::text::folded;
use crate::job::{Chamber, CylinderOne, Fact, PreheatKind, PumpKind, StartResult, Wiring};
use crate::knowledge::{CheckKind, Knowledge, Per, When};
use crate::units::Dimension;

/// Where in the job a value goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// The result of a check.
    Reading {
        /// The check.
        check: String,
        /// Whether it is done at each cylinder.
        each: bool,
    },
    /// A field or sign of the start the record tells of; `after` the work or before it.
    Start {
        /// The key within `start`.
        field: String,
        /// After the work.
        after: bool,
    },
    /// A sign or fact told.
    Told {
        /// The key within `told`.
        field: String,
    },
    /// A field of the engine.
    Engine {
        /// The key within `engine`.
        field: String,
    },
    /// The complaint.
    Complaint,
    /// A note.
    Note,
    /// Minutes of the work.
    WorkMinutes,
    /// What the parts cost.
    PartsCost,
    /// Kept under its heading, not understood.
    Extra,
    /// Left out on purpose.
    Ignored,
}

/// What a value looks like.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A number with a unit; the name of its result off the end of the scale, and the states it
    /// may be judged as.
    Quantity {
        /// What it measures.
        dimension: Dimension,
        /// The name of its window.
        window: String,
        /// Name of the result off the end.
        off_scale: Option<String>,
        /// States that may be written instead, folded word to state.
        states: BTreeMap<String, String>,
        /// Whether reasons for having no value can be kept.
        absent: bool,
    },
    /// A bare number between two bounds.
    Bare {
        /// Whole numbers only.
        whole: bool,
        /// Least.
        low: f64,
        /// Most.
        high: f64,
    },
    /// One of some words, folded word to word of the job.
    States {
        /// The words.
        states: BTreeMap<String, String>,
        /// Whether reasons for having no value can be kept.
        absent: bool,
    },
    /// Any text.
    Free,
}

/// Names used in shared tables for what has another id here.
const ALIASES: &[(&str, &str)] = &[
    ("ambient_temp", "start.air_temperature"),
    ("ambient_c", "start.air_temperature"),
    ("engine_temp", "start.engine_temperature"),
    ("engine_c", "start.engine_temperature"),
    ("soak_h", "start.soak"),
    ("soak", "start.soak"),
    ("preheat_s", "start.preheat"),
    ("tries", "start.tries"),
    ("smoke_crank", "smoke_cranking"),
    ("smoke", "smoke_cranking"),
    ("crank_s", "crank_time"),
    ("rough_s", "time_to_even"),
    ("time_to_glow", "plug_glow_time"),
    ("plug_resistance", "plug_ohms"),
    ("batt_rest_v", "battery_rest_volts"),
    ("batt_crank_v", "cranking_volts"),
    ("system_v", "engine.system_volts"),
    ("cylinders", "engine.cylinders"),
    ("hours_run", "engine.hours"),
    ("built", "engine.built"),
    ("use", "engine.use"),
    ("complaint_text", "complaint"),
    ("notes", "note"),
    ("minutes_total", "work_minutes"),
    ("work_hours", "work_minutes"),
];

fn words<'w>(words: impl IntoIterator<Item = &'w str>) -> BTreeMap<String, String> {
    words
        .into_iter()
        .flat_map(|w| {
            [
                (w.to_owned(), w.to_owned()),
                (folded(&w.replace('_', " ")), w.to_owned()),
            ]
        })
        .collect()
}

/// States with every other word the vocabulary has for one of them.
fn states<'s>(
    knowledge: &Knowledge,
    owner: &str,
    states: impl Iterator<Item = &'s String>,
) -> BTreeMap<String, String> {
    let states: Vec<&String> = states.collect();
    let mut all = words(states.iter().map(|s| s.as_str()));
    for word in &knowledge.words {
        let means = word.means.get_ref();
        let state = means.strip_prefix(owner).and_then(|m| m.strip_prefix('.'));
        if let Some(state) = state.filter(|s| states.iter().any(|known| known == s)) {
            all.entry(folded(word.word.get_ref()))
                .or_insert_with(|| state.to_owned());
        }
    }
    for (yes, state) in [("y", "yes"), ("n", "no"), ("true", "yes"), ("false", "no")] {
        if states.iter().any(|s| *s == state) {
            all.entry(yes.to_owned())
                .or_insert_with(|| state.to_owned());
        }
    }
    all
}

fn quantity(dimension: Dimension, window: &str) -> Shape {
    Shape::Quantity {
        dimension,
        window: window.to_owned(),
        off_scale: None,
        states: BTreeMap::new(),
        absent: false,
    }
}

fn named<T: Copy>(all: &[T], id: impl Fn(T) -> &'static str) -> Shape {
    Shape::States {
        states: words(all.iter().map(|v| id(*v))),
        absent: false,
    }
}

fn yes_no() -> Shape {
    let pairs = [
        ("yes", "true"),
        ("y", "true"),
        ("true", "true"),
        ("1", "true"),
        ("no", "false"),
        ("n", "false"),
        ("false", "false"),
        ("0", "false"),
    ];
    Shape::States {
        states: pairs.map(|(a, b)| (a.to_owned(), b.to_owned())).into(),
        absent: false,
    }
}

fn engine_field(field: &str) -> Option<Shape> {
    let bare = |whole, low, high| Shape::Bare { whole, low, high };
    Some(match field {
        "cylinders" => bare(true, 1.0, 12.0),
        "chamber" => named(Chamber::ALL, Chamber::id),
        "preheat" => named(PreheatKind::ALL, PreheatKind::id),
        "preheat_wiring" => named(Wiring::ALL, Wiring::id),
        "pump" => named(PumpKind::ALL, PumpKind::id),
        "cylinder_one" => named(CylinderOne::ALL, CylinderOne::id),
        "system_volts" => bare(false, 4.0, 60.0),
        "plug_rated_volts" => bare(false, 0.5, 30.0),
        "plug_rated_ohms" => bare(false, 0.01, 100.0),
        "plug_rated_amps" => bare(false, 0.1, 100.0),
        "built" => bare(true, 1900.0, 2100.0),
        "distance" => quantity(Dimension::Length, "distance"),
        "hours" => quantity(Dimension::Time, "hours"),
        "use" => Shape::Free,
        _ => return None,
    })
}

fn start_field(knowledge: &Knowledge, field: &str) -> Option<Shape> {
    Some(match field {
        "engine_temperature" | "air_temperature" => quantity(Dimension::Temperature, field),
        "soak" | "preheat" => quantity(Dimension::Time, field),
        "primed" | "heated" => yes_no(),
        "tries" => Shape::Bare {
            whole: true,
            low: 1.0,
            high: 100.0,
        },
        "result" => named(StartResult::ALL, StartResult::id),
        _ => return sign(knowledge, field).map(|(shape, _)| shape),
    })
}

/// Shape and time of a sign.
fn sign(knowledge: &Knowledge, id: &str) -> Option<(Shape, When)> {
    let sign = knowledge.signs.iter().find(|s| s.id.get_ref() == id)?;
    let states = states(knowledge, id, sign.states.iter());
    let shape = match sign.seconds {
        Some(_) => Shape::Quantity {
            dimension: Dimension::Time,
            window: id.to_owned(),
            off_scale: None,
            states,
            absent: true,
        },
        None => Shape::States {
            states,
            absent: true,
        },
    };
    Some((shape, sign.when))
}

fn check(knowledge: &Knowledge, id: &str) -> Option<(Place, Shape)> {
    let check = knowledge.checks.iter().find(|c| c.id.get_ref() == id)?;
    let place = Place::Reading {
        check: id.to_owned(),
        each: check.per == Per::Cylinder,
    };
    let shape = match check.kind {
        CheckKind::States => Shape::States {
            states: states(knowledge, id, check.states.iter()),
            absent: true,
        },
        CheckKind::Number => Shape::Quantity {
            dimension: Dimension::from_name(check.quantity.as_ref()?.get_ref())?,
            window: id.to_owned(),
            off_scale: check.off_scale.clone(),
            states: states(knowledge, id, check.bound_names.iter()),
            absent: true,
        },
    };
    Some((place, shape))
}

/// What a name in a map or a heading of our own tables stands for.
#[must_use]
pub fn find(knowledge: &Knowledge, name: &str) -> Option<(Place, Shape)> {
    let name = name.trim();
    let name = ALIASES
        .iter()
        .find(|(a, _)| *a == name)
        .map_or(name, |(_, to)| *to);
    if let Some(field) = name.strip_prefix("engine.") {
        let place = Place::Engine {
            field: field.to_owned(),
        };
        return Some((place, engine_field(field)?));
    }
    for (prefix, after) in [("start.", false), ("after.", true)] {
        if let Some(field) = name.strip_prefix(prefix) {
            let place = Place::Start {
                field: field.to_owned(),
                after,
            };
            return Some((place, start_field(knowledge, field)?));
        }
    }
    if let Some(field) = name.strip_prefix("told.") {
        let place = Place::Told {
            field: field.to_owned(),
        };
        let shape = match Fact::from_id(field) {
            Some(fact) => Shape::States {
                states: words(fact.states().iter().copied()),
                absent: false,
            },
            None => sign(knowledge, field)?.0,
        };
        return Some((place, shape));
    }
    let bare = Shape::Bare {
        whole: false,
        low: 0.0,
        high: 1e9,
    };
    match name {
        "complaint" => return Some((Place::Complaint, Shape::Free)),
        "note" => return Some((Place::Note, Shape::Free)),
        "extra" => return Some((Place::Extra, Shape::Free)),
        "ignore" => return Some((Place::Ignored, Shape::Free)),
        "parts_cost" => return Some((Place::PartsCost, bare)),
        "work_minutes" => return Some((Place::WorkMinutes, quantity(Dimension::Time, "work"))),
        _ => {}
    }
    if let Some(found) = check(knowledge, name) {
        return Some(found);
    }
    if let Some((shape, when)) = sign(knowledge, name) {
        let field = name.to_owned();
        let place = match when {
            When::Start => Place::Start {
                field,
                after: false,
            },
            When::Lasting => Place::Told { field },
        };
        return Some((place, shape));
    }
    let plain = folded(name);
    let word = knowledge
        .words
        .iter()
        .find(|w| folded(w.word.get_ref()) == plain)?;
    let means = word.means.get_ref();
    (means != name).then(|| find(knowledge, means)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::{KnowledgeFiles, load};

    #[test]
    fn every_alias_stands_for_something() {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        for (alias, _) in ALIASES {
            assert!(find(&knowledge, alias).is_some(), "{alias}");
        }
        assert!(find(&knowledge, "gearbox").is_none());
        let (place, _) = find(&knowledge, "since").unwrap();
        assert!(matches!(place, Place::Told { .. }));
    }
}
