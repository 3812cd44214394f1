//! Ranges for programs: the figures behind a cause and what would change the head of the list.
//!
//! Must not reckon.

use serde_json::{Value, json};

use super::figure_words;
use super::ranges_text::NAMED;
use super::round;
use crate::diagnosis::ranges::{CauseRange, Figure, Ranges, Tipping};
use crate::diagnosis::reckoner::FaultPlace;
use crate::knowledge::Knowledge;

/// The figures that matter most to one cause.
#[must_use]
pub fn figures(ranges: &Ranges, range: &CauseRange, knowledge: &Knowledge) -> Value {
    let matters = range.matter_most(NAMED);
    let list = matters.iter().map(|m| {
        let mut value = figure(&ranges.figures[m.figure], knowledge);
        value["log_odds_a_spread"] = round::number(m.moves);
        value["share_of_variance"] = round::number(m.share);
        value
    });
    list.collect()
}

/// The tipping values.
#[must_use]
pub fn tipping(list: &[Tipping], ranges: &Ranges, knowledge: &Knowledge) -> Value {
    let one = |tip: &Tipping| {
        let mut value = figure(&ranges.figures[tip.figure], knowledge);
        value["spreads"] = round::number(tip.spreads);
        value["by"] = round::number(tip.by(ranges));
        value["from"] = json!(id(&tip.from));
        value["to"] = json!(id(&tip.to));
        value
    };
    list.iter().map(one).collect()
}

fn figure(figure: &Figure, knowledge: &Knowledge) -> Value {
    json!({
        "figure": figure.id,
        "label": figure_words::name(knowledge, figure),
        "value": round::number(figure.value),
        "strength": round::number(figure.strength),
        "spread": round::number(figure.spread),
        "moves_by": if figure.adds { "adding" } else { "factor" },
        "source": figure.source,
    })
}

fn id(place: &FaultPlace) -> String {
    match place.cylinder {
        Some(c) => format!("{}.{}:{c}", place.part, place.fault),
        None => format!("{}.{}", place.part, place.fault),
    }
}
