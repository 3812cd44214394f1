//! What following the planner to the end of the job really costs.
//!
//! Exactly, over all outcomes, or by simulation where that is too much. Not the planner's
//! own estimate: its lookahead may be too hopeful or too gloomy. Must not choose moves.

use std::collections::HashMap;

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::advice::Action;
use super::error::ProblemError;
use super::planner::Planner;
use super::situation::Situation;
use super::trace::{Key, Trace};

/// Exact expected minutes of following `planner` from `start` to the end.
///
/// # Errors
/// [`ProblemError::TooLarge`] when more than `limit` situations are met.
pub fn policy_cost(
    planner: &Planner,
    start: &Situation,
    limit: usize,
) -> Result<f64, ProblemError> {
    let mut memo = HashMap::new();
    cost(planner, &Trace::new(start.clone()), limit, &mut memo)
}

fn cost(
    planner: &Planner,
    trace: &Trace,
    limit: usize,
    memo: &mut HashMap<Key, f64>,
) -> Result<f64, ProblemError> {
    let key = trace.key();
    if let Some(&known) = memo.get(&key) {
        return Ok(known);
    }
    if memo.len() >= limit {
        return Err(ProblemError::TooLarge { limit });
    }
    let t = planner.tables();
    let action = planner.decide(&trace.situation);
    let mut total = trace.situation.cost(t, action).unwrap_or(f64::INFINITY);
    match action {
        Action::HandOver => {}
        Action::Repair(r) => {
            let (right, next) = trace.repair(t, r);
            if let Some(next) = next {
                total += (1.0 - right) * cost(planner, &next, limit, memo)?;
            }
        }
        Action::Check(c) => {
            for o in 0..t.outcomes[c] {
                if let Some((chance, next)) = trace.check(t, c, o) {
                    total += chance * cost(planner, &next, limit, memo)?;
                }
            }
        }
    }
    memo.insert(key, total);
    Ok(total)
}

/// Mean minutes of following `planner` over `runs` simulated jobs, and its standard error.
/// The same seed gives the same jobs' random numbers whatever the planner does.
pub fn simulate_cost(planner: &Planner, start: &Situation, runs: usize, seed: u64) -> (f64, f64) {
    let (mut sum, mut squares) = (0.0, 0.0);
    for run in 0..runs {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(run as u64);
        let minutes = one_job(planner, start.clone(), &mut rng);
        sum += minutes;
        squares += minutes * minutes;
    }
    let n = runs.max(1) as f64;
    let mean = sum / n;
    let variance = (squares / n - mean * mean).max(0.0) * n / (n - 1.0).max(1.0);
    (mean, (variance / n).sqrt())
}

/// Outcomes are drawn from the belief: over jobs that is the same as drawing the fault
/// first, and needs no second copy of the rules.
fn one_job(planner: &Planner, mut situation: Situation, rng: &mut impl Rng) -> f64 {
    let t = planner.tables();
    let mut minutes = 0.0;
    loop {
        let action = planner.decide(&situation);
        minutes += situation.cost(t, action).unwrap_or(f64::INFINITY);
        let mut draw: f64 = rng.random();
        match action {
            Action::HandOver => return minutes,
            Action::Repair(r) => match situation.after_repair(t, r) {
                (right, Some(next)) if draw >= right => situation = next,
                _ => return minutes,
            },
            Action::Check(c) => {
                let mut last = None;
                for o in 0..t.outcomes[c] {
                    if let Some((chance, next)) = situation.after_check(t, c, o) {
                        last = Some(next);
                        draw -= chance;
                        if draw < 0.0 {
                            break;
                        }
                    }
                }
                match last {
                    Some(next) => situation = next,
                    None => return minutes,
                }
            }
        }
    }
}
