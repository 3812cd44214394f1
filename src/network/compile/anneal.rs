//! Makes a wide order narrower by moving its variables about.
//!
//! Simulated annealing (Kirkpatrick, Gelatt, Vecchi 1983): a variable is taken out of the order and
//! put in elsewhere, mostly near; a cheaper order is kept, a dearer one with a chance that falls with
//! its cost and with the time,
//!
//! ```text
//! cost of the tried order <= cost of the present one * (1 - T ln u),   u uniform,   T falling
//! ```
//! A greedy order ties what lies near; whether a count is better summed cylinder by cylinder or kept
//! apart until the signs are known is seen only by the cost of the whole. The same seed, the same
//! moves: nothing hangs on the clock. Must not look at figures, nor know what an order is for.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::order::Outline;

/// Seed of the moves; any number does, it only has to stay the same.
const SEED: u64 = 1983;
/// Share of its cost by which a dearer order may be dearer, at the outset and at the end. Tried: less
/// at the outset leaves wide orders wider.
const WARM: f64 = 0.15;
const COLD: f64 = 0.005;
/// Places that a near move goes at most.
const NEAR: usize = 12;
/// One move of so many goes anywhere. Tried: one of eight leaves a tenth more entries.
const FAR: usize = 3;
/// An order has to be cheaper than the best one by this to be laid as a whole.
const BETTER: f64 = 0.999;
/// What two running states cost that meet, or one before and after a parent spoke: three of four
/// pairs are there where a star has two states.
const RUNNING: f64 = 1.5;

/// Tables whose variables are summed out in a given order, the one that was laid last.
///
/// What is left when some variables are summed out does not hang on their order, so an order that
/// differs from the laid one in a stretch costs something else in that stretch only (but for what is
/// lost where a table with noughts fills up, which is seen when the whole is laid again).
#[derive(Debug, Clone)]
pub(super) struct Sums {
    words: usize,
    logs: Vec<f64>,
    /// Of each table its variables, the stars it ties a parent to, and its density: first those that
    /// are given, then what each step leaves, then what each step of a tried stretch would.
    sets: Vec<u64>,
    ties: Vec<u64>,
    density: Vec<f64>,
    /// Of each table the step that takes it.
    used: Vec<u32>,
    given: usize,
    steps: usize,
    /// Of each variable its place in the order, of each step its entries, and what they would be in a
    /// tried stretch.
    place: Vec<u32>,
    entries: Vec<f64>,
    tried: Vec<f64>,
    /// Tables there are before a tried stretch and the step that would take them.
    taken: Vec<(u32, u32)>,
    /// First table of each step, and of each table the next one of the same step.
    first: Vec<u32>,
    next: Vec<u32>,
}

/// No table, or no step.
const NONE: u32 = u32::MAX;

impl Sums {
    /// For orders of `steps` variables. `stars` are variables that stand for running states between
    /// the tables of two variables they are in.
    pub fn new(tables: &[Outline], sizes: &[usize], stars: &[u32], steps: usize) -> Self {
        let words = sizes.len().div_ceil(64);
        let set = |variables: &[u32]| {
            let mut set = vec![0_u64; words];
            for v in variables {
                set[*v as usize / 64] |= 1 << (v % 64);
            }
            set
        };
        let stars = set(stars);
        let tied = |t: &Outline| match t.scope.len() {
            2 => set(&t.scope)
                .iter()
                .zip(&stars)
                .map(|(s, z)| s & z)
                .collect(),
            _ => vec![0; words],
        };
        #[expect(clippy::cast_precision_loss, reason = "state counts are small")]
        let logs = sizes.iter().map(|s| (*s as f64).ln()).collect();
        let all = tables.len() + 2 * steps;
        let filled = |list: Vec<u64>| {
            let mut list = list;
            list.resize(all * words, 0);
            list
        };
        let mut density = tables
            .iter()
            .map(|t| t.density.min(0.0))
            .collect::<Vec<_>>();
        density.resize(all, 0.0);
        Self {
            words,
            logs,
            sets: filled(tables.iter().flat_map(|t| set(&t.scope)).collect()),
            ties: filled(tables.iter().flat_map(tied).collect()),
            density,
            used: vec![NONE; all],
            given: tables.len(),
            steps,
            place: vec![NONE; sizes.len()],
            entries: vec![0.0; steps],
            tried: vec![0.0; steps],
            taken: Vec::new(),
            first: vec![NONE; steps],
            next: vec![NONE; all],
        }
    }

