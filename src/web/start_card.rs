//! What the last start after the work says of the job: that it does not count, or that it was
//! better and not right.
//!
//! Must not judge a start.

use maud::{Markup, html};

use super::bench::Reckoned;
use super::entry::BEFORE_WORK;
use super::frame::of_job;
use crate::diagnosis::Against;
use crate::job::{StartAfter, Verification, WhyNot};
use crate::report::closing_text;
use crate::report::page::typeset;

/// The last start after the work, if it does not count.
fn uncounted(verification: &Verification) -> Option<&StartAfter> {
    verification.starts.last().filter(|s| s.why_not.is_some())
}

/// That the last start after the work does not count, why, and what to do; nothing if it counts.
#[must_use]
pub fn does_not_count(job: &str, verification: &Verification) -> Markup {
    let start = uncounted(verification);
    let Some((start, why)) = start.and_then(|s| Some((s, s.why_not.as_ref()?))) else {
        return html! {};
    };
    let in_words = |text: String| typeset(&text);
    let change = format!("{}?entry={}", of_job(job, "change"), start.entry + 1);
    html! {
        div.care {
            p { b { "This start does not count as the cold start: "
                (in_words(closing_text::why_not(why))) "." } }
            @if let Some(wanted) = closing_text::wanted(verification) { p { (in_words(wanted)) } }
            @if start.right == Some(false) {
                p { "That it was not right is kept all the same." }
            }
            @if matches!(why, WhyNot::ComplaintTemperatureUnknown) {
                p { "How cold was it when it started badly? Ask, and write that start down as one before \
                     the work." }
                a.main href=(format!("{}?{BEFORE_WORK}=yes", of_job(job, "start"))) {
                    "Write down the bad start"
                }
            }
            p {
                @if closing_text::may_lack_a_minus(why) { "Did you mean below zero? " }
                @else { "If something was mistyped or left out: " }
                "Set it aside and write it down again."
            }
            a.key href=(change) { "Set this start aside" }
        }
    }
}

/// That the last start was not right, in the words of the page that finishes a job.
#[must_use]
pub fn not_right(reckoned: &Reckoned<'_>) -> Option<String> {
    let against = reckoned.closing().ok()?.against;
    let not_right = |a: &&Against| matches!(a, Against::NotRight { .. });
    against.iter().find(not_right).map(closing_text::one)
}
