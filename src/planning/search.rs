//! Lookahead with exact expectation over outcomes.
//!
//! `value(level, plies)` is the least expected minutes (times mass) of a belief, looking
//! `plies` moves ahead; the leaf values what lies beyond. Two bounds skip work without
//! changing a result: a move whose own cost plus the floor of the belief already reaches
//! the best so far is not followed, nor are its later outcomes. Nothing is allocated per
//! call once the levels exist. Must not build answers for callers: `planner` does.

use std::collections::BTreeMap;

use super::advice::Action;
use super::leaf::Leaf;
use super::situation::{
    NEGLIGIBLE, Situation, check_minutes, first_reading, next_code, open_after_check,
    open_after_repair,
};
use super::sums::{dot, sum};
use super::tables::Tables;
use super::tail::Tail;

/// One level of the lookahead: a belief and the repairs worth trying from it.
#[derive(Debug, Clone, Default)]
struct Level {
    belief: Vec<f64>,
    repairs: Vec<usize>,
}

/// Moves on the way from the root, with their outcomes, and the groups that are open.
type Way = (Vec<(Action, usize)>, u64);

/// The state of a search from one situation.
#[derive(Debug, Clone)]
pub(super) struct Search<'a> {
    tables: &'a Tables,
    leaf: Leaf,
    /// Minutes when the state is known, `[state]`: the tail on that state alone.
    known: &'a [f64],
    levels: Vec<Level>,
    readings: Vec<u8>,
    repaired: Vec<bool>,
    tail: Tail,
    /// Checks considered below the first move.
    beam: Vec<usize>,
    /// Repairs considered as a move of their own below the first move; acting in order is
    /// always considered.
    repair_beam: usize,
    /// Moves from the root to here, with their outcomes.
    path: Vec<(Action, usize)>,
    /// Ends reached already, by moves: checks that follow each other lead to the same in any order.
    ends: BTreeMap<Way, (f64, Action)>,
    /// Whether ends are worth keeping: one ply down each is met once.
    keeps: bool,
}

