//! Chances of the causes of many jobs: jobs of one structure and class of evidence share a
//! program, those that share figures too run side by side.
//!
//! Likelihoods on the same variables are multiplied into one slot, so that the class of a job
//! depends on what was looked at and not on how often. The answers are those of the ranking of
//! a single job (to rounding) and do not depend on which jobs are solved together, or on
//! threads. Must not score.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use super::shape_key::ShapeKey;
use crate::evidence::{Case, EvidenceError, gather};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::network::{
    CompileError, KernelError, Lane, Network, Program, Request, Seen, Slot, VarId,
};

/// Tries of the search for an order, as for a single job.
const RESTARTS: usize = 4;

/// Table entries above which a job is passed over as too wide, so that several at a time stay
/// within some tens of megabytes.
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
    pub chances: Vec<(String, f64)>,
}

/// One kind of engine a job may be about, ready to run.
struct Ready {
    job: usize,
    weight: f64,
    key: ShapeKey,
    figures: ShapeKey,
    lane: Lane,
    /// Cause, query, state.
    places: Vec<(String, usize, usize)>,
}

/// Networks and figures of a batch, each once: a job keeps only what is its own.
#[derive(Default)]
struct Shared {
    recipes: Mutex<BTreeMap<ShapeKey, Recipe>>,
    figures: Mutex<BTreeMap<ShapeKey, Vec<f64>>>,
}

impl Shared {
    fn keep(&self, ready: &Ready, figures: Vec<f64>, recipe: impl FnOnce() -> Recipe) {
        let mut recipes = self.recipes.lock().unwrap_or_else(PoisonError::into_inner);
        recipes.entry(ready.key).or_insert_with(recipe);
        drop(recipes);
        let mut known = self.figures.lock().unwrap_or_else(PoisonError::into_inner);
        known.entry(ready.figures).or_insert(figures);
    }
}

fn own<T>(shared: Mutex<T>) -> T {
    shared.into_inner().unwrap_or_else(PoisonError::into_inner)
}

/// What a program is made of.
struct Recipe {
    network: Network,
    request: Request,
}

struct Kept {
    program: Arc<Program>,
    bytes: usize,
    used: u64,
}

#[derive(Default)]
struct Cache {
    kept: BTreeMap<ShapeKey, Kept>,
    bytes: usize,
    clock: u64,
    made: u64,
}

/// Solves jobs over one set of figures.
pub struct Solver<'k> {
    knowledge: &'k Knowledge,
    most_bytes: usize,
    widest: f64,
    cache: Mutex<Cache>,
}

impl<'k> Solver<'k> {
    /// A solver that keeps at most `most_bytes` of programs between batches and passes over jobs
    /// that need more than `widest` table entries.
    #[must_use]
    pub fn new(knowledge: &'k Knowledge, most_bytes: usize, widest: f64) -> Self {
        Self {
            knowledge,
            most_bytes,
            widest,
            cache: Mutex::new(Cache::default()),
        }
    }

    /// Programs made so far, those dropped and made again counted each time.
    #[must_use]
    pub fn made(&self) -> u64 {
        self.lock().made
    }

    /// Chances for each job, in their order. Entries that must not count are already taken out.
    #[must_use]
    pub fn solve(&self, jobs: &[&Job]) -> Vec<Result<Solved, SolveError>> {
        let shared = Shared::default();
        let prepared = jobs
            .par_iter()
            .enumerate()
            .map(|(at, job)| self.prepare(at, job, &shared))
            .collect::<Vec<_>>();
        let mut failed: BTreeMap<usize, SolveError> = BTreeMap::new();
        let mut groups: BTreeMap<ShapeKey, Vec<Ready>> = BTreeMap::new();
        for (at, result) in prepared.into_iter().enumerate() {
            match result {
                Err(error) => drop(failed.insert(at, error)),
                Ok(cases) => {
                    for ready in cases {
                        groups.entry(ready.key).or_default().push(ready);
                    }
                }
            }
        }
        let recipes = own(shared.recipes);
        let figures = own(shared.figures);
        let groups = groups.into_iter().collect::<Vec<_>>();
        let answers = groups
            .par_iter()
            .flat_map_iter(|(key, cases)| self.group(*key, &recipes[key], &figures, cases))
            .collect::<Vec<_>>();
        let mut by_job: BTreeMap<usize, Vec<CaseAnswer>> = BTreeMap::new();
        for answer in answers {
            by_job.entry(answer.job).or_default().push(answer);
        }
        (0..jobs.len())
            .map(|at| match failed.remove(&at) {
                Some(error) => Err(error),
                None => mixed(by_job.remove(&at).unwrap_or_default()),
            })
            .collect()
    }

