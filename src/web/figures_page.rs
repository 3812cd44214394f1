//! About these figures: what the chances come from, and how far they would move if the starting
//! figures were off; and how often what was said came true in this book.
//!
//! Must not reckon.

use maud::{Markup, html};

use super::answers;
use super::bench::Bench;
use super::forms::of_which;
use super::frame::{bar_of_job, of_job, page};
use super::routes::{Ask, Refusal, Reply};
use crate::diagnosis::Cause;
use crate::report::rows::rows;
use crate::report::{came_true_text, causes_text, chance, panels};

/// The page.
///
/// # Errors
/// When there is no such job, or nothing explains what was seen.
pub fn figures(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let knowledge = bench.knowledge();
    let reckoned = bench.reckoned(&ask.job)?;
    let ranking = reckoned.ranking_with_ranges().map_err(Refusal::Missing)?;
    let shown = rows(&ranking, false);
    let came = bench.came_true()?;
    let content = html! {
        h1 { (panels::ABOUT) }
        (of_which(reckoned.job()))
        section.card {
            p { "“58 of 100” means: of a hundred jobs with an engine like this one, where the same \
                 was told, seen and read, about 58 had this fault. They are estimates." }
            p { "The starting figures behind them may be off. The second number says where the \
                 chance would be, eight times in ten, if they are off as far as they may be." }
            ul.plain {
                @for row in &shown.rows {
                    li { p { b { (causes_text::with_cylinders(row)) } } (range(row.cause)) }
                }
                @if let Some(other) = shown.other {
                    li { p { b { (other.label) } } (range(other)) }
                }
            }
            h2 { "How it came out in this book" }
            @for sentence in came_true_text::sentences(&came) { p { (sentence) } }
            @if came.is_enough() { p.hint { (came_true_text::HOW) } }
            p.hint { "Program " (env!("CARGO_PKG_VERSION")) ", figures " (answers::short(&knowledge.sha256)) "." }
            a.key href=(of_job(&ask.job, "")) { "Back to the slip" }
        }
    };
    let bar = bar_of_job(&ask.job);
    Ok(Reply::Page(page(panels::ABOUT, &bar, &content)))
}

fn range(cause: &Cause) -> Markup {
    html! {
        p {
            (chance::of_100(cause.chance))
            @if let (Some(low), Some(high)) = (cause.low, cause.high) {
                "; " (chance::count(low)) " to " (chance::count(high))
                " if our starting figures are off"
            }
        }
    }
}
