//! How far one figure must move, all others as they stand, to change the head of the list.
//!
//! A straight line from the exact derivatives gives the first guess, the secant method the rest,
//! every step on networks built anew. Must not word.

use super::super::DiagnosisError;
use super::super::reckoner::FaultPlace;
use super::draws::Panel;
use super::moves::moved;
use super::range::Ranges;
use crate::evidence::Evidence;
use crate::job::Job;
use crate::knowledge::Knowledge;

/// Farthest a figure is moved, in spreads of its own: beyond, nobody would believe it.
const FARTHEST: f64 = 3.0;
/// Figures tried for each one asked for.
const TRIED: usize = 2;
/// Steps of the secant method.
const STEPS: usize = 8;
/// Natural log-odds between first and second that count as level.
const LEVEL: f64 = 1e-6;

/// A figure at which another cause comes to the head of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Tipping {
    /// Position in [`Ranges::figures`].
    pub figure: usize,
    /// How far it must move, in spreads of its own.
    pub spreads: f64,
    /// The cause at the head now.
    pub from: FaultPlace,
    /// The cause that comes to the head.
    pub to: FaultPlace,
}

impl Tipping {
    /// What the figure moves by: a factor on its value or odds, or an amount for one that adds.
    #[must_use]
    pub fn by(&self, ranges: &Ranges) -> f64 {
        let figure = &ranges.figures[self.figure];
        let moved = self.spreads * figure.spread;
        if figure.adds { moved } else { moved.exp() }
    }
}

/// Chances of all causes, in the order of the ranges, with one figure moved by so many of its
/// spreads; `None` where nothing explains what was seen any more.
///
/// # Errors
/// When the network is too wide.
pub fn chances_with(
    knowledge: &Knowledge,
    job: &Job,
    evidence: &Evidence,
    ranges: &Ranges,
    (figure, spreads): (usize, f64),
) -> Result<Option<Vec<f64>>, DiagnosisError> {
    let places = ranges.causes.iter().map(|c| c.place.clone()).collect();
    let panel = Panel::new(evidence, places)?;
    let mut own = knowledge.clone();
    let evidence = moved(&mut own, job, &ranges.figures[figure], spreads);
    Ok(evidence.and_then(|e| panel.chances(&e)))
}

/// Tipping values, the nearest first, at most so many.
///
/// # Errors
/// When the network is too wide.
pub fn tipping(
    knowledge: &Knowledge,
    job: &Job,
    evidence: &Evidence,
    ranges: &Ranges,
    most: usize,
) -> Result<Vec<Tipping>, DiagnosisError> {
    let mut order = (0..ranges.causes.len()).collect::<Vec<_>>();
    order.sort_by(|a, b| {
        ranges.causes[*b]
            .chance
            .total_cmp(&ranges.causes[*a].chance)
    });
    let [head, rivals @ ..] = &order[..] else {
        return Ok(Vec::new());
    };
    let causes = &ranges.causes;
    let odds = |p: f64| (p / (1.0 - p)).ln();
    // For each figure the rival that a straight line brings to the head first.
    let mut guesses = Vec::new();
    for figure in 0..ranges.figures.len() {
        let guess = rivals.iter().filter_map(|rival| {
            let ahead = odds(causes[*head].chance) - odds(causes[*rival].chance);
            let slope = causes[*head].moves[figure] - causes[*rival].moves[figure];
            let spreads = -ahead / slope;
            (ahead > LEVEL && spreads.abs() <= 2.0 * FARTHEST).then_some(spreads)
        });
        if let Some(spreads) = guess.min_by(|a, b| a.abs().total_cmp(&b.abs())) {
            guesses.push((figure, spreads));
        }
    }
    guesses.sort_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let places = causes.iter().map(|c| c.place.clone()).collect();
    let panel = Panel::new(evidence, places)?;
    let mut found = Vec::new();
    let mut own = knowledge.clone();
    for (figure, guess) in guesses.into_iter().take(TRIED * most) {
        // How far the head is ahead of the best other, and which that is.
        let ahead = |spreads: f64| {
            let evidence = moved(&mut own, job, &ranges.figures[figure], spreads)?;
            let chances = panel.chances(&evidence)?;
            let other = (0..chances.len()).filter(|c| c != head);
            let other = other.max_by(|a, b| chances[*a].total_cmp(&chances[*b]))?;
            Some((odds(chances[*head]) - odds(chances[other]), other))
        };
        if let Some((spreads, to)) = root(ahead, guess) {
            found.push(Tipping {
                figure,
                spreads,
                from: causes[*head].place.clone(),
                to: causes[to].place.clone(),
            });
        }
    }
    found.sort_by(|a, b| a.spreads.abs().total_cmp(&b.spreads.abs()));
    found.truncate(most);
    Ok(found)
}

/// Where the lead becomes nought, if it does within reach.
fn root(mut lead: impl FnMut(f64) -> Option<(f64, usize)>, guess: f64) -> Option<(f64, usize)> {
    let (mut a, mut at_a) = (0.0, lead(0.0)?.0);
    let mut b = guess.clamp(-FARTHEST, FARTHEST);
    for _ in 0..STEPS {
        let (at_b, other) = lead(b)?;
        if at_b.abs() < LEVEL {
            return Some((b, other));
        }
        let next = b - at_b * (b - a) / (at_b - at_a);
        (a, at_a) = (b, at_b);
        if !next.is_finite() || next.abs() > FARTHEST {
            return None;
        }
        b = next;
    }
    None
}