impl<'a> Search<'a> {
    /// A search from `situation`.
    pub(super) fn new(
        tables: &'a Tables,
        leaf: Leaf,
        known: &'a [f64],
        situation: &Situation,
        repair_beam: usize,
    ) -> Search<'a> {
        let root = Level {
            belief: situation.belief.clone(),
            repairs: Vec::new(),
        };
        Search {
            tables,
            leaf,
            known,
            levels: vec![root],
            readings: situation.readings.clone(),
            repaired: situation.repaired.clone(),
            tail: Tail::default(),
            beam: Vec::new(),
            repair_beam,
            path: Vec::new(),
            ends: BTreeMap::new(),
            keeps: false,
        }
    }

    /// Sets which checks are looked at below the first move.
    pub(super) fn set_beam(&mut self, beam: &[usize]) {
        self.beam.clear();
        self.beam.extend_from_slice(beam);
    }

    /// Acting now without checks, from the root.
    pub(super) fn act_now(&mut self, open: u64) -> (f64, Action) {
        self.tail
            .run(self.tables, &self.levels[0].belief, &self.repaired, open)
    }

    /// Repairs in the order they would be done, as of the last [`Search::act_now`].
    pub(super) fn order(&self) -> &[usize] {
        &self.tail.order
    }

    /// Expected total of a check done first, with what each outcome leads to: outcome,
    /// chance, next move.
    pub(super) fn first_check(
        &mut self,
        check: usize,
        plies: usize,
        open: u64,
        leads: &mut Vec<(usize, f64, Action)>,
    ) -> f64 {
        leads.clear();
        self.begin(plies);
        self.check_value(0, check, plies, open, f64::INFINITY, Some(leads))
    }

    /// Expected total of a repair done first, its chance of making the engine right, and
    /// what comes next when it does not.
    pub(super) fn first_repair(
        &mut self,
        repair: usize,
        plies: usize,
        open: u64,
    ) -> (f64, f64, Option<Action>) {
        self.begin(plies);
        self.repair_value(0, repair, plies, open, f64::INFINITY)
    }

    /// Forgets what other first moves led to, so that each is valued as if it were alone.
    fn begin(&mut self, plies: usize) {
        self.ends.clear();
        self.keeps = plies > 2;
    }

    /// The moves to here, checks between two repairs in order of their number; readings of one
    /// check keep theirs.
    fn way(&self, open: u64) -> Way {
        let mut path = self.path.clone();
        for checks in path.split_mut(|(action, _)| !matches!(action, Action::Check(_))) {
            checks.sort_by_key(|(action, _)| *action);
        }
        (path, open)
    }

    /// What acting without further checks costs here.
    fn act(&mut self, level: usize, open: u64) -> (f64, Action) {
        let belief = &self.levels[level].belief;
        self.tail.run(self.tables, belief, &self.repaired, open)
    }

    fn end(&mut self, level: usize, open: u64) -> (f64, Action) {
        let way = self.keeps.then(|| self.way(open));
        if let Some(known) = way.as_ref().and_then(|w| self.ends.get(w)) {
            return *known;
        }
        let (acting, first) = self.act(level, open);
        let belief = &self.levels[level].belief;
        let known = dot(self.known, belief);
        let end = (self.leaf.value(acting, known, belief), first);
        if let Some(way) = way {
            self.ends.insert(way, end);
        }
        end
    }

    fn child(&mut self, level: usize) -> (&[f64], &mut Level) {
        if self.levels.len() == level + 1 {
            self.levels.push(Level::default());
        }
        let (above, below) = self.levels.split_at_mut(level + 1);
        let child = &mut below[0];
        child.belief.resize(self.tables.states, 0.0);
        (&above[level].belief, child)
    }

    fn value(&mut self, level: usize, plies: usize, open: u64) -> (f64, Action) {
        if plies == 0 {
            return self.end(level, open);
        }
        let tables = self.tables;
        let (acting, first) = self.act(level, open);
        let mut repairs = std::mem::take(&mut self.levels[level].repairs);
        repairs.clear();
        repairs.extend(self.tail.order.iter().take(self.repair_beam));
        let mut best = (acting, first);
        for i in 0..self.beam.len() {
            let check = self.beam[i];
            if check_minutes(tables, check, self.readings[check]).is_none() {
                continue;
            }
            let q = self.check_value(level, check, plies, open, best.0, None);
            if q < best.0 {
                best = (q, Action::Check(check));
            }
        }
        // With one ply a repair followed by a leaf says no more than acting in order.
        if plies > 1 || self.leaf != Leaf::RepairOnly {
            for &repair in &repairs {
                let (q, _, _) = self.repair_value(level, repair, plies, open, best.0);
                if q < best.0 {
                    best = (q, Action::Repair(repair));
                }
            }
        }
        self.levels[level].repairs = repairs;
        best
    }

    fn check_value(
        &mut self,
        level: usize,
        check: usize,
        plies: usize,
        open: u64,
        bound: f64,
        mut leads: Option<&mut Vec<(usize, f64, Action)>>,
    ) -> f64 {
        let tables = self.tables;
        let code = self.readings[check];
        let Some(minutes) = check_minutes(tables, check, code) else {
            return f64::INFINITY;
        };
        let belief = &self.levels[level].belief;
        let mass = sum(belief);
        let opening = tables.opening(tables.check_access[check], open);
        let mut total = (minutes + opening) * mass + tables.damage(check, belief);
        // What the outcomes not yet followed must cost at least.
        let mut remaining = dot(&tables.floor, belief);
        let after = open_after_check(tables, check, open);
        let first = first_reading(code);
        for outcome in 0..tables.outcomes[check] {
            if total + remaining >= bound {
                self.readings[check] = code;
                return f64::INFINITY;
            }
            let (belief, child) = self.child(level);
            let chance = tables.observe(check, outcome, first, belief, &mut child.belief);
            if chance <= NEGLIGIBLE * mass {
                continue;
            }
            remaining = (remaining - dot(&tables.floor, &child.belief)).max(0.0);
            self.readings[check] = next_code(tables, check, code, outcome);
            self.path.push((Action::Check(check), outcome));
            let (value, next) = self.value(level + 1, plies - 1, after);
            self.path.pop();
            total += value;
            if let Some(leads) = leads.as_deref_mut() {
                leads.push((outcome, chance / mass, next));
            }
        }
        self.readings[check] = code;
        total
    }

    fn repair_value(
        &mut self,
        level: usize,
        repair: usize,
        plies: usize,
        open: u64,
        bound: f64,
    ) -> (f64, f64, Option<Action>) {
        let tables = self.tables;
        let belief = &self.levels[level].belief;
        let mass = sum(belief);
        let opening = tables.opening(tables.repair_access[repair], open);
        let minutes = (tables.repair_minutes[repair] + opening) * mass;
        if self.repaired[repair] || minutes >= bound {
            return (f64::INFINITY, 0.0, None);
        }
        let (belief, child) = self.child(level);
        child.belief.copy_from_slice(belief);
        let (right, _) = tables.repair(repair, &mut child.belief);
        let left = sum(&child.belief);
        if left <= NEGLIGIBLE * mass {
            return (minutes, 1.0, None);
        }
        self.repaired[repair] = true;
        let after = open_after_repair(tables, repair, open);
        self.path.push((Action::Repair(repair), 0));
        let (value, next) = self.value(level + 1, plies - 1, after);
        self.path.pop();
        self.repaired[repair] = false;
        (minutes + value, right / mass, Some(next))
    }
}