    /// Lays an order; entries of all its steps, and of the largest.
    pub fn lay(&mut self, order: &[u32]) -> (f64, f64) {
        self.try_out(0, order);
        self.keep(0, order.len());
        let largest = self.entries.iter().copied().fold(0.0, f64::max);
        (self.entries.iter().sum(), largest)
    }

    /// What the laid order costs more with its steps from `first` on replaced by these.
    fn try_out(&mut self, first: usize, steps: &[u32]) -> f64 {
        let end = first + steps.len();
        for (place, v) in (first..).zip(steps) {
            self.place[*v as usize] = u32::try_from(place).expect("index");
        }
        self.first[first..end].fill(NONE);
        self.taken.clear();
        for table in 0..self.given + first {
            let whole = first == 0 && end == self.steps;
            if whole || (first..end).contains(&(self.used[table] as usize)) {
                let step = self.file(table, end);
                self.taken
                    .push((u32::try_from(table).expect("index"), step));
            }
        }
        let mut more = 0.0;
        for (place, v) in (first..).zip(steps) {
            let entries = self.step(place, *v as usize, end);
            more += entries - self.entries[place];
            self.tried[place] = entries;
        }
        more
    }

    /// The stretch that was tried is part of the laid order.
    fn keep(&mut self, first: usize, end: usize) {
        let (words, laid, tried) = (self.words, self.given, self.given + self.steps);
        let cells = |from: usize| (from + first) * words..(from + end) * words;
        self.sets
            .copy_within(cells(tried), laid * words + first * words);
        self.ties
            .copy_within(cells(tried), laid * words + first * words);
        self.density
            .copy_within(tried + first..tried + end, laid + first);
        self.used
            .copy_within(tried + first..tried + end, laid + first);
        for (table, step) in self.taken.drain(..) {
            self.used[table as usize] = step;
        }
        self.entries[first..end].copy_from_slice(&self.tried[first..end]);
    }

    /// Sums a variable out of the tables filed for a step of a tried stretch that ends before `end`;
    /// the entries of the step.
    fn step(&mut self, place: usize, variable: usize, end: usize) -> f64 {
        let (words, left) = (self.words, self.given + self.steps + place);
        let cells = left * words..(left + 1) * words;
        self.sets[cells.clone()].fill(0);
        self.ties[cells.clone()].fill(0);
        self.used[left] = NONE;
        let mut table = self.first[place];
        if table == NONE {
            return 0.0;
        }
        let (mut density, mut meetings) = (0.0, 0);
        while table != NONE {
            let at = table as usize;
            for w in 0..words {
                self.sets[left * words + w] |= self.sets[at * words + w];
                let (tied, ties) = (self.ties[at * words + w], &mut self.ties[left * words + w]);
                meetings += (*ties & tied).count_ones();
                *ties |= tied;
            }
            density += self.density[at];
            table = self.next[at];
        }
        let set = &mut self.sets[cells.clone()];
        let mut logs = 0.0;
        each(set, |v| logs += self.logs[v]);
        set[variable / 64] &= !(1 << (variable % 64));
        self.ties[cells][variable / 64] &= !(1 << (variable % 64));
        self.density[left] = (density + self.logs[variable]).min(0.0);
        self.used[left] = self.file(left, end);
        (logs + density).exp() * RUNNING.powi(meetings.cast_signed())
    }

    /// The first step that sums one of a table's variables out; if that is before `end` the table is
    /// put with it.
    fn file(&mut self, table: usize, end: usize) -> u32 {
        let set = &self.sets[table * self.words..(table + 1) * self.words];
        let mut step = NONE;
        each(set, |v| step = step.min(self.place[v]));
        if (step as usize) < end {
            let head = &mut self.first[step as usize];
            self.next[table] = *head;
            *head = u32::try_from(table).expect("index");
        }
        step
    }

