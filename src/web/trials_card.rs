//! Timings of the plugs on the slip: the drawing, what it says, and its text twin.
//!
//! Must not judge.

use maud::{Markup, html};

use crate::evidence::timed;
use crate::evidence::trials::{Catalogue, Figures, judge};
use crate::job::{EntryBody, Job};
use crate::report::{panels, trials_strip, trials_svg, trials_text, trials_words};

/// Columns of the text twin of the drawing: a phone's width.
const TWIN: usize = 40;

/// Whether the volts of the supply were written down with a timing.
fn with_volts(job: &Job) -> bool {
    let used = job.entries.iter().filter(|e| e.is_used());
    let mut timed = used.filter_map(|e| match &e.body {
        EntryBody::Reading(r) if r.check == timed::TIMED => Some(r),
        _ => None,
    });
    timed.any(|r| r.supply.is_some())
}

/// The card; nothing where nothing was timed.
#[must_use]
pub fn trials(job: &Job) -> Markup {
    let timings: Vec<_> = timed::timings(job).into_iter().map(|t| t.1).collect();
    let bench = timed::bench(job);
    let judged = judge(&timings, &bench, &Figures::default(), &Catalogue::default()).ok();
    let Some(answer) = judged.filter(|_| !timings.is_empty()) else {
        return html! {};
    };
    let judgement = &answer.judgement;
    html! {
        section.card {
            h2 { (panels::TIMING_TRIALS) }
            p { b { (trials_words::set(judgement.verdict)) "." } }
            div.plot { (trials_svg::strip(judgement)) }
            p.hint { "Compared with its neighbours, not with a spec. Number in the ring: the trial; \
                      two rings: an odd trial; dashed ring: set aside; stroke: the middle; box: \
                      what a sound plug takes." }
            @if with_volts(job) {
                p.hint { "Times are brought to the same volts before they are compared, so they may \
                          stand a little beside what was typed." }
            }
            ul {
                @for c in &judgement.cylinders {
                    li { "cylinder " (c.cylinder) ": " (trials_words::cylinder(c.verdict)) }
                }
            }
            p { (trials_text::recorded(answer.counts)) }
            @if !judgement.advice.is_empty() {
                ul { @for one in &judgement.advice { li { (trials_words::advice(one)) } } }
            }
            details {
                summary { "As text" }
                pre { (trials_strip::strip(judgement, TWIN).join("\n")) }
            }
        }
    }
}
