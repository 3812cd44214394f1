//! What moved a cause, for people: from the start to the end, the largest move first.
//!
//! Must not reckon; factors are the moves as they come, out of logarithms.

use super::chance;
use super::names;
use super::page::{self, Layout, Page, Symbols};
use crate::diagnosis::{FaultPlace, Moved, Why};
use crate::job::Job;
use crate::knowledge::Knowledge;

/// A factor nearer to one than this is no effect. Own judgement.
pub const NO_EFFECT: f64 = 1.05;
/// Factors from here are printed without decimals.
const WHOLE_FROM: f64 = 10.0;
/// Factors beyond this are printed as such.
const LARGEST: f64 = 1000.0;
/// Most entries named for a cause in the summary.
const NAMED_FOR: usize = 2;
/// Why one plug rises when its mate is found dead.
const SET: &str = "Parts of one set are of one age and one make: what speaks for a \
                                fault in one of them speaks a little for it in its mates.";

/// The list.
#[must_use]
pub fn why(
    why: &Why,
    place: &FaultPlace,
    label: &str,
    job: &Job,
    knowledge: &Knowledge,
    layout: Layout,
) -> String {
    let cause = names::cause(label, place.cylinder);
    let mut page = Page::new(layout);
    page.say(&format!("What moved it: {cause}"));
    page.gap();
    summary(&mut page, why, knowledge);
    page.gap();
    page.say(&start(why));
    let (moving, still): (Vec<&Moved>, Vec<&Moved>) = why
        .moved
        .iter()
        .partition(|m| m.log_odds.abs() >= NO_EFFECT.ln());
    for moved in moving {
        let lead = format!("  {:<14} ", factor(moved.log_odds, layout.symbols));
        let text = names::source(knowledge, &moved.source, &moved.typed);
        let place = names::place(job, moved.entry);
        page.hang(&lead, &format!("{text}  [{place}]"));
    }
    for moved in still {
        let text = names::source(knowledge, &moved.source, &moved.typed);
        let place = names::place(job, moved.entry);
        let lead = format!("  {:<14} ", "no effect");
        page.hang(&lead, &format!("{text}  [{place}]"));
    }
    page.say(&format!("{} now", chance::of_100(why.end)));
    page.gap();
    for note in footnotes(why, place, knowledge) {
        page.say(note);
    }
    page.finish()
}

/// Where it starts: `usually 4; 10 of 100 from the complaint alone`.
#[must_use]
pub fn start(why: &Why) -> String {
    let usually = chance::count(why.base);
    let start = chance::of_100(why.start);
    format!("usually {usually}; {start} from the complaint alone")
}

/// What is said under the list.
#[must_use]
pub fn footnotes(why: &Why, place: &FaultPlace, knowledge: &Knowledge) -> Vec<&'static str> {
    let part = knowledge
        .parts
        .iter()
        .find(|p| *p.id.get_ref() == place.part);
    let set = part.is_some_and(|p| p.given.is_some());
    let factors = std::iter::once(factors(why.exact));
    factors.chain(set.then_some(SET)).collect()
}

/// What the factors are.
fn factors(exact: bool) -> &'static str {
    if exact {
        "Factors act on the odds, and together they lead from the first number to the last. \
         What an entry moves depends on what is known before it; shown is the mean over every \
         order of the entries."
    } else {
        "Factors act on the odds, and together they lead from the first number to the last. \
         What an entry moves depends on what is known before it; shown is the mean over a fixed \
         sample of orders of the entries."
    }
}

/// One sentence: the two that speak most for it, the one that speaks most against it.
fn summary(page: &mut Page, why: &Why, knowledge: &Knowledge) {
    let name = |m: &&Moved| names::source(knowledge, &m.source, &m.typed);
    let for_it: Vec<String> = why
        .moved
        .iter()
        .filter(|m| m.log_odds >= NO_EFFECT.ln())
        .take(NAMED_FOR)
        .map(|m| name(&m))
        .collect();
    let against = why.moved.iter().find(|m| m.log_odds <= -NO_EFFECT.ln());
    let now = chance::in_words(why.end);
    let mut text = format!("Now {now}.");
    if !for_it.is_empty() {
        text.push_str(&format!(" Most for it: {}.", page::and(&for_it)));
    }
    if let Some(against) = against {
        text.push_str(&format!(" Most against it: {}.", name(&against)));
    }
    if for_it.is_empty() && against.is_none() {
        text.push_str(" No entry moved it.");
    }
    page.say(&text);
}

/// `×6 towards`, `÷4 away`.
#[must_use]
pub fn factor(log_odds: f64, symbols: Symbols) -> String {
    let size = log_odds.abs().exp();
    let number = if size > LARGEST {
        "over 1000".to_owned()
    } else if size >= WHOLE_FROM {
        format!("{size:.0}")
    } else {
        format!("{size:.1}")
    };
    let (times, over) = match symbols {
        Symbols::Unicode => ("×", "÷"),
        Symbols::Ascii => ("x", "/"),
    };
    if log_odds > 0.0 {
        format!("{times}{number} towards")
    } else {
        format!("{over}{number} away")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_is_the_move_out_of_logarithms() {
        assert_eq!(factor(6.0_f64.ln(), Symbols::Unicode), "×6.0 towards");
        assert_eq!(factor(-(4.0_f64.ln()), Symbols::Unicode), "÷4.0 away");
        assert_eq!(factor(12.4_f64.ln(), Symbols::Ascii), "x12 towards");
        assert_eq!(factor(-9.0, Symbols::Ascii), "/over 1000 away");
    }
}
