//! The strip of timings as a drawing: cylinders in rows, seconds to the right, every trial a
//! ring with its number.
//!
//! An odd trial is an open ring with a second one around it, one set aside is dashed. The text
//! strip says the same. Must not judge.

use maud::{Markup, html};

use super::trials_strip::ODD;
use crate::evidence::trials::{CylinderAnswer, Judgement, TrialAnswer};

/// As wide as a phone, so that letters are as big there as they are here.
const WIDTH: f64 = 360.0;
const LEFT: f64 = 76.0;
const ROW: f64 = 28.0;
const MARGIN: f64 = 12.0;
const RING: f64 = 8.0;
/// Rings that would lie on each other are moved up or down by this.
const ASIDE: [f64; 3] = [0.0, -6.0, 6.0];

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
                text x="0" y=(place(y(row) + 4.0)) font-size="13" {
                    "cylinder " (cylinder.cylinder)
                }
                @for (at, trial) in drawn(cylinder).into_iter().enumerate() {
                    @let middle = y(row) + aside(&drawn(cylinder)[..at], trial, x);
                    @let (cx, cy) = (place(x(trial.corrected)), place(middle));
                    circle cx=(cx) cy=(cy) r=(RING) fill="none" stroke="#000"
                        stroke-dasharray=[trial.set_aside.then_some("2 2")] {}
                    @if trial.odd > ODD && !trial.set_aside {
                        circle cx=(cx) cy=(cy) r=(RING + 2.0) fill="none" stroke="#000" {}
                    }
                    text x=(cx) y=(place(middle + 3.5)) font-size="10" text-anchor="middle" {
                        (trial.trial) @if trial.bound { ">" }
                    }
                }
                @if let Some(median) = cylinder.median.filter(|m| m.is_finite()) {
                    line x1=(place(x(median))) x2=(place(x(median)))
                        y1=(place(y(row) - 13.0)) y2=(place(y(row) + 13.0)) stroke="#000" {}
                }
            }
            text x=(place(x(low))) y=(place(bottom + 14.0)) font-size="12" { (place(low)) " s" }
            text x=(place(x(low + span))) y=(place(bottom + 14.0)) font-size="12"
                text-anchor="end" { (place(low + span)) " s" }
        }
    }
}

/// The trials that have a place.
fn drawn(cylinder: &CylinderAnswer) -> Vec<&TrialAnswer> {
    let trials = cylinder.trials.iter();
    trials.filter(|t| t.corrected.is_finite()).collect()
}

/// How far a ring is moved, so that its number can be read beside those drawn before it.
fn aside(before: &[&TrialAnswer], trial: &TrialAnswer, x: impl Fn(f64) -> f64) -> f64 {
    let near = |t: &&&TrialAnswer| (x(t.corrected) - x(trial.corrected)).abs() < 2.0 * RING;
    ASIDE[before.iter().filter(near).count() % ASIDE.len()]
}

#[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
fn row_number(row: usize) -> f64 {
    row as f64
}
