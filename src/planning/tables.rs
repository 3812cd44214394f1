//! The problem as flat arrays, ready for search: the one general form of all models.
//!
//! A *state* is a hypothesis: the set of faults present now. A belief is a vector of
//! weights over states and need not sum to one: every value here is "expected minutes
//! times mass", so nothing is normalised in the inner loops. Axis order: state last.
//! Must not search.

use super::error::ProblemError;
use super::problem::Problem;
use super::states::{Effects, floors, push_likelihood, sorted_sets, state_sets, touch};
use super::sums::weigh;
use super::validate::validate;

/// What a repair does to one state.
#[derive(Debug, Clone, Copy)]
pub(super) struct Touched {
    /// State before.
    pub from: u32,
    /// Chance that nothing is removed.
    pub keep: f64,
    /// Chance that no fault is left.
    pub right: f64,
    /// Range of [`Tables::edges`] with the other states it may leave.
    pub edges: (u32, u32),
}

/// Flat arrays of a [`Problem`].
#[derive(Debug, Clone)]
pub struct Tables {
    /// Number of states.
    pub(super) states: usize,
    /// Starting weights, `[state]`, summing to one.
    pub(super) weight: Vec<f64>,
    /// Whether some state has two faults or more: only then can a repair change a state
    /// without making the engine right.
    pub(super) several: bool,
    /// 1 for states of one fault at most, else 0, `[state]`.
    pub(super) single: Vec<f64>,
    /// Chances of each repair to make a state right, with every state.
    pub(super) rights: Effects,
    /// Chances of each repair to change a state at all.
    pub(super) changes: Effects,
    pub(super) check_minutes: Vec<f64>,
    pub(super) repeat_minutes: Vec<f64>,
    pub(super) max_times: Vec<u8>,
    pub(super) persist: Vec<f64>,
    pub(super) check_access: Vec<u64>,
    pub(super) check_closes: Vec<u64>,
    pub(super) check_risk: Vec<Vec<f64>>,
    pub(super) outcomes: Vec<usize>,
    /// Start of each check's block of `likelihood`.
    pub(super) block: Vec<usize>,
    /// `[check][outcome][state]`.
    pub(super) likelihood: Vec<f64>,
    /// Minutes of each repair with its run-up check, access not counted.
    pub(super) repair_minutes: Vec<f64>,
    /// The same with the groups that cannot stay open, which every repair behind them pays.
    pub(super) repair_alone: Vec<f64>,
    /// Groups the repair and its run-up check need.
    pub(super) repair_access: Vec<u64>,
    /// States each repair touches, fewest faults first (so it can be applied in place).
    pub(super) touched: Vec<Vec<Touched>>,
    /// Targets of partial repairs: state and chance.
    pub(super) edges: Vec<(u32, f64)>,
    pub(super) open_minutes: Vec<f64>,
    /// Groups that stay open over a run-up check.
    pub(super) stays: u64,
    pub(super) open_now: u64,
    pub(super) hand_over: f64,
    /// Least minutes knowing the state, access left out: a lower bound, `[state]`.
    pub(super) floor: Vec<f64>,
}