    /// The cheapest order met in so many moves; each `chain` moves otherwise.
    pub fn anneal(&mut self, begin: &[u32], moves: usize, chain: u64) -> Vec<u32> {
        let mut best = begin.to_vec();
        if begin.len() < 2 {
            return best;
        }
        let mut order = best.clone();
        let (mut now, _) = self.lay(&order);
        let mut least = now;
        let mut random = ChaCha8Rng::seed_from_u64(SEED + chain);
        for n in 0..moves {
            #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 moves")]
            let done = n as f64 / moves as f64;
            let warmth = WARM * (COLD / WARM).powf(done);
            let from = random.random_range(0..order.len());
            let far = random.random_range(0..FAR) == 0;
            let near = random.random_range(1..=NEAR);
            let to = match (far, random.random::<bool>()) {
                (true, _) => random.random_range(0..order.len()),
                (false, true) => (from + near).min(order.len() - 1),
                (false, false) => from.saturating_sub(near),
            };
            let (first, last) = (from.min(to), from.max(to));
            let turn = |order: &mut [u32], back: bool| match (from < to) != back {
                true => order[first..=last].rotate_left(1),
                false => order[first..=last].rotate_right(1),
            };
            turn(&mut order, false);
            // In (0, 1]: its logarithm is a number.
            let chance = 1.0 - random.random::<f64>();
            let more = self.try_out(first, &order[first..=last]);
            if more <= -now * warmth * chance.ln() {
                self.keep(first, last + 1);
                now += more;
                if now < least * BETTER {
                    (now, _) = self.lay(&order);
                    if now < least {
                        least = now;
                        best.clone_from(&order);
                    }
                }
            } else {
                turn(&mut order, true);
                for (place, v) in (first..).zip(&order[first..=last]) {
                    self.place[*v as usize] = u32::try_from(place).expect("index");
                }
            }
        }
        best
    }
}

/// Members of a set of bits in turn; an iterator costs more than what is done with them.
fn each(set: &[u64], mut what: impl FnMut(usize)) {
    for (w, word) in set.iter().enumerate() {
        let mut word = *word;
        while word != 0 {
            what(w * 64 + word.trailing_zeros() as usize);
            word &= word - 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tables of two to four of `n` variables, all cells there.
    fn tables(n: u32, random: &mut ChaCha8Rng) -> Vec<Outline> {
        let mut table = || {
            let scope = (0..random.random_range(2..5)).map(|_| random.random_range(0..n));
            let mut scope = scope.collect::<Vec<_>>();
            scope.sort_unstable();
            scope.dedup();
            let density = 0.0;
            Outline { scope, density }
        };
        (0..2 * n).map(|_| table()).collect()
    }

    #[test]
    fn a_tried_stretch_costs_what_the_whole_order_would() {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        for _ in 0..50 {
            let n = 12_u32;
            let tables = tables(n, &mut random);
            let sizes = (0..n)
                .map(|_| random.random_range(2..5))
                .collect::<Vec<_>>();
            let mut order = (0..n).collect::<Vec<_>>();
            let mut sums = Sums::new(&tables, &sizes, &[0, 1], order.len());
            let (mut cost, _) = sums.lay(&order);
            for _ in 0..40 {
                let first = random.random_range(0..order.len());
                let end = random.random_range(first..order.len()) + 1;
                order[first..end].rotate_left(1);
                cost += sums.try_out(first, &order[first..end]);
                sums.keep(first, end);
                let mut afresh = Sums::new(&tables, &sizes, &[0, 1], order.len());
                let (whole, _) = afresh.lay(&order);
                assert!((cost - whole).abs() <= 1e-9 * whole, "{cost} {whole}");
            }
        }
    }

    #[test]
    fn moves_find_the_order_of_a_chain() {
        // Ten variables in a row, summed out from the middle: a chain has no step over more than
        // two of them.
        let pair = |a: u32| Outline {
            scope: vec![a, a + 1],
            density: 0.0,
        };
        let tables = (0..9).map(pair).collect::<Vec<_>>();
        let begin = [5, 4, 6, 3, 7, 2, 8, 1, 0, 9];
        let mut sums = Sums::new(&tables, &[4; 10], &[], begin.len());
        let (before, _) = sums.lay(&begin);
        let found = sums.anneal(&begin, 4000, 0);
        let (after, largest) = sums.lay(&found);
        // Nine steps of 4 * 4 entries and the last variable alone.
        assert!(
            (after - (9.0 * 16.0 + 4.0)).abs() < 1e-9,
            "{before} -> {after}"
        );
        assert!((largest - 16.0).abs() < 1e-9);
        assert!(before > after);
    }
}
