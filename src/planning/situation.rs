//! Where a job stands: belief, readings taken, repairs done, access open.
//!
//! Moves a situation forward by one reading or one failed repair. Must not choose moves.

use super::advice::Action;
use super::tables::Tables;

/// Reading code: not taken yet.
pub(super) const NOT_TAKEN: u8 = 0;
/// Reading code: may not be taken again. Otherwise a code is 1 + the first outcome.
pub(super) const USED_UP: u8 = u8::MAX;

/// A point in a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Situation {
    /// Weight of each state, summing to one.
    pub(super) belief: Vec<f64>,
    /// One code a check.
    pub(super) readings: Vec<u8>,
    /// Whether each repair was done.
    pub(super) repaired: Vec<bool>,
    /// Groups open, as bits.
    pub(super) open: u64,
}

impl Situation {
    /// The beginning of a job.
    pub fn start(tables: &Tables) -> Situation {
        Situation {
            belief: tables.weight.clone(),
            readings: vec![NOT_TAKEN; tables.checks()],
            repaired: vec![false; tables.repairs()],
            open: tables.open_now,
        }
    }

    /// The same job with other weights, one a hypothesis: what if this were known, or this
    /// reading had come. `None` unless there is one a hypothesis, none negative, and some
    /// weight at all.
    pub fn with_weights(&self, weights: &[f64]) -> Option<Situation> {
        let total: f64 = weights.iter().sum();
        let usable = weights.iter().all(|w| *w >= 0.0) && total > 0.0 && total.is_finite();
        (usable && weights.len() == self.belief.len()).then(|| Situation {
            belief: weights.iter().map(|w| w / total).collect(),
            ..self.clone()
        })
    }

    /// Chance of each hypothesis, `[hypothesis]`, summing to one.
    pub fn chances(&self) -> &[f64] {
        &self.belief
    }

    /// Minutes a move costs now, access, run-up check and expected damage counted.
    /// `None` when it cannot be made (done already, no such move).
    pub fn cost(&self, tables: &Tables, action: Action) -> Option<f64> {
        match action {
            Action::Check(c) => {
                let minutes = check_minutes(tables, c, *self.readings.get(c)?)?;
                let opening = tables.opening(tables.check_access[c], self.open);
                Some(minutes + opening + tables.damage(c, &self.belief))
            }
            Action::Repair(r) => {
                let opening = tables.opening(*tables.repair_access.get(r)?, self.open);
                (!self.repaired[r]).then_some(tables.repair_minutes[r] + opening)
            }
            Action::HandOver => Some(tables.hand_over),
        }
    }

    /// Chance of an outcome and the situation after it; `None` when it cannot happen.
    pub fn after_check(
        &self,
        tables: &Tables,
        check: usize,
        outcome: usize,
    ) -> Option<(f64, Situation)> {
        let code = *self.readings.get(check)?;
        check_minutes(tables, check, code)?;
        if outcome >= tables.outcomes[check] {
            return None;
        }
        let mut next = self.clone();
        let belief = &mut next.belief;
        let chance = tables.observe(check, outcome, first_reading(code), &self.belief, belief);
        if chance <= 0.0 {
            return None;
        }
        belief.iter_mut().for_each(|b| *b /= chance);
        next.readings[check] = next_code(tables, check, code, outcome);
        next.open = open_after_check(tables, check, self.open);
        Some((chance, next))
    }

    /// Chance that a repair makes the engine right, and the situation when it does not
    /// (`None` when it surely does, or cannot be done).
    pub fn after_repair(&self, tables: &Tables, repair: usize) -> (f64, Option<Situation>) {
        if self.repaired.get(repair).is_none_or(|&done| done) {
            return (0.0, None);
        }
        let mut next = self.clone();
        let right = tables.repair(repair, &mut next.belief).0.min(1.0);
        let left: f64 = next.belief.iter().sum();
        if left <= NEGLIGIBLE {
            return (1.0, None);
        }
        next.belief.iter_mut().for_each(|b| *b /= left);
        next.repaired[repair] = true;
        next.open = open_after_repair(tables, repair, self.open);
        (right, Some(next))
    }
}

/// Mass below which a branch is rounding error: doubles carry sixteen digits.
pub(super) const NEGLIGIBLE: f64 = 1e-14;

/// Minutes of the next reading of a check without access, or `None` when there is none.
pub(super) fn check_minutes(tables: &Tables, check: usize, code: u8) -> Option<f64> {
    match code {
        NOT_TAKEN => Some(tables.check_minutes[check]),
        USED_UP => None,
        _ => Some(tables.repeat_minutes[check]),
    }
}

/// First outcome, when the next reading is a repeat.
pub(super) fn first_reading(code: u8) -> Option<usize> {
    (code != NOT_TAKEN && code != USED_UP).then(|| usize::from(code) - 1)
}

/// Code after a reading.
pub(super) fn next_code(tables: &Tables, check: usize, code: u8, outcome: usize) -> u8 {
    if code == NOT_TAKEN && tables.max_times[check] > 1 {
        // Outcomes are at most `MAX_OUTCOMES`, so this never reaches `USED_UP`.
        outcome as u8 + 1
    } else {
        USED_UP
    }
}

/// Groups open after a reading.
pub(super) fn open_after_check(tables: &Tables, check: usize, open: u64) -> u64 {
    (open | tables.check_access[check]) & !tables.check_closes[check]
}

/// Groups open after a repair and its run-up check.
pub(super) fn open_after_repair(tables: &Tables, repair: usize, open: u64) -> u64 {
    (open | tables.repair_access[repair]) & tables.stays
}
