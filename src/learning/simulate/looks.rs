//! What is told of an engine and seen at its cold start.
//!
//! What is written down may be wrong as often as the reliabilities of the figures say. Must not
//! choose checks.

use super::luck::Luck;
use super::settings::SimulationSettings;
use super::shop::Shop;
use super::world::World;
use crate::job::{Entry, EntryBody, Fact, Measured, ReadingValue, SeenSign, Start, Sure, Told};
use crate::knowledge::{Knowledge, Sign, When};
use crate::units::{Dimension, Quantity};

/// Chance that a customer speaks of a lasting sign when asked; own judgement.
const SPEAKS_OF: f64 = 0.12;
/// How sure people are: sure, fair, unsure; own judgement.
const SURE: [f64; 3] = [0.8, 0.15, 0.05];
/// Share of timed signs for which somebody looked at a watch; own judgement.
const TIMED: f64 = 0.5;
/// The first state reaches down to a third of its bound, the one beyond the last bound up to
/// four times it, as the reading of seconds has it.
const FIRST: f64 = 3.0;
const LAST: f64 = 4.0;

/// A quantity as a person types it.
pub(super) fn typed(text: &str, dimension: Dimension) -> Option<crate::units::Parsed> {
    Quantity::parse(text, dimension, None).ok()
}

/// The facts that the customer knows, from the contexts of the engine.
pub(super) fn facts(contexts: &[String]) -> Vec<Told> {
    let fact = |context: &String| {
        let (fact, state) = match context.as_str() {
            "recent_fuel_work" => (Fact::RecentWork, "fuel"),
            "recent_pump_work" => (Fact::RecentWork, "pump_or_belt"),
            "laid_up" => (Fact::LaidUp, "yes"),
            "plugs_renewed" => (Fact::PlugsRenewed, "yes"),
            _ => return None,
        };
        Some(Told::Fact {
            fact,
            state: state.to_owned(),
            typed: state.to_owned(),
        })
    };
    contexts.iter().filter_map(fact).collect()
}

/// What the customer tells.
pub(super) fn told(
    knowledge: &Knowledge,
    world: &World<'_>,
    settings: &SimulationSettings,
    luck: &mut Luck,
) -> Vec<Told> {
    let mut told = Vec::new();
    if settings.routine.is_some() {
        return told;
    }
    for sign in knowledge.signs.iter().filter(|s| s.when == When::Lasting) {
        let Some(id) = world.kind.signs.get(sign.id.get_ref()) else {
            continue;
        };
        let spoken_of = luck.happens(SPEAKS_OF * (1.0 - settings.missing));
        let state = world.states[id.at()];
        let said = through(state, sign.states.len(), knowledge.starts.told, luck);
        if spoken_of {
            told.push(Told::Sign(named(sign, said)));
        }
    }
    told
}

/// The watched cold start.
pub(super) fn start(
    knowledge: &Knowledge,
    world: &World<'_>,
    shop: &Shop,
    settings: &SimulationSettings,
    temperature: f64,
    luck: &mut Luck,
) -> Entry {
    let routine = settings.routine.as_ref();
    let sure = match routine {
        Some(_) => Sure::Sure,
        None => Sure::ALL[luck.position(&SURE)],
    };
    let reliability = knowledge.starts.seen.get(sure.id()).copied().unwrap_or(1.0);
    let mut signs = Vec::new();
    for sign in knowledge.signs.iter().filter(|s| s.when == When::Start) {
        let Some(id) = world.kind.signs.get(sign.id.get_ref()) else {
            continue;
        };
        let looked = match routine {
            None => shop.looks,
            Some(routine) => f64::from(routine.signs.contains(sign.id.get_ref())),
        };
        let written = luck.happens(looked * (1.0 - settings.missing));
        let state = world.states[id.at()];
        let on_watch = routine.is_none() && sign.seconds.is_some() && luck.happens(TIMED);
        let seen = if on_watch {
            seconds(sign, state, luck)
        } else {
            let seen = through(state, sign.states.len(), reliability, luck);
            Some(named(sign, seen))
        };
        signs.extend(seen.filter(|_| written));
    }
    let mut entry = Entry::new(EntryBody::Start(Start {
        engine_temperature: degrees(temperature),
        soak: typed("12 h", Dimension::Time).map(|p| p.quantity),
        signs,
        ..Start::default()
    }));
    entry.sure = (sure != Sure::Sure).then_some(sure);
    entry
}

/// A temperature in whole degrees.
pub(super) fn degrees(temperature: f64) -> Option<Quantity> {
    typed(&format!("{temperature:.0} degC"), Dimension::Temperature).map(|p| p.quantity)
}

/// The state that is written down through a reliability: any other is as likely as the next.
fn through(state: usize, states: usize, reliability: f64, luck: &mut Luck) -> usize {
    if luck.happens(reliability) || states < 2 {
        return state;
    }
    let other = luck.one_of(states - 1);
    if other < state { other } else { other + 1 }
}

fn named(sign: &Sign, state: usize) -> SeenSign {
    let state = &sign.states[state];
    SeenSign {
        sign: sign.id.get_ref().clone(),
        value: ReadingValue::Measured(Measured::State(state.clone())),
        typed: state.clone(),
        suspect: None,
    }
}

/// A time within the state, spread evenly over its logarithm, as a watch shows it.
fn seconds(sign: &Sign, state: usize, luck: &mut Luck) -> Option<SeenSign> {
    let bounds = sign.seconds.as_ref()?;
    let last = bounds.last().copied()?;
    let hi = bounds.get(state).copied();
    let lo = match state {
        0 => hi? / FIRST,
        _ => bounds.get(state - 1).copied().unwrap_or(last),
    };
    let hi = hi.unwrap_or(lo * LAST);
    let truly = lo.ln() + luck.share() * (hi / lo).ln();
    let shown = luck.normal(truly, sign.seconds_log_sd.unwrap_or(0.3)).exp();
    let text = format!("{} s", digits(shown));
    let parsed = typed(&text, Dimension::Time)?;
    Some(SeenSign {
        sign: sign.id.get_ref().clone(),
        value: ReadingValue::Measured(Measured::Number(parsed)),
        typed: text,
        suspect: None,
    })
}

/// A number with three digits that count.
pub(super) fn digits(x: f64) -> String {
    let size = x.abs();
    let places = match size {
        s if s >= 100.0 => 0,
        s if s >= 10.0 => 1,
        s if s >= 1.0 => 2,
        _ => 3,
    };
    format!("{x:.places$}")
}
