//! Rounds of fitting until nothing is gained.
//!
//! The objective is the log likelihood of the jobs plus what the starter figures say of the
//! fitted ones; it never falls. A step longer than a round's own is tried where the last one
//! paid, and taken back where the objective fell (Salakhutdinov and Roweis 2003). How far shops
//! differ is settled once, when the common figures have found their place. Must not count jobs
//! itself: the caller passes over them, in one piece or in shards.

use super::counts::Counts;
use super::maximise::{maximise, shops_differ};
use super::moved::{Moved, Starter};
use crate::knowledge::Knowledge;

/// Factor by which a step that paid is made longer.
const LONGER: f64 = 1.3;
/// Longest a step is made, in steps of its own.
const MOST: f64 = 4.0;

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Rounds at most.
    pub rounds: u32,
    /// Gain of the objective, nats, below which it stops.
    pub enough: f64,
    /// Whether shops are told apart, from three up.
    pub shops: bool,
}

/// What was fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The figures.
    pub moved: Moved,
    /// Counts under them.
    pub counts: Counts,
    /// Log likelihood before the first round and after each.
    pub log_likelihood: Vec<f64>,
    /// Objective likewise; never falls. Counted anew where shops begin to be told apart, by a
    /// constant.
    pub objective: Vec<f64>,
    /// Whether it stopped because too little was gained.
    pub settled: bool,
}

/// Fits; `pass` counts all jobs under some figures, the number of rounds so far beside.
///
/// # Errors
/// Those of `pass`.
pub fn fit<E>(
    knowledge: &Knowledge,
    starter: &Starter,
    start: Moved,
    settings: Settings,
    mut pass: impl FnMut(&Moved, u32) -> Result<Counts, E>,
) -> Result<Fit, E> {
    let mut moved = start;
    let mut counts = pass(&moved, 0)?;
    let value = |moved: &Moved, counts: &Counts| counts.log_likelihood.value() + starter.log(moved);
    let mut logs = vec![counts.log_likelihood.value()];
    let mut objective = vec![value(&moved, &counts)];
    let mut settled = false;
    let mut asked = !settings.shops || moved.shops_differ > 0.0;
    let mut longer = 1.0;
    for round in 1..=settings.rounds {
        let plain = maximise(knowledge, starter, &moved, &counts);
        let mut next = if longer > 1.0 {
            beyond(&moved, &plain, longer)
        } else {
            plain.clone()
        };
        let mut found = pass(&next, round)?;
        let before = objective[objective.len() - 1];
        if longer > 1.0 && value(&next, &found) < before {
            next = plain;
            found = pass(&next, round)?;
            longer = 1.0;
        } else {
            longer = (longer * LONGER).min(MOST);
        }
        let gain = value(&next, &found) - before;
        (moved, counts) = (next, found);
        logs.push(counts.log_likelihood.value());
        objective.push(value(&moved, &counts));
        if gain < settings.enough {
            if asked {
                settled = true;
                break;
            }
            asked = true;
            moved.shops_differ = shops_differ(&counts);
            if moved.shops_differ <= 0.0 {
                settled = true;
                break;
            }
        }
    }
    Ok(Fit {
        moved,
        counts,
        log_likelihood: logs,
        objective,
        settled,
    })
}

/// The step from one set of figures to another made longer; chances of labels keep the plain step.
fn beyond(from: &Moved, to: &Moved, by: f64) -> Moved {
    let mut next = to.clone();
    for (fault, z) in &mut next.shift {
        let was = from.shift.get(fault).copied().unwrap_or(0.0);
        *z = was + by * (*z - was);
    }
    next
}
