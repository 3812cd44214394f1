//! Chances with all figures drawn at random about where they stand: what the ranges are checked
//! against. Every draw builds the job's networks anew; nothing is linear here.
//!
//! Must not be used where an answer is waited for.

use std::collections::BTreeMap;

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal};

use super::super::DiagnosisError;
use super::super::reckoner::FaultPlace;
use super::cells::{Place, cells};
use super::figure::Figure;
use crate::evidence::{Evidence, gather};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::network::{Bound, Lane, Program};

/// Tries of the search for an order.
const RESTARTS: usize = 4;

/// Chances of one draw, in the order of the causes.
pub type Drawn = Vec<f64>;

/// Programs of a job's cases, made once; figures are inputs of them.
pub(super) struct Panel {
    programs: Vec<Program>,
    causes: Vec<FaultPlace>,
}

impl Panel {
    pub fn new(evidence: &Evidence, causes: Vec<FaultPlace>) -> Result<Self, DiagnosisError> {
        let one = |case: &crate::evidence::Case| {
            let parts = case
                .model
                .parts_now()
                .into_iter()
                .map(|p| vec![p])
                .collect();
            let (request, _) = case.request(parts, RESTARTS, |_| true);
            Program::compile(&case.model.network, &request)
        };
        let programs = evidence.cases.iter().map(one).collect::<Result<_, _>>()?;
        Ok(Self { programs, causes })
    }

    /// Chance of each cause on evidence gathered with other figures; `None` where the structure
    /// is another or nothing explains what was seen.
    pub fn chances(&self, evidence: &Evidence) -> Option<Vec<f64>> {
        let mut parts = Vec::new();
        for (case, program) in evidence.cases.iter().zip(&self.programs) {
            let (_, lane): (_, Lane) = case.request(Vec::new(), 0, |_| true);
            let bound: Bound = program.bind(&case.model.network.figures()).ok()?;
            let answer = program.run(&bound, &[lane]).pop()?.ok();
            parts.push(answer.map(|a| (a.log_evidence + case.weight.ln(), a.chances)));
        }
        let logs = parts.iter().flatten().map(|p| p.0);
        let most = logs.fold(f64::NEG_INFINITY, f64::max);
        let mut chances = vec![0.0; self.causes.len()];
        let mut total = 0.0;
        for (case, part) in evidence.cases.iter().zip(&parts) {
            let Some((log, answers)) = part else {
                continue;
            };
            let weight = (log - most).exp();
            total += weight;
            let order = case.model.parts_now();
            for (chance, cause) in chances.iter_mut().zip(&self.causes) {
                if let Some((v, s)) = cause.find(case)
                    && let Ok(at) = order.binary_search(&v)
                {
                    *chance += weight * answers[at][s];
                }
            }
        }
        (total > 0.0).then(|| chances.into_iter().map(|c| c / total).collect())
    }
}

/// So many draws of the chances of some causes, with the figures of the ranges.
///
/// # Errors
/// When the network is too wide.
pub fn draws(
    knowledge: &Knowledge,
    job: &Job,
    evidence: &Evidence,
    (figures, causes): (&[Figure], &[FaultPlace]),
    count: usize,
    seed: u64,
) -> Result<Vec<Drawn>, DiagnosisError> {
    let panel = Panel::new(evidence, causes.to_vec())?;
    let normal = Normal::standard();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let sets = (0..count).map(|_| {
        let uniform = |random: &mut ChaCha8Rng| {
            use rand::RngExt;
            random.random_range(f64::EPSILON..1.0)
        };
        let z = figures
            .iter()
            .map(|f| normal.inverse_cdf(uniform(&mut random)) * f.spread);
        z.collect::<Vec<_>>()
    });
    let sets = sets.collect::<Vec<_>>();
    let drawn = sets.par_iter().map(|z| {
        let mut own = knowledge.clone();
        let mut rows: BTreeMap<&Place, Vec<(usize, f64)>> = BTreeMap::new();
        for (figure, z) in figures.iter().zip(z) {
            rows.entry(&figure.place).or_default().push((figure.at, *z));
        }
        for (place, moves) in rows {
            let found = cells(&mut own, place)?;
            let mut row = vec![0.0; found.values().len()];
            for (at, z) in moves {
                *row.get_mut(at)? = z;
            }
            found.shift(&row);
        }
        let evidence = gather(&own, job).ok()?;
        panel.chances(&evidence)
    });
    Ok(drawn.collect::<Vec<_>>().into_iter().flatten().collect())
}
