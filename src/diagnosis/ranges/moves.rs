//! What a small move of each figure does to every table and likelihood of a job.
//!
//! The figure is moved up and down by a thousandth of its spread, the job's networks are built
//! again, and the difference is taken: whatever way a figure takes into the tables, it is followed.
//! Rows, leaks and links enter tables linearly, so what is left of higher order is below a
//! millionth. Must not know the kernel.

use rayon::prelude::*;

use super::cells::cells;
use super::figure::Figure;
use crate::evidence::{Evidence, gather};
use crate::job::Job;
use crate::knowledge::Knowledge;

/// Part of a spread by which a figure is moved.
const STEP: f64 = 1e-3;

/// The numbers of one case that a figure may move.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tables {
    pub figures: Vec<f64>,
    pub inputs: Vec<f64>,
    pub log_scale: f64,
    pub log_weight: f64,
}

/// Numbers of every case.
pub(super) fn tables(evidence: &Evidence) -> Vec<Tables> {
    let one = |case: &crate::evidence::Case| {
        let (_, lane) = case.request(Vec::new(), 0, |_| true);
        Tables {
            figures: case.model.network.figures(),
            inputs: lane.inputs,
            log_scale: lane.log_scale,
            log_weight: case.weight.ln(),
        }
    };
    evidence.cases.iter().map(one).collect()
}

/// Derivatives of the numbers of one case by one figure, in spreads of it.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Move {
    pub figures: Vec<(u32, f64)>,
    pub inputs: Vec<(u32, f64)>,
    pub log_scale: f64,
    pub log_weight: f64,
}

/// The evidence with one figure moved by so many of its spreads; the knowledge is as before
/// afterwards. `None` where nothing can be built.
pub(super) fn moved(
    knowledge: &mut Knowledge,
    job: &Job,
    figure: &Figure,
    spreads: f64,
) -> Option<Evidence> {
    let found = cells(knowledge, &figure.place)?;
    let kept = found.kept();
    let mut z = vec![0.0; found.values().len()];
    *z.get_mut(figure.at)? = spreads * figure.spread;
    found.shift(&z);
    let evidence = gather(knowledge, job).ok();
    cells(knowledge, &figure.place)?.put_back(&kept);
    evidence
}

/// Moves of every figure, `[figure][case]`.
pub(super) fn moves(
    knowledge: &Knowledge,
    job: &Job,
    figures: &[Figure],
    base: &[Tables],
) -> Vec<Vec<Move>> {
    figures
        .par_iter()
        .map_init(
            || knowledge.clone(),
            |own, figure| {
                let mut at = |spreads: f64| moved(own, job, figure, spreads).map(|e| tables(&e));
                match (at(STEP), at(-STEP)) {
                    (Some(up), Some(down))
                        if up.len() == base.len() && down.len() == base.len() =>
                    {
                        let pairs = up.iter().zip(&down).zip(base);
                        pairs
                            .map(|((up, down), base)| slope(up, down, base))
                            .collect()
                    }
                    _ => vec![Move::default(); base.len()],
                }
            },
        )
        .collect()
}

fn slope(up: &Tables, down: &Tables, base: &Tables) -> Move {
    let same = |a: &[f64], b: &[f64], c: &[f64]| a.len() == b.len() && a.len() == c.len();
    if !same(&up.figures, &down.figures, &base.figures)
        || !same(&up.inputs, &down.inputs, &base.inputs)
    {
        return Move::default();
    }
    let by = 0.5 / STEP;
    let list = |up: &[f64], down: &[f64]| {
        let pairs = up.iter().zip(down).zip(0..);
        let moved = pairs.filter(|((u, d), _)| u != d);
        moved.map(|((u, d), at)| (at, (u - d) * by)).collect()
    };
    Move {
        figures: list(&up.figures, &down.figures),
        inputs: list(&up.inputs, &down.inputs),
        log_scale: (up.log_scale - down.log_scale) * by,
        log_weight: (up.log_weight - down.log_weight) * by,
    }
}
