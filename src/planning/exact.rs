//! The optimum, by dynamic programming over the situations that can be reached.
//!
//! For small problems only: it is the oracle the planner is judged against. Moves that
//! cannot beat the best so far, even if the fault were known, are not followed; that
//! changes no result. Must not use the planner or its tail.

use std::collections::HashMap;

use super::advice::Action;
use super::error::ProblemError;
use super::situation::Situation;
use super::sums::dot;
use super::tables::Tables;
use super::trace::{Key, Trace};

/// An optimum.
#[derive(Debug, Clone, PartialEq)]
pub struct ExactSolution {
    /// Least expected minutes to the end of the job.
    pub minutes: f64,
    /// Expected minutes when this move is made first and the best ones after it; every
    /// possible move, hand-over first, then repairs, then checks.
    pub first_moves: Vec<(Action, f64)>,
    /// Situations solved.
    pub situations: usize,
}

/// Repairs are kept as bits of one word.
const MAX_REPAIRS: usize = 128;

/// Solves a problem exactly from `start`.
///
/// # Errors
/// [`ProblemError::TooLarge`] when more than `limit` situations are reachable (or there
/// are more than 128 repairs).
pub fn solve_exact(
    tables: &Tables,
    start: &Situation,
    limit: usize,
) -> Result<ExactSolution, ProblemError> {
    if tables.repairs() > MAX_REPAIRS {
        return Err(ProblemError::TooLarge { limit });
    }
    let mut solver = Solver {
        tables,
        limit,
        memo: HashMap::new(),
    };
    let trace = Trace::new(start.clone());
    let mut first_moves = Vec::new();
    for action in solver.actions() {
        if let Some(minutes) = solver.value_of(&trace, action, f64::INFINITY)? {
            first_moves.push((action, minutes));
        }
    }
    let least = first_moves
        .iter()
        .map(|m| m.1)
        .fold(f64::INFINITY, f64::min);
    Ok(ExactSolution {
        minutes: least,
        first_moves,
        situations: solver.memo.len(),
    })
}

struct Solver<'a> {
    tables: &'a Tables,
    limit: usize,
    memo: HashMap<Key, f64>,
}

impl Solver<'_> {
    fn actions(&self) -> Vec<Action> {
        let repairs = (0..self.tables.repairs()).map(Action::Repair);
        let checks = (0..self.tables.checks()).map(Action::Check);
        std::iter::once(Action::HandOver)
            .chain(repairs)
            .chain(checks)
            .collect()
    }

    fn value(&mut self, trace: &Trace) -> Result<f64, ProblemError> {
        let key = trace.key();
        if let Some(&known) = self.memo.get(&key) {
            return Ok(known);
        }
        if self.memo.len() >= self.limit {
            return Err(ProblemError::TooLarge { limit: self.limit });
        }
        let mut best = f64::INFINITY;
        for action in self.actions() {
            if let Some(minutes) = self.value_of(trace, action, best)? {
                best = best.min(minutes);
            }
        }
        self.memo.insert(key, best);
        Ok(best)
    }

    /// Value of a move, or `None` when it cannot be made or surely costs `bound` or more.
    fn value_of(
        &mut self,
        trace: &Trace,
        action: Action,
        bound: f64,
    ) -> Result<Option<f64>, ProblemError> {
        let t = self.tables;
        let Some(mut total) = trace.situation.cost(t, action) else {
            return Ok(None);
        };
        // Knowing the fault would still cost this much: the floor is linear in the belief,
        // so it is the same before and after any reading.
        let mut remaining = match action {
            Action::Check(_) => dot(&t.floor, &trace.situation.belief),
            _ => 0.0,
        };
        if total + remaining >= bound {
            return Ok(None);
        }
        match action {
            Action::HandOver => {}
            Action::Repair(r) => {
                // A repair that changes nothing only costs; skipping it at inner
                // situations keeps the state space small.
                let changes = t.repair_effect(r, &trace.situation.belief).1 > 0.0;
                if !changes && bound.is_finite() {
                    return Ok(None);
                }
                let (right, next) = trace.repair(t, r);
                if let Some(next) = next {
                    let left = 1.0 - right;
                    if total + left * dot(&t.floor, &next.situation.belief) >= bound {
                        return Ok(None);
                    }
                    total += left * self.value(&next)?;
                }
            }
            Action::Check(c) => {
                for o in 0..t.outcomes[c] {
                    if let Some((chance, next)) = trace.check(t, c, o) {
                        remaining -= chance * dot(&t.floor, &next.situation.belief);
                        total += chance * self.value(&next)?;
                        if total + remaining.max(0.0) >= bound {
                            return Ok(None);
                        }
                    }
                }
            }
        }
        Ok(Some(total))
    }
}
