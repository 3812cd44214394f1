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
/// As wide as a sheet of paper, where letters would be too big otherwise.
const PAPER: f64 = 640.0;
const LEFT: f64 = 76.0;
/// Half a label in seconds, so that one stands under its end.
const MARGIN: f64 = 20.0;
const RING: f64 = 8.0;
/// Room of a ring with a second one around it; rings never lie on each other.
const LANE: f64 = 2.0 * RING + 3.0;
/// Room above and below the rings of a cylinder.
const GAP: f64 = 5.0;
/// Room for the labels at the foot.
const LEGEND: f64 = 20.0;

/// A cylinder with its rings, each in a lane of its row.
struct Row<'a> {
    cylinder: &'a CylinderAnswer,
    rings: Vec<(&'a TrialAnswer, usize)>,
}

impl Row<'_> {
    fn height(&self) -> f64 {
        let lanes = self.rings.iter().map(|r| r.1 + 1).max().unwrap_or(1);
        LANE * number(lanes) + 2.0 * GAP
    }
}

/// Each ring in the first lane where it lies on no other.
fn row(cylinder: &CylinderAnswer, x: impl Fn(f64) -> f64) -> Row<'_> {
    let mut rings: Vec<(&TrialAnswer, usize)> = Vec::new();
    for trial in drawn(cylinder) {
        let near = |t: &TrialAnswer| (x(t.corrected) - x(trial.corrected)).abs() < LANE;
        let taken = |lane: usize| rings.iter().any(|(t, l)| *l == lane && near(t));
        let lane = (0..).find(|lane| !taken(*lane)).unwrap_or(0);
        rings.push((trial, lane));
    }
    Row { cylinder, rings }
}

/// The drawing, for a phone; nothing without timings.
#[must_use]
pub fn strip(judgement: &Judgement) -> Markup {
    drawing(judgement, WIDTH)
}

/// The same for paper.
#[must_use]
pub fn wide_strip(judgement: &Judgement) -> Markup {
    drawing(judgement, PAPER)
}

fn drawing(judgement: &Judgement, width: f64) -> Markup {
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
    let x = |t: f64| LEFT + MARGIN + (width - LEFT - 2.0 * MARGIN) * (t - low) / span;
    let rows: Vec<Row<'_>> = judgement.cylinders.iter().map(|c| row(c, x)).collect();
    let bottom: f64 = rows.iter().map(Row::height).sum();
    let top = |at: usize| rows[..at].iter().map(Row::height).sum::<f64>();
    let place = |v: f64| format!("{v:.1}");
    html! {
        svg xmlns="http://www.w3.org/2000/svg"
            viewBox=(format!("0 0 {width} {:.0}", bottom + LEGEND))
            role="img" aria-label="Timings by cylinder; the text strip says the same" {
            rect x=(place(x(pace[0]))) y="0" width=(place((x(pace[1]) - x(pace[0])).max(1.0)))
                height=(place(bottom)) fill="none" stroke="#000" stroke-dasharray="1 3" {}
            @for (at, row) in rows.iter().enumerate() {
                @let cylinder = row.cylinder;
                @let (above, height) = (top(at), row.height());
                text x="0" y=(place(above + height / 2.0 + 4.0)) font-size="13" {
                    "cylinder " (cylinder.cylinder)
                }
                @for (trial, lane) in &row.rings {
                    @let middle = above + GAP + LANE * (number(*lane) + 0.5);
                    @let (cx, cy) = (place(x(trial.corrected)), place(middle));
                    circle cx=(cx) cy=(cy) r=(RING) fill="none" stroke="#000"
                        stroke-dasharray=[trial.set_aside.then_some("2 2")] {}
                    @if trial.odd > ODD && !trial.set_aside {
                        circle cx=(cx) cy=(cy) r=(RING + 2.0) fill="none" stroke="#000" {}
                    }
                    text x=(cx) y=(place(middle + 4.0)) font-size="12" text-anchor="middle" {
                        (trial.trial) @if trial.bound { ">" }
                    }
                }
                @if let Some(median) = cylinder.median.filter(|m| m.is_finite()) {
                    line x1=(place(x(median))) x2=(place(x(median)))
                        y1=(place(above + 1.0)) y2=(place(above + height - 1.0)) stroke="#000" {}
                }
            }
            text x=(place(x(low))) y=(place(bottom + 14.0)) font-size="12"
                text-anchor="middle" { (place(low)) " s" }
            text x=(place(x(low + span))) y=(place(bottom + 14.0)) font-size="12"
                text-anchor="middle" { (place(low + span)) " s" }
        }
    }
}

/// The trials that have a place.
fn drawn(cylinder: &CylinderAnswer) -> Vec<&TrialAnswer> {
    let trials = cylinder.trials.iter();
    trials.filter(|t| t.corrected.is_finite()).collect()
}

#[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
fn number(count: usize) -> f64 {
    count as f64
}
