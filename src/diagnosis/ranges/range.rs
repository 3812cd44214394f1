//! The 80 % range of every chance, and the figures that matter most to it.
//!
//! With `u_i` the figures in spreads of their own, independent of each other, and `l` the log-odds
//! of a cause (the delta method),
//!
//! ```text
//! sd(l)^2 = sum_i (dl / du_i)^2        range = logistic(l -+ 1.2816 sd(l))
//! ```
//! Kinds of engine are mixed before log-odds are taken. Must not word.

use super::super::DiagnosisError;
use super::super::answer::Ranking;
use super::super::reckoner::FaultPlace;
use super::figure::{Figure, figures};
use super::moves::{moves, tables};
use super::slopes::{CaseSlopes, slopes};
use crate::evidence::Evidence;
use crate::job::Job;
use crate::knowledge::Knowledge;

/// Quantile of the normal distribution that leaves a tenth beyond it.
const TENTH: f64 = 1.281_551_565_545;
/// Chances are held this far from nought and one before log-odds are taken.
const EDGE: f64 = 1e-12;

/// One figure and what it does to a cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Matters {
    /// Position in [`Ranges::figures`].
    pub figure: usize,
    /// Natural log-odds of the cause moved by one spread of the figure upward.
    pub moves: f64,
    /// Part of the variance of the log-odds that comes from it, a fraction.
    pub share: f64,
}

/// The range of one cause.
#[derive(Debug, Clone, PartialEq)]
pub struct CauseRange {
    /// The cause.
    pub place: FaultPlace,
    /// Chance, a fraction.
    pub chance: f64,
    /// Lower end of the 80 % range.
    pub low: f64,
    /// Upper end of the 80 % range.
    pub high: f64,
    /// Natural log-odds moved by one spread of each figure upward.
    pub moves: Vec<f64>,
}

/// Ranges of all causes of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranges {
    /// The figures.
    pub figures: Vec<Figure>,
    /// The causes, in reading order.
    pub causes: Vec<CauseRange>,
}

impl CauseRange {
    /// Standard deviation of the natural log-odds.
    #[must_use]
    pub fn deviation(&self) -> f64 {
        self.moves.iter().map(|m| m * m).sum::<f64>().sqrt()
    }

    /// The figures that matter most, the first most, at most so many.
    #[must_use]
    pub fn matter_most(&self, most: usize) -> Vec<Matters> {
        let variance = self.moves.iter().map(|m| m * m).sum::<f64>();
        let moved = self.moves.iter().enumerate();
        let mut list = moved
            .filter(|(_, m)| **m != 0.0)
            .map(|(figure, m)| Matters {
                figure,
                moves: *m,
                share: m * m / variance,
            })
            .collect::<Vec<_>>();
        list.sort_by(|a, b| b.share.total_cmp(&a.share));
        list.truncate(most);
        list
    }
}

impl Ranges {
    /// Puts the ends of the ranges beside the chances of a ranking.
    pub fn put_into(&self, ranking: &mut Ranking) {
        for cause in &mut ranking.causes {
            let range = self.causes.iter().find(|r| {
                let place = &r.place;
                place.part == cause.part
                    && place.fault == cause.fault
                    && place.cylinder == cause.cylinder
            });
            cause.low = range.map(|r| r.low);
            cause.high = range.map(|r| r.high);
        }
    }

    /// The range of a cause.
    #[must_use]
    pub fn of(&self, place: &FaultPlace) -> Option<&CauseRange> {
        self.causes.iter().find(|c| c.place == *place)
    }
}

/// Ranges of all causes.
///
/// # Errors
/// When the network is too wide or nothing explains what was seen.
pub fn ranges(
    knowledge: &Knowledge,
    job: &Job,
    evidence: &Evidence,
) -> Result<Ranges, DiagnosisError> {
    let mut figures = figures(knowledge, job, evidence);
    let base = tables(evidence);
    let mut moves = moves(knowledge, job, &figures, &base);
    // What moves nothing is not listed.
    let still = |list: &[super::moves::Move]| {
        list.iter().all(|m| {
            m.figures.is_empty() && m.inputs.is_empty() && m.log_scale == 0.0 && m.log_weight == 0.0
        })
    };
    let mut keep = moves
        .iter()
        .map(|list| !still(list))
        .collect::<Vec<_>>()
        .into_iter();
    figures.retain(|_| keep.next().unwrap_or(false));
    moves.retain(|list| !still(list));
    let places = places(evidence);
    let slopes = slopes(evidence, &places, &moves)?;
    let causes = places.into_iter().enumerate();
    let causes = causes.map(|(at, place)| range(at, place, &slopes, figures.len()));
    Ok(Ranges {
        causes: causes.collect(),
        figures,
    })
}

/// Faults of all cases, each once; wear of a set is not a cause.
pub(super) fn places(evidence: &Evidence) -> Vec<FaultPlace> {
    let mut places: Vec<FaultPlace> = Vec::new();
    for case in &evidence.cases {
        for fault in case.model.faults.iter().filter(|f| !f.wear_only) {
            let place = FaultPlace {
                part: fault.part.clone(),
                fault: fault.fault.clone(),
                cylinder: fault.cylinder,
            };
            if !places.contains(&place) {
                places.push(place);
            }
        }
    }
    places
}

fn range(at: usize, place: FaultPlace, cases: &[CaseSlopes], figures: usize) -> CauseRange {
    let most = cases
        .iter()
        .map(|c| c.all.0)
        .fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = cases.iter().map(|c| (c.all.0 - most).exp()).sum();
    // Parts of the whole, without and with the cause, and their derivatives.
    let mut with = 0.0;
    let mut all_moves = vec![0.0; figures];
    let mut with_moves = vec![0.0; figures];
    for case in cases {
        let part = (case.all.0 - most).exp() / total;
        for (sum, slope) in all_moves.iter_mut().zip(&case.all.1) {
            *sum += part * slope;
        }
        if let Some((log, slopes)) = &case.causes[at] {
            let part = (log - most).exp() / total;
            with += part;
            for (sum, slope) in with_moves.iter_mut().zip(slopes) {
                *sum += part * slope;
            }
        }
    }
    let chance = with.clamp(EDGE, 1.0 - EDGE);
    let moves = with_moves.iter().zip(&all_moves);
    let moves = moves.map(|(w, a)| w / chance - (a - w) / (1.0 - chance));
    let moves = moves.collect::<Vec<_>>();
    let reach = TENTH * moves.iter().map(|m| m * m).sum::<f64>().sqrt();
    let odds = (chance / (1.0 - chance)).ln();
    let logistic = |x: f64| 1.0 / (1.0 + (-x).exp());
    CauseRange {
        place,
        chance,
        low: logistic(odds - reach),
        high: logistic(odds + reach),
        moves,
    }
}
