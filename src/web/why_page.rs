//! What moved a cause.
//!
//! Must not reckon.

use maud::{Markup, html};

use super::bench::Bench;
use super::frame::{bar_of_job, of_job, page};
use super::routes::{Ask, Refusal, Reply};
use crate::diagnosis::{FaultPlace, Moved};
use crate::report::page::Symbols;
use crate::report::{chance, names, panels, why_text};

/// A factor of this fills half the bar; larger ones are cut.
const FULL: f64 = 20.0;
/// Half the width of a bar, in its own units.
const HALF: f64 = 100.0;

/// What moved a cause.
///
/// # Errors
/// When there is no such job or cause.
pub fn why(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let knowledge = bench.knowledge();
    let reckoned = bench.reckoned(&ask.job)?;
    let job = reckoned.job();
    let missing = |why: String| Refusal::Missing(why);
    let standing = reckoned.standing().map_err(missing)?;
    let wanted = ask.query.get("cause");
    let Some(cause) = standing.ranking.causes.iter().find(|c| c.cause == wanted) else {
        return Err(missing("There is no such cause on this engine.".to_owned()));
    };
    let place = FaultPlace {
        part: cause.part.clone(),
        fault: cause.fault.clone(),
        cylinder: cause.cylinder,
    };
    let why = reckoned.why(place.clone()).map_err(missing)?;
    let name = names::cause(&cause.label, cause.cylinder);
    let row = |moved: &Moved| {
        let text = names::source(knowledge, &moved.source, &moved.typed);
        let small = moved.log_odds.abs() < why_text::NO_EFFECT.ln();
        let factor = if small {
            "no effect".to_owned()
        } else {
            why_text::factor(moved.log_odds, Symbols::Unicode)
        };
        html! {
            li {
                b { (factor) } " " (text) " [" (names::place(job, moved.entry)) "]"
                @if !small { (bar(moved.log_odds)) }
            }
        }
    };
    let content = html! {
        h1 { (panels::WHAT_MOVED_IT) }
        section.card {
            h2 { (name) }
            p { "Now " (chance::in_words(why.end)) "." }
            p { (why_text::start(&why)) }
            ol.plain.moves { @for moved in &why.moved { (row(moved)) } }
            p { (chance::of_100(why.end)) " now" }
            @for note in why_text::footnotes(&why, &place, knowledge) { p.hint { (note) } }
            a.key href=(of_job(&job.job, "")) { "Back to the slip" }
        }
    };
    Ok(Reply::Page(page(
        panels::WHAT_MOVED_IT,
        &bar_of_job(&job.job),
        &content,
    )))
}

/// From the middle to the right for towards, to the left and hatched for away.
fn bar(log_odds: f64) -> Markup {
    let length = HALF * (log_odds.abs() / FULL.ln()).min(1.0);
    let from = if log_odds > 0.0 { HALF } else { HALF - length };
    let class = if log_odds > 0.0 { "towards" } else { "away" };
    let two = 2.0 * HALF;
    html! {
        svg.bar-of viewBox=(format!("0 0 {two} 12")) aria-hidden="true" {
            line x1=(HALF) x2=(HALF) y1="0" y2="12" {}
            rect class=(class) x=(format!("{from:.1}")) y="2" width=(format!("{length:.1}"))
                height="8" {}
        }
    }
}
