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
//! # How it looks ahead
//!
//! Acting in order (the *tail*) has an exact cost. A check is worth what it lowers that
//! cost by, in expectation over its outcomes, with the best that can be done after each:
//! two moves deep for all that promise anything, three for the checks behind one cover and
//! for moves that are nearly equal. The expected total of a move is that of a plan that can
//! be carried out; following the planner, which looks again after each finding, costs that
//! or less. [`policy_cost`] says what it really costs, [`solve_exact`] what the best would.
//!
//! ```
//! use hardstart::planning::{Action, Leaf, Planner, Settings, Situation, Tables};
//!
//! // Two equally likely faults; a sure check for 5 minutes; repairs of 60 minutes each.
//! let problem = hardstart::planning::problem_from_json(
//!     r#"{"model": "single",
//!         "faults": [{"name": "a", "prior": 0.5}, {"name": "b", "prior": 0.5}],
//!         "tests": [{"name": "look", "cost": 5, "lik": [[1, 0], [0, 1]]}],
//!         "repairs": [{"name": "mend a", "cost": 60, "fix": [1, 0]},
//!                     {"name": "mend b", "cost": 60, "fix": [0, 1]}],
//!         "groups": [], "verify_cost": 0, "call_cost": 1000}"#,
//! )?;
//! let tables = Tables::new(&problem)?;
//! let planner = Planner::new(&tables, Settings::default(), Leaf::default());
//! let advice = planner.advise(&Situation::start(&tables));
//! assert_eq!(advice.best(), Action::Check(0));
//! assert_eq!(advice.moves[0].expected_total, 65.0); // look, then mend the right one
//! assert_eq!(advice.act_now_total, 90.0); // mend one, and half the time the other too
//! # Ok::<(), hardstart::planning::ProblemError>(())
//! ```
//!
//! # Reading order
//!
//! `problem` (what the caller fills in) → `problem_json` → `tables` (the same, flat) →
//! `tail` (what acting without checks costs) → `leaf`, `search` (lookahead) → `planner`
//! (the public entrance) and `advice` (its answer) → `exact` (the optimum, for small
//! problems) → `follow` (what the planner really costs) → `choose` → `policy` → `generator`.
//!
//! **Invariant.** This room knows nothing about parts or engines.

mod advice;
pub mod bench;
mod candidate;
mod choose;
mod error;
mod exact;
mod follow;
mod generator;
mod generator_listed;
mod json_object;
mod json_once;
mod json_read;
mod json_write;
mod leaf;
mod planner;
mod policy;
mod problem;
mod problem_json;
mod search;
mod settings;
mod situation;
mod states;
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
pub use planner::Planner;
pub use policy::{Policy, move_id, solve};
pub use problem::{Check, Fault, Group, Hypotheses, Hypothesis, Outcomes, Problem, Repair};
pub use problem_json::{problem_from_json, problem_to_json};
pub use settings::Settings;
pub use situation::Situation;
pub use tables::Tables;
pub use tree::{Branch, PlanNode};
pub use validate::MAX_INDEPENDENT_FAULTS;