    fn prepare(&self, at: usize, job: &Job, shared: &Shared) -> Result<Vec<Ready>, SolveError> {
        let evidence = gather(self.knowledge, job)?;
        let cases = evidence.cases.into_iter().map(|case| {
            let (request, lane) = request(&case);
            let figures = case.model.network.figures();
            let key = ShapeKey::new(&case.model.network, &figures, &request);
            let place = |v: VarId| request.queries.iter().position(|q| q[0] == v);
            let found = causes_of(&case).into_iter();
            let places = found.filter_map(|(id, v, s)| Some((id, place(v)?, s)));
            let ready = Ready {
                job: at,
                weight: case.weight,
                key,
                figures: ShapeKey::of_figures(&figures),
                lane,
                places: places.collect(),
            };
            shared.keep(&ready, figures, || Recipe {
                network: case.model.network,
                request,
            });
            ready
        });
        Ok(cases.collect())
    }

    /// Runs the cases of one structure and class.
    fn group(
        &self,
        key: ShapeKey,
        recipe: &Recipe,
        figures: &BTreeMap<ShapeKey, Vec<f64>>,
        cases: &[Ready],
    ) -> Vec<CaseAnswer> {
        let fail = |cases: &[&Ready], error: &SolveError| {
            let answer = |c: &&Ready| CaseAnswer::failed(c, error.clone());
            cases.iter().map(answer).collect::<Vec<_>>()
        };
        let program = match self.program(key, recipe) {
            Ok(program) => program,
            Err(error) => return fail(&cases.iter().collect::<Vec<_>>(), &error.into()),
        };
        let mut by_figures: BTreeMap<ShapeKey, Vec<&Ready>> = BTreeMap::new();
        for case in cases {
            by_figures.entry(case.figures).or_default().push(case);
        }
        let mut answers = Vec::with_capacity(cases.len());
        for (set, cases) in by_figures {
            let bound = match program.bind(&figures[&set]) {
                Ok(bound) => bound,
                Err(error) => {
                    answers.extend(fail(&cases, &error.into()));
                    continue;
                }
            };
            let lanes = cases.iter().map(|c| c.lane.clone()).collect::<Vec<_>>();
            for (case, answer) in cases.iter().zip(program.run(&bound, &lanes)) {
                answers.push(match answer {
                    Err(error) => CaseAnswer::failed(case, error.into()),
                    Ok(answer) => CaseAnswer {
                        job: case.job,
                        weight: case.weight,
                        result: Ok(Solved {
                            log_evidence: answer.log_evidence,
                            chances: case
                                .places
                                .iter()
                                .map(|(id, q, s)| (id.clone(), answer.chances[*q][*s]))
                                .collect(),
                        }),
                    },
                });
            }
        }
        answers
    }

