//! Many networks of few structures: those alike share a program, those with the same figures too
//! run side by side.
//!
//! A program is a function of the structure and the class of evidence, so neither what else is
//! in a batch, nor what was dropped from the cache, nor the number of threads changes an answer.
//! Must not know what variables mean.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rayon::prelude::*;

use super::compile::{CompileError, Program, Request};
use super::kernel::{Answers, KernelError, Lane};
use super::shape_key::ShapeKey;
use super::shelf::Shelf;
use super::variable::Network;

/// Why a lane has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PoolError {
    /// Exact work would be too wide.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// The kernel refused, or the evidence cannot be.
    #[error(transparent)]
    Kernel(#[from] KernelError),
}

/// Programs by structure and class of evidence, the longest unused dropped first.
pub struct Pool {
    widest: f64,
    shelf: Shelf,
}

/// A network, a class of evidence and a lane, taken into a batch.
#[derive(Debug, Clone)]
pub struct Ticket {
    key: ShapeKey,
    figures: ShapeKey,
    lane: Lane,
}

struct Recipe {
    network: Network,
    request: Request,
}

/// Lanes to be answered together; holds each structure and each set of figures once.
pub struct PoolBatch<'p> {
    pool: &'p Pool,
    recipes: Mutex<BTreeMap<ShapeKey, Recipe>>,
    figures: Mutex<BTreeMap<ShapeKey, Vec<f64>>>,
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn own<T>(mutex: Mutex<T>) -> T {
    mutex.into_inner().unwrap_or_else(PoisonError::into_inner)
}

impl Pool {
    /// A pool that keeps at most `most_bytes` of programs between batches and refuses those that
    /// need more than `widest` table entries.
    #[must_use]
    pub fn new(most_bytes: usize, widest: f64) -> Self {
        Self {
            widest,
            shelf: Shelf::packing(most_bytes),
        }
    }

    /// An empty batch.
    #[must_use]
    pub fn batch(&self) -> PoolBatch<'_> {
        PoolBatch {
            pool: self,
            recipes: Mutex::default(),
            figures: Mutex::default(),
        }
    }

    /// Programs made so far, those dropped and made again counted each time.
    #[must_use]
    pub fn made(&self) -> u64 {
        self.shelf.made()
    }

    fn program(&self, key: ShapeKey, recipe: &Recipe) -> Result<Arc<Program>, CompileError> {
        let make = || Program::compile_alike(&recipe.network, &recipe.request, self.widest);
        self.shelf.get(key, make)
    }
}

impl PoolBatch<'_> {
    /// Takes a lane in; may be called from many threads.
    #[must_use]
    pub fn take(&self, network: Network, request: Request, lane: Lane) -> Ticket {
        let figures = network.figures();
        let key = ShapeKey::new(&network, &figures, &request);
        let set = ShapeKey::of_figures(&figures);
        let recipe = || Recipe { network, request };
        lock(&self.recipes).entry(key).or_insert_with(recipe);
        lock(&self.figures).entry(set).or_insert(figures);
        Ticket {
            key,
            figures: set,
            lane,
        }
    }

    /// Answers of the tickets, in their order.
    #[must_use]
    pub fn run(self, tickets: Vec<Ticket>) -> Vec<Result<Answers, PoolError>> {
        let recipes = own(self.recipes);
        let figures = own(self.figures);
        let mut groups: BTreeMap<ShapeKey, Vec<(usize, Ticket)>> = BTreeMap::new();
        let n = tickets.len();
        for (at, ticket) in tickets.into_iter().enumerate() {
            groups.entry(ticket.key).or_default().push((at, ticket));
        }
        let groups = groups.into_iter().collect::<Vec<_>>();
        let pool = self.pool;
        let answers = groups
            .into_par_iter()
            .flat_map_iter(|(key, tickets)| group(pool, key, &recipes[&key], &figures, tickets))
            .collect::<Vec<_>>();
        let mut ordered = vec![Err(KernelError::Impossible.into()); n];
        for (at, answer) in answers {
            ordered[at] = answer;
        }
        ordered
    }
}

type Answered = (usize, Result<Answers, PoolError>);

/// Runs the lanes of one structure and class.
fn group(
    pool: &Pool,
    key: ShapeKey,
    recipe: &Recipe,
    figures: &BTreeMap<ShapeKey, Vec<f64>>,
    tickets: Vec<(usize, Ticket)>,
) -> Vec<Answered> {
    let program = match pool.program(key, recipe) {
        Ok(program) => program,
        Err(error) => {
            let error = PoolError::from(error);
            return tickets.iter().map(|t| (t.0, Err(error.clone()))).collect();
        }
    };
    let mut sets: BTreeMap<ShapeKey, (Vec<usize>, Vec<Lane>)> = BTreeMap::new();
    for (at, ticket) in tickets {
        let set = sets.entry(ticket.figures).or_default();
        set.0.push(at);
        set.1.push(ticket.lane);
    }
    let mut answered = Vec::new();
    for (set, (places, lanes)) in sets {
        match program.bind(&figures[&set]) {
            Err(error) => {
                let error = PoolError::from(error);
                answered.extend(places.iter().map(|at| (*at, Err(error.clone()))));
            }
            Ok(bound) => {
                let answers = program.run(&bound, &lanes).into_iter();
                let answers = answers.map(|a| a.map_err(PoolError::from));
                answered.extend(places.into_iter().zip(answers));
            }
        }
    }
    answered
}

impl std::fmt::Debug for Pool {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Pool")
            .field("made", &self.made())
            .finish_non_exhaustive()
    }
}
