//! Which kinds of engine a job may be about.
//!
//! A field that is not known is not guessed: each kind is reckoned and the answers are mixed by
//! how well each explains what was seen. Must not build networks.

use std::collections::BTreeSet;

use crate::job::{Chamber, Engine, EntryBody, Job, PreheatKind, Wiring};
use crate::knowledge::Knowledge;
use crate::network::build::Shape;

/// Kilometres below which an engine counts as young, and above which as worn; and hours.
/// Own judgement, as the shares by age are.
const YOUNG_KM: f64 = 120_000.0;
const WORN_KM: f64 = 300_000.0;
const WORN_HOURS: f64 = 8_000.0;
const MILLIMETRES_A_KM: f64 = 1e6;
const SECONDS_AN_HOUR: f64 = 3600.0;

/// Shapes an engine may have, with weights that add to one.
#[must_use]
pub fn kinds(knowledge: &Knowledge, engine: &Engine) -> Vec<(Shape, f64)> {
    let cylinders = engine
        .cylinders
        .unwrap_or(knowledge.engines.cylinders_if_unknown);
    let mut shapes = Vec::new();
    for kind in &knowledge.engines.kind {
        let chamber = engine.chamber == Chamber::Unknown || engine.chamber.id() == kind.chamber;
        let preheat = engine.preheat == PreheatKind::Unknown || engine.preheat.id() == kind.preheat;
        if chamber && preheat {
            shapes.push((kind.chamber.as_str(), kind.preheat.as_str(), kind.share));
        }
    }
    if shapes.is_empty() {
        // A rare pairing that no share lists: it is what the person says it is.
        shapes.push((engine.chamber.id(), engine.preheat.id(), 1.0));
    }
    let total: f64 = shapes.iter().map(|s| s.2).sum();
    shapes
        .into_iter()
        .map(|(chamber, preheat, share)| {
            let wiring = if preheat == "plugs" {
                engine.preheat_wiring
            } else {
                Wiring::Unknown
            };
            let shape = Shape {
                cylinders,
                chamber: chamber.to_owned(),
                preheat: preheat.to_owned(),
                wiring: wiring.id().to_owned(),
                pump: engine.pump.id().to_owned(),
            };
            (shape, share / total)
        })
        .collect()
}

/// Those kinds that have what was read: whoever read an intake grid has one. Where the readings
/// contradict each other, the kinds that lack the fewest of them.
///
/// Weights add to one again.
#[must_use]
pub fn fitting(knowledge: &Knowledge, job: &Job, kinds: Vec<(Shape, f64)>) -> Vec<(Shape, f64)> {
    let read: BTreeSet<&str> = job
        .entries
        .iter()
        .filter(|e| e.is_used())
        .filter_map(|e| match &e.body {
            EntryBody::Reading(r) if r.value.has_result() => Some(r.check.as_str()),
            _ => None,
        })
        .collect();
    let checks = knowledge.checks.iter();
    let read: Vec<_> = checks
        .filter(|c| read.contains(c.id.get_ref().as_str()))
        .collect();
    let lacks = |shape: &Shape| read.iter().filter(|c| !shape.has(&c.needs)).count();
    let fewest = kinds.iter().map(|(shape, _)| lacks(shape)).min();
    let mut fit = kinds;
    fit.retain(|(shape, _)| Some(lacks(shape)) == fewest);
    let total: f64 = fit.iter().map(|k| k.1).sum();
    for kind in &mut fit {
        kind.1 /= total;
    }
    fit
}

/// The context of age, if distance or hours are known.
#[must_use]
pub fn age(engine: &Engine) -> Option<&'static str> {
    let km = engine.distance.as_ref().map(|q| q.value / MILLIMETRES_A_KM);
    let hours = engine.hours.as_ref().map(|q| q.value / SECONDS_AN_HOUR);
    let worn = km.is_some_and(|k| k > WORN_KM) || hours.is_some_and(|h| h > WORN_HOURS);
    let young = km.is_some_and(|k| k < YOUNG_KM) && !worn;
    if worn {
        Some("worn")
    } else if young {
        Some("young")
    } else {
        None
    }
}