impl Tables {
    /// Flattens a problem.
    ///
    /// # Errors
    /// [`ProblemError::Fields`] naming every figure that cannot be used.
    pub fn new(problem: &Problem) -> Result<Tables, ProblemError> {
        validate(problem)?;
        let (sets, mut weight) = state_sets(problem);
        let total: f64 = weight.iter().sum();
        weight.iter_mut().for_each(|w| *w /= total);
        let states = sets.len();
        let mut block = Vec::with_capacity(problem.checks.len());
        let mut likelihood = Vec::new();
        let mut outcomes = Vec::with_capacity(problem.checks.len());
        for c in &problem.checks {
            block.push(likelihood.len());
            outcomes.push(push_likelihood(&mut likelihood, &c.outcomes, &sets));
        }
        let mut edges = Vec::new();
        let by_set = sorted_sets(&sets);
        let several = sets.iter().any(|s| s.len() > 1);
        let touched: Vec<Vec<Touched>> = problem
            .repairs
            .iter()
            .map(|r| touch(&sets, &by_set, &r.fix, &mut edges))
            .collect();
        let verify = mask(&problem.verify_access);
        let stays = problem.groups.iter().enumerate();
        let checks = &problem.checks;
        let repairs = &problem.repairs;
        let fixes: Vec<(f64, &[f64])> = repairs
            .iter()
            .map(|r| (r.minutes + problem.verify_minutes, r.fix.as_slice()))
            .collect();
        let mut tables = Tables {
            states,
            weight,
            several,
            single: sets
                .iter()
                .map(|s| if s.len() > 1 { 0.0 } else { 1.0 })
                .collect(),
            rights: Effects::new(&touched, |t| t.right),
            changes: Effects::new(&touched, |t| 1.0 - t.keep),
            check_minutes: checks.iter().map(|c| c.minutes).collect(),
            repeat_minutes: checks.iter().map(|c| c.repeat_minutes).collect(),
            max_times: checks.iter().map(|c| c.max_times).collect(),
            persist: checks.iter().map(|c| c.persist).collect(),
            check_access: checks.iter().map(|c| mask(&c.access)).collect(),
            check_closes: checks.iter().map(|c| mask(&c.closes)).collect(),
            check_risk: checks.iter().map(|c| c.risk.clone()).collect(),
            outcomes,
            block,
            likelihood,
            repair_minutes: fixes.iter().map(|f| f.0).collect(),
            repair_alone: Vec::new(),
            repair_access: repairs.iter().map(|r| mask(&r.access) | verify).collect(),
            touched,
            edges,
            open_minutes: problem.groups.iter().map(|g| g.open_minutes).collect(),
            stays: stays.fold(0, |m, (i, g)| m | (u64::from(g.stays_open) << i)),
            open_now: mask(&problem.open_now),
            hand_over: problem.hand_over_minutes,
            floor: floors(
                &sets,
                problem.faults.len(),
                &fixes,
                problem.hand_over_minutes,
            ),
        };
        let alone = |r| {
            let closed = tables.repair_access[r] & !tables.stays;
            tables.repair_minutes[r] + tables.opening(closed, 0)
        };
        tables.repair_alone = (0..tables.repairs()).map(alone).collect();
        Ok(tables)
    }

    /// Number of checks.
    pub(super) fn checks(&self) -> usize {
        self.check_minutes.len()
    }

    /// Number of repairs.
    pub(super) fn repairs(&self) -> usize {
        self.repair_minutes.len()
    }

    /// Row of chances of one outcome, `[state]`.
    pub(super) fn row(&self, check: usize, outcome: usize) -> &[f64] {
        let start = self.block[check] + outcome * self.states;
        &self.likelihood[start..start + self.states]
    }

    /// Minutes to open those of `needed` that are not open.
    pub(super) fn opening(&self, needed: u64, open: u64) -> f64 {
        let mut closed = needed & !open;
        let mut minutes = 0.0;
        while closed != 0 {
            minutes += self.open_minutes[closed.trailing_zeros() as usize];
            closed &= closed - 1;
        }
        minutes
    }

    /// Belief after an outcome; `first` is the first reading when this one is a repeat.
    /// Returns its mass.
    ///
    /// # Formula
    /// `P(o | first, s) = persist [o = first] + (1 - persist) P(o | s)`.
    pub(super) fn observe(
        &self,
        check: usize,
        outcome: usize,
        first: Option<usize>,
        belief: &[f64],
        after: &mut [f64],
    ) -> f64 {
        let row = self.row(check, outcome);
        let (copied, fresh) = match first {
            None => (0.0, 1.0),
            Some(o) => {
                let rho = self.persist[check];
                (if o == outcome { rho } else { 0.0 }, 1.0 - rho)
            }
        };
        weigh(belief, row, (copied, fresh), after)
    }

    /// Does a repair that turns out not to make the engine right: what is left of the
    /// belief. Returns the mass that became right, and the mass that changed at all.
    pub(super) fn repair(&self, repair: usize, belief: &mut [f64]) -> (f64, f64) {
        let (mut right, mut changed) = (0.0, 0.0);
        for t in &self.touched[repair] {
            let b = belief[t.from as usize];
            if b == 0.0 {
                continue;
            }
            right += b * t.right;
            changed += b * (1.0 - t.keep);
            belief[t.from as usize] = b * t.keep;
            for &(to, p) in &self.edges[t.edges.0 as usize..t.edges.1 as usize] {
                belief[to as usize] += b * p;
            }
        }
        (right, changed)
    }

    /// Mass a repair makes right, and mass it changes at all.
    pub(super) fn repair_effect(&self, repair: usize, belief: &[f64]) -> (f64, f64) {
        let (mut right, mut changed) = (0.0, 0.0);
        for t in &self.touched[repair] {
            let b = belief[t.from as usize];
            right += b * t.right;
            changed += b * (1.0 - t.keep);
        }
        (right, changed)
    }

    /// Expected damage of a check.
    pub(super) fn damage(&self, check: usize, belief: &[f64]) -> f64 {
        let risk = &self.check_risk[check];
        risk.iter().zip(belief).map(|(r, b)| r * b).sum()
    }
}

fn mask(groups: &[usize]) -> u64 {
    groups.iter().fold(0, |m, g| m | (1u64 << g))
}