    fn program(&self, key: ShapeKey, recipe: &Recipe) -> Result<Arc<Program>, CompileError> {
        {
            let mut cache = self.lock();
            cache.clock += 1;
            let now = cache.clock;
            if let Some(kept) = cache.kept.get_mut(&key) {
                kept.used = now;
                return Ok(Arc::clone(&kept.program));
            }
        }
        let program = Arc::new(Program::compile_within(
            &recipe.network,
            &recipe.request,
            self.widest,
        )?);
        let bytes = program.bytes();
        let mut cache = self.lock();
        cache.made += 1;
        if bytes <= self.most_bytes {
            while cache.bytes + bytes > self.most_bytes {
                let oldest = cache.kept.iter().min_by_key(|(_, k)| k.used);
                let Some(oldest) = oldest.map(|(k, _)| *k) else {
                    break;
                };
                let gone = cache.kept.remove(&oldest).map_or(0, |k| k.bytes);
                cache.bytes -= gone;
            }
            let used = cache.clock;
            let kept = Kept {
                program: Arc::clone(&program),
                bytes,
                used,
            };
            if let Some(before) = cache.kept.insert(key, kept) {
                cache.bytes -= before.bytes;
            }
            cache.bytes += bytes;
        }
        Ok(program)
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Cache> {
        self.cache.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

struct CaseAnswer {
    job: usize,
    weight: f64,
    result: Result<Solved, SolveError>,
}

impl CaseAnswer {
    fn failed(case: &Ready, error: SolveError) -> Self {
        Self {
            job: case.job,
            weight: case.weight,
            result: Err(error),
        }
    }
}

/// Parts asked for and evidence, likelihoods on the same variables multiplied into one slot.
fn request(case: &Case) -> (Request, Lane) {
    let queries = case
        .model
        .parts_now()
        .into_iter()
        .map(|p| vec![p])
        .collect();
    let (all, lane) = case.request(queries, RESTARTS, |_| true);
    let network = &case.model.network;
    let mut soft: BTreeMap<Vec<VarId>, Vec<f64>> = BTreeMap::new();
    let mut other = Vec::new();
    let mut inputs = lane.inputs.as_slice();
    for slot in all.slots {
        let count = match slot.seen {
            Seen::Hard(_) => 0,
            Seen::Mostly(_) => 2,
            Seen::Soft => slot.scope.iter().map(|v| network.size(*v)).product(),
        };
        let (own, rest) = inputs.split_at(count.min(inputs.len()));
        inputs = rest;
        if slot.seen == Seen::Soft {
            let values = soft.entry(slot.scope).or_insert_with(|| vec![1.0; count]);
            values.iter_mut().zip(own).for_each(|(v, o)| *v *= o);
        } else {
            other.push((slot, own.to_vec()));
        }
    }
    other.sort_by(|a, b| a.0.cmp(&b.0));
    let soft = soft.into_iter().map(|(scope, values)| {
        let seen = Seen::Soft;
        (Slot { scope, seen }, values)
    });
    let (slots, inputs): (Vec<_>, Vec<_>) = other.into_iter().chain(soft).unzip();
    let request = Request {
        slots,
        queries: all.queries,
        restarts: RESTARTS,
    };
    let lane = Lane {
        inputs: inputs.concat(),
        log_scale: lane.log_scale,
    };
    (request, lane)
}

/// Causes of a case with their variables now and states.
fn causes_of(case: &Case) -> Vec<(String, VarId, usize)> {
    let faults = case.model.faults.iter().filter(|f| !f.wear_only);
    faults
        .map(|f| (f.id(), case.model.now_of(f), f.state))
        .collect()
}

/// One answer from those of all kinds of engine a job may be about.
fn mixed(cases: Vec<CaseAnswer>) -> Result<Solved, SolveError> {
    let several = cases.len() > 1;
    let mut good = Vec::new();
    for case in cases {
        match case.result {
            Ok(solved) => good.push((case.weight, solved)),
            // A kind on which this cannot be seen is ruled out, the others are not.
            Err(SolveError::Kernel(KernelError::Impossible)) if several => {}
            Err(error) => return Err(error),
        }
    }
    if !several && let Some((_, solved)) = good.pop() {
        return Ok(solved);
    }
    let most = good
        .iter()
        .map(|g| g.1.log_evidence)
        .fold(f64::NEG_INFINITY, f64::max);
    if good.is_empty() {
        return Err(KernelError::Impossible.into());
    }
    let share = |g: &(f64, Solved)| g.0 * (g.1.log_evidence - most).exp();
    let total: f64 = good.iter().map(share).sum();
    let mut order: Vec<String> = Vec::new();
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for case in &good {
        for (id, chance) in &case.1.chances {
            let sum = sums.entry(id.clone()).or_insert_with(|| {
                order.push(id.clone());
                0.0
            });
            *sum += share(case) / total * chance;
        }
    }
    Ok(Solved {
        log_evidence: most + total.ln(),
        chances: order
            .into_iter()
            .map(|id| (id.clone(), sums[&id]))
            .collect(),
    })
}

impl std::fmt::Debug for Solver<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Solver")
            .field("made", &self.made())
            .finish_non_exhaustive()
    }
}
