//! A stated problem solved: what following the planner really costs, beside the least there is.
//!
//! Must not read or word anything.

use super::advice::Action;
use super::choose::choose_leaf;
use super::error::ProblemError;
use super::exact::solve_exact;
use super::follow::policy_cost;
use super::planner::Planner;
use super::problem::Problem;
use super::settings::Settings;
use super::situation::Situation;
use super::tables::Tables;

/// Situations up to which the planner is followed to the end (own judgement: some seconds).
const FOLLOWED: usize = 200_000;
/// Situations up to which the optimum is looked for too (own judgement: some seconds).
const SOLVED: usize = 200_000;

/// The planner on one problem. Every figure in the unit of the problem's costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Exact expected cost of doing what the planner says until the end, over all outcomes.
    pub policy_cost: f64,
    /// Least expected cost of any plan; `None` where the problem is too large to solve exactly.
    pub optimum: Option<f64>,
    /// First moves with the total the planner expects when each comes first, best first.
    pub moves: Vec<(Action, f64)>,
}

/// Solves a problem, with the leaf that serves it best.
///
/// # Errors
/// When the problem does not hold together, or is too large to be followed to the end.
pub fn solve(problem: &Problem) -> Result<Policy, ProblemError> {
    let tables = Tables::new(problem)?;
    let start = Situation::start(&tables);
    let settings = Settings::default();
    let (leaf, _) = choose_leaf(&tables, &settings);
    let planner = Planner::new(&tables, settings, leaf);
    let cost = policy_cost(&planner, &start, FOLLOWED)?;
    let moves = planner.advise(&start).moves;
    Ok(Policy {
        policy_cost: cost,
        optimum: solve_exact(&tables, &start, SOLVED).ok().map(|s| s.minutes),
        moves: moves.iter().map(|m| (m.action, m.expected_total)).collect(),
    })
}

/// Name of a move as in files: `test:NAME`, `repair:NAME`, `call`.
#[must_use]
pub fn move_id(problem: &Problem, action: Action) -> String {
    match action {
        Action::HandOver => "call".to_owned(),
        Action::Repair(r) => format!("repair:{}", problem.repairs[r].name),
        Action::Check(c) => format!("test:{}", problem.checks[c].name),
    }
}
