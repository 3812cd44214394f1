//! The strip of timings as a drawing: cylinders in rows, seconds to the right, every trial a
//! ring with its number.
//!
//! An odd trial is an open ring with a second one around it, one set aside is dashed. The text
//! strip says the same. Must not judge.

use maud::{Markup, html};

use super::trials_strip::ODD;
use crate::evidence::trials::Judgement;

const WIDTH: f64 = 640.0;
const LEFT: f64 = 80.0;
const ROW: f64 = 20.0;
const MARGIN: f64 = 16.0;

/// The drawing; nothing without timings.
#[must_use]
pub fn strip(judgement: &Judgement) -> Markup {
    let all = || judgement.cylinders.iter().flat_map(|c| &c.trials);
    let pace = [judgement.pace.low, judgement.pace.high];
    let times = all().map(|t| t.corrected).chain(pace);
    let (low, high) = times
        .filter(|t| t.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| {
            (l.min(t), h.max(t))
        });
    if low > high {
        return html! {};
    }
    let span = (high - low).max(1.0);
    let x = |t: f64| LEFT + MARGIN + (WIDTH - LEFT - 2.0 * MARGIN) * (t - low) / span;
    let y = |row: usize| ROW * (row_number(row) + 0.5);
    let bottom = ROW * row_number(judgement.cylinders.len());
    let place = |v: f64| format!("{v:.1}");
    html! {
        svg xmlns="http://www.w3.org/2000/svg"
            viewBox=(format!("0 0 {WIDTH} {:.0}", bottom + ROW))
            role="img" aria-label="Timings by cylinder; the text strip says the same" {
            rect x=(place(x(pace[0]))) y="0" width=(place((x(pace[1]) - x(pace[0])).max(1.0)))
                height=(place(bottom)) fill="none" stroke="#000" stroke-dasharray="1 3" {}
            @for (row, cylinder) in judgement.cylinders.iter().enumerate() {
                text x="0" y=(place(y(row) + 4.0)) font-size="12" {
                    "cylinder " (cylinder.cylinder)
                }
                @for trial in cylinder.trials.iter().filter(|t| t.corrected.is_finite()) {
                    @let (cx, cy) = (place(x(trial.corrected)), place(y(row)));
                    circle cx=(cx) cy=(cy) r="8" fill="none" stroke="#000"
                        stroke-dasharray=[trial.set_aside.then_some("2 2")] {}
                    @if trial.odd > ODD && !trial.set_aside {
                        circle cx=(cx) cy=(cy) r="9.5" fill="none" stroke="#000" {}
                    }
                    text x=(cx) y=(place(y(row) + 3.5)) font-size="10" text-anchor="middle" {
                        (trial.trial) @if trial.bound { ">" }
                    }
                }
                @if let Some(median) = cylinder.median.filter(|m| m.is_finite()) {
                    line x1=(place(x(median))) x2=(place(x(median)))
                        y1=(place(y(row) - 9.0)) y2=(place(y(row) + 9.0)) stroke="#000" {}
                }
            }
            text x=(place(x(low))) y=(place(bottom + 14.0)) font-size="11" { (place(low)) " s" }
            text x=(place(x(low + span))) y=(place(bottom + 14.0)) font-size="11"
                text-anchor="end" { (place(low + span)) " s" }
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
fn row_number(row: usize) -> f64 {
    row as f64
}
