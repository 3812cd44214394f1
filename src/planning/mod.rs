//! Test-and-repair problems: which check or repair next, and when to stop checking.
//!
//! # The objective
//!
//! **Least expected minutes until a repair is proven, or the job is handed over.** Nothing
//! else is optimised: not certainty, not information. A check is worth doing only if what
//! it may show changes what is done afterwards by more minutes than it costs. Costs may be
//! minutes or money, but one unit throughout; names here say minutes.
//!
//! # The problem
//!
//! A [`Problem`] has *hypotheses* (each a set of faults that may be present, with a
//! weight), *checks* (a cost and, given the hypothesis, the chance of each outcome),
//! *repairs* (a cost and the chance of removing each fault), *access groups* (a price paid
//! when opened, kept while open) and a price for handing the job over. After each repair a
//! run-up check tells without error whether the engine is right: the job ends when no
//! fault is left. A soak is an access group too: "cold" is open now, a check that warms
//! the engine closes it, and opening it again costs a night.
//!
//! # Reading order
//!
//! `problem` (what the caller fills in) → `problem_json` → `tables` (the same, flat) →
//! `tail` (what acting without checks costs) → `leaf`, `search` (lookahead) → `planner`
//! (the public entrance) and `advice` (its answer) → `exact` (the optimum, for small
//! problems) → `follow` (what the planner really costs) → `choose` → `generator`.
//!
//! **Invariant.** This room knows nothing about parts or engines.

mod advice;
mod choose;
mod error;
mod exact;
mod follow;
mod generator;
mod generator_listed;
mod json_read;
mod json_write;
mod leaf;
mod planner;
mod problem;
mod problem_json;
mod search;
mod situation;
mod sums;
mod tables;
mod tail;
mod trace;
mod tree;
mod validate;

pub use advice::{Action, Advice, Move, MoveOutcome};
pub use choose::choose_leaf;
pub use error::{FieldProblem, ProblemError};
pub use exact::{ExactSolution, solve_exact};
pub use follow::{policy_cost, simulate_cost};
pub use generator::{GeneratorLimits, random_problem};
pub use generator_listed::{ListedSize, random_listed_problem};
pub use leaf::Leaf;
pub use planner::{Planner, Settings};
pub use problem::{Check, Fault, Group, Hypotheses, Hypothesis, Outcomes, Problem, Repair};
pub use problem_json::{problem_from_json, problem_to_json};
pub use situation::Situation;
pub use tables::Tables;
pub use tree::{Branch, PlanNode};
