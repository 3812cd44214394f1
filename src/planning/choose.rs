//! Which leaf serves a problem best, measured by following the planner.
//!
//! Must not change settings other than the leaf.

use super::follow::{policy_cost, simulate_cost};
use super::leaf::Leaf;
use super::planner::Planner;
use super::settings::Settings;
use super::situation::Situation;
use super::tables::Tables;

/// Situations up to which a policy is followed exactly (own judgement: a second or so).
const EXACT_LIMIT: usize = 3_000;
/// Hypotheses x checks x repairs up to which following exactly is tried (own judgement:
/// beyond, the policy alone has more situations than the limit above).
const EXACT_SIZE: usize = 5_000;
/// Simulated jobs a leaf where following exactly is too much (own judgement: the hopeful
/// leaves go wrong by far more than the standard error of so many).
const RUNS: usize = 60;
/// Seed of those jobs; fixed, so that the same problem gets the same leaf.
const SEED: u64 = 20_260_301;
/// Shares tried for the interpolated leaf.
const SHARES: [f64; 3] = [0.25, 0.5, 0.75];
/// Minutes a bit tried for the entropy leaf, as multiples of the mean check.
const PER_BIT: [f64; 2] = [0.5, 1.0];

/// The leaf whose planner costs least on this problem, and that cost in expected minutes.
///
/// Repair-only is kept unless another is cheaper by more than rounding, so acting without
/// checks never beats the choice. Followed exactly where small, else simulated with a fixed
/// seed: then it takes as long as some thousand decisions (minutes, for a job of real
/// size), so it is for tuning, not for every answer.
pub fn choose_leaf(tables: &Tables, settings: &Settings) -> (Leaf, f64) {
    let start = Situation::start(tables);
    let checks = tables.checks().max(1) as f64;
    let mean_check = tables.check_minutes.iter().sum::<f64>() / checks;
    let shares = SHARES.iter().map(|&share| Leaf::Interpolated { share });
    let bits = PER_BIT.iter().map(|f| Leaf::Entropy {
        minutes_per_bit: f * mean_check,
    });
    let small = tables.states * tables.checks() * tables.repairs() <= EXACT_SIZE;
    let limit = if small { EXACT_LIMIT } else { 0 };
    let cost = |leaf: Leaf| {
        let planner = Planner::new(tables, settings.clone(), leaf);
        policy_cost(&planner, &start, limit)
            .unwrap_or_else(|_| simulate_cost(&planner, &start, RUNS, SEED).0)
    };
    let mut best = (Leaf::RepairOnly, cost(Leaf::RepairOnly));
    for leaf in shares.chain(bits) {
        let now = cost(leaf);
        if now < best.1 * (1.0 - 1e-12) {
            best = (leaf, now);
        }
    }
    best
}
