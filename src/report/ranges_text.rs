//! Ranges for people: what a chance rests on, and what would change the head of the list.
//!
//! Must not reckon.

use super::chance;
use super::figure_words;
use super::names;
use super::page::{Layout, Page};
use crate::diagnosis::ranges::{CauseRange, Ranges, Tipping};
use crate::diagnosis::reckoner::FaultPlace;
use crate::knowledge::Knowledge;

/// Figures named for a cause.
pub const NAMED: usize = 8;

/// The figures behind one cause.
#[must_use]
pub fn figures(
    ranges: &Ranges,
    range: &CauseRange,
    knowledge: &Knowledge,
    layout: Layout,
) -> String {
    let mut page = Page::new(layout);
    page.line("");
    page.say("Which figures it rests on");
    page.say(&format!(
        "{}; {} to {} of 100 if our figures are off as far as their strength lets them, eight \
         times in ten.",
        chance::of_100(range.chance),
        chance::count(range.low),
        chance::count(range.high)
    ));
    for matters in range.matter_most(NAMED) {
        let figure = &ranges.figures[matters.figure];
        let way = if matters.moves > 0.0 {
            "for it"
        } else {
            "against it"
        };
        let lead = format!("  {:>3.0} of 100  ", 100.0 * matters.share);
        page.hang(
            &lead,
            &format!(
                "{}; more of it speaks {way}; stands at {}, worth {} jobs, {}",
                figure_words::name(knowledge, figure),
                short(figure.value),
                short(figure.strength),
                figure.source
            ),
        );
    }
    page.say("The numbers in front say how much of the doubt comes from each figure.");
    page.finish()
}

/// What would change the head of the list.
#[must_use]
pub fn tipping(list: &[Tipping], ranges: &Ranges, knowledge: &Knowledge, layout: Layout) -> String {
    let mut page = Page::new(layout);
    page.line("");
    if list.is_empty() {
        page.say("No single figure, moved as far as is believable, changes the head of the list.");
        return page.finish();
    }
    page.say("What would change the head of the list");
    for tip in list {
        let figure = &ranges.figures[tip.figure];
        page.hang(
            "  - ",
            &format!(
                "{}: {}; then {} comes first",
                figure_words::name(knowledge, figure),
                figure_words::moved(figure, tip.spreads),
                cause(knowledge, &tip.to)
            ),
        );
    }
    page.finish()
}

fn cause(knowledge: &Knowledge, place: &FaultPlace) -> String {
    let part = knowledge
        .parts
        .iter()
        .find(|p| *p.id.get_ref() == place.part);
    let fault = part.and_then(|p| p.fault.iter().find(|f| *f.id.get_ref() == place.fault));
    let label = fault.map_or(place.fault.as_str(), |f| f.label.as_str());
    names::cause(label, place.cylinder)
}

/// Three significant digits.
fn short(value: f64) -> String {
    if value.abs() >= 100.0 {
        return format!("{value:.0}");
    }
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "0" {
        format!("{value:.1e}")
    } else {
        text.to_owned()
    }
}
