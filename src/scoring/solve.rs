//! Chances of the causes of many jobs.
//!
//! Likelihoods on the same variables are multiplied into one slot, so that the class of a job
//! depends on what was looked at and not on how often. The answers are those of the ranking of
//! a single job (to rounding) and do not depend on which jobs are solved together. Must not
//! score.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use super::apart;
use crate::evidence::{Case, EvidenceError, gather};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::network::{CompileError, KernelError, Pool, PoolBatch, PoolError, Ticket, VarId};

/// Tries of the search for an order, as for a single job.
const RESTARTS: usize = 4;
/// Table entries above which a job is reckoned by itself, so that several at a time stay within
/// some tens of megabytes.
pub const WIDEST: f64 = 2e6;

/// Why a job has no chances.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SolveError {
    /// Its network cannot be built.
    #[error(transparent)]
    Evidence(#[from] EvidenceError),
    /// Exact work would be too wide.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// The kernel refused, or nothing explains what was seen.
    #[error(transparent)]
    Kernel(#[from] KernelError),
}

impl From<PoolError> for SolveError {
    fn from(error: PoolError) -> Self {
        match error {
            PoolError::Compile(error) => error.into(),
            PoolError::Kernel(error) => error.into(),
        }
    }
}

impl SolveError {
    /// A word for the flags of a scored line.
    #[must_use]
    pub fn flag(&self) -> &'static str {
        match self {
            SolveError::Evidence(_) => "no_network",
            SolveError::Compile(_) => "too_wide",
            SolveError::Kernel(KernelError::Impossible) => "impossible",
            SolveError::Kernel(_) => "not_reckoned",
        }
    }
}

/// Chances of all causes of one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// Natural logarithm of the chance of everything seen and read, the complaint included.
    pub log_evidence: f64,
    /// Cause and chance, a fraction, in reading order; wear of a set is no cause.
    pub chances: Vec<(Arc<str>, f64)>,
}

/// One kind of engine a job may be about, ready to run.
struct Ready {
    weight: f64,
    ticket: Ticket,
    /// Cause, query, state.
    places: Vec<(Arc<str>, usize, usize)>,
}

/// Solves jobs over one set of figures.
#[derive(Debug)]
pub struct Solver<'k> {
    knowledge: &'k Knowledge,
    pool: Pool,
    /// Each cause once.
    names: Mutex<BTreeMap<String, Arc<str>>>,
}

impl<'k> Solver<'k> {
    /// A solver that keeps at most `most_bytes` of programs between batches and reckons jobs that
    /// need more than `widest` table entries one by one.
    #[must_use]
    pub fn new(knowledge: &'k Knowledge, most_bytes: usize, widest: f64) -> Self {
        Self {
            knowledge,
            pool: Pool::new(most_bytes, widest),
            names: Mutex::default(),
        }
    }

    /// Programs made so far, those dropped and made again counted each time.
    #[must_use]
    pub fn made(&self) -> u64 {
        self.pool.made()
    }

    /// Chances for each job, in their order. Entries that must not count are already taken out.
    #[must_use]
    pub fn solve(&self, jobs: &[&Job]) -> Vec<Result<Solved, SolveError>> {
        let batch = self.pool.batch();
        let prepared = jobs
            .par_iter()
            .map(|job| self.prepare(job, &batch))
            .collect::<Vec<_>>();
        let cases = prepared.iter().flatten().flatten();
        let answers = batch.run(cases.map(|r| r.ticket.clone()).collect());
        let mut answers = answers.into_iter();
        let mut one = |prepared: Result<Vec<Ready>, SolveError>| {
            let ready = prepared?;
            let answers = ready.into_iter().zip(answers.by_ref()).collect::<Vec<_>>();
            mixed(answers.into_iter().map(|(ready, answer)| {
                let solved = answer.map(|answer| Solved {
                    log_evidence: answer.log_evidence,
                    chances: ready
                        .places
                        .into_iter()
                        .map(|(id, q, s)| (id, answer.chances[q][s]))
                        .collect(),
                });
                (ready.weight, solved.map_err(SolveError::from))
            }))
        };
        let mut solved = prepared.into_iter().map(&mut one).collect::<Vec<_>>();
        // One after another, each on all threads: they are the ones that need memory.
        for (solved, job) in solved.iter_mut().zip(jobs) {
            if matches!(solved, Err(SolveError::Compile(_))) {
                *solved = apart::solve(self.knowledge, job);
            }
        }
        solved
    }

    fn prepare(&self, job: &Job, batch: &PoolBatch<'_>) -> Result<Vec<Ready>, SolveError> {
        let evidence = gather(self.knowledge, job)?;
        let cases = evidence.cases.into_iter().map(|case| {
            let queries = case
                .model
                .parts_now()
                .into_iter()
                .map(|p| vec![p])
                .collect();
            let (request, lane) = case.merged_request(queries, RESTARTS);
            let place = |v: VarId| request.queries.iter().position(|q| q[0] == v);
            let found = causes_of(&case).into_iter();
            let mut names = self.names.lock().unwrap_or_else(PoisonError::into_inner);
            let mut name = |id: String| match names.get(&id) {
                Some(name) => Arc::clone(name),
                None => Arc::clone(names.entry(id.clone()).or_insert(id.into())),
            };
            let places = found.filter_map(|(id, v, s)| Some((name(id), place(v)?, s)));
            let places = places.collect();
            drop(names);
            Ready {
                weight: case.weight,
                ticket: batch.take(case.model.network, request, lane),
                places,
            }
        });
        Ok(cases.collect())
    }
}

/// Causes of a case with their variables now and states.
fn causes_of(case: &Case) -> Vec<(String, VarId, usize)> {
    let faults = case.model.faults.iter().filter(|f| !f.wear_only);
    faults
        .map(|f| (f.id(), case.model.now_of(f), f.state))
        .collect()
}

/// One answer from those of all kinds of engine a job may be about.
fn mixed(
    cases: impl ExactSizeIterator<Item = (f64, Result<Solved, SolveError>)>,
) -> Result<Solved, SolveError> {
    let several = cases.len() > 1;
    let mut good = Vec::new();
    for (weight, result) in cases {
        match result {
            Ok(solved) => good.push((weight, solved)),
            // A kind on which this cannot be seen is ruled out, the others are not.
            Err(SolveError::Kernel(KernelError::Impossible)) if several => {}
            Err(error) => return Err(error),
        }
    }
    if !several && let Some((_, solved)) = good.pop() {
        return Ok(solved);
    }
    if good.is_empty() {
        return Err(KernelError::Impossible.into());
    }
    let logs = good.iter().map(|g| g.1.log_evidence);
    let most = logs.fold(f64::NEG_INFINITY, f64::max);
    let share = |g: &(f64, Solved)| g.0 * (g.1.log_evidence - most).exp();
    let total: f64 = good.iter().map(share).sum();
    let mut order: Vec<Arc<str>> = Vec::new();
    let mut sums: BTreeMap<Arc<str>, f64> = BTreeMap::new();
    for case in &good {
        for (id, chance) in &case.1.chances {
            let sum = sums.entry(Arc::clone(id)).or_insert_with(|| {
                order.push(Arc::clone(id));
                0.0
            });
            *sum += share(case) / total * chance;
        }
    }
    let chances = order.into_iter().map(|id| {
        let sum = sums[&id];
        (id, sum)
    });
    Ok(Solved {
        log_evidence: most + total.ln(),
        chances: chances.collect(),
    })
}
