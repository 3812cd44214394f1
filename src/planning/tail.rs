//! What it costs to act without further checks: repairs in order of chance per minute,
//! then handing over, stopping where that is cheapest.
//!
//! With one fault, independent repairs and no shared access, order by p/c is optimal
//! (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995). Repairs behind one cover are
//! ordered as a block by the best ratio of any prefix of the block with the cover's cost,
//! which is the rule for clustered costs (Ottosen 2012); with overlapping repairs it is a
//! rule of thumb, but its cost is always exact, so the result is never too low.
//! Must not look at checks.

use super::advice::Action;
use super::situation::{NEGLIGIBLE, open_after_repair};
use super::states::Effects;
use super::sums::{dot, max, sum};
use super::tables::Tables;

/// Share of the mass with several faults from which their own order is tried as well (own
/// judgement).
const SEVERAL_SHARE: f64 = 0.05;

/// Repairs from which an order nearly right is good enough, and how nearly (own judgement:
/// saves most of the time for little; the cost of the order found is exact all the same).
const MANY: usize = 16;
const SLACK: f64 = 0.9;

/// Keys brought up to date one by one, in search of the best, before all are.
const FEW: usize = 6;

/// Keys nearer to each other than this are equal, relatively: what their reckoning rounds.
const EQUAL: f64 = 1e-12;

/// Key of what was done: below all others.
const DONE: f64 = -1.0;

/// Work space, so that nothing is allocated per call.
#[derive(Debug, Clone, Default)]
pub(super) struct Tail {
    /// Repairs not done before, in order of their own chance per minute at the beginning where some
    /// cover is closed.
    entries: Vec<Entry>,
    /// Chance times rate of each entry, or [`DONE`].
    keys: Vec<f64>,
    belief: Vec<f64>,
    /// What repairs were ranked by at the beginning, `[repair]`.
    chances: Vec<f64>,
    steps: Vec<(f64, f64, usize)>,
    /// Repairs in the order the last call did them.
    pub order: Vec<usize>,
    spare: Vec<usize>,
    ranks: Vec<u128>,
    unsorted: Vec<Entry>,
    blocks: Vec<Block>,
}

/// Repairs behind the same closed cover, while their best prefix is looked for.
#[derive(Debug, Clone, Copy, Default)]
struct Block {
    cover: u64,
    chance: f64,
    minutes: f64,
    ratio: f64,
    /// Place of the prefix's last repair.
    last: usize,
}

#[derive(Debug, Clone, Copy)]
struct Entry {
    repair: usize,
    /// Groups that would be opened for it and then stay open.
    cover: u64,
    /// What its chance is multiplied by for its rank: nothing but the inverse of its minutes once
    /// no cover is in the way.
    rate: f64,
    /// Repairs done when its key was reckoned.
    fresh: usize,
}

/// What repairs are ranked by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ranked {
    /// The chance to end the job.
    Right,
    /// The chance to remove something.
    Changed,
}

impl Ranked {
    fn effects(self, tables: &Tables) -> &Effects {
        match self {
            Ranked::Right => &tables.rights,
            Ranked::Changed => &tables.changes,
        }
    }
}

impl Tail {
    /// Expected minutes (times mass) of the best sequence found, and its first move.
    pub(super) fn run(
        &mut self,
        tables: &Tables,
        belief: &[f64],
        repaired: &[bool],
        open: u64,
    ) -> (f64, Action) {
        let mass = sum(belief);
        let several = mass - dot(belief, &tables.single);
        // With two faults present no single repair makes the engine right; then the order
        // by "removes something" is better. Both are tried: were one chosen by the share of
        // several faults, a check that tells nothing could tip it and seem worth many minutes.
        self.rank(tables, Ranked::Right, belief, repaired, open);
        let mut best = self.follow(tables, Ranked::Right, belief, mass, open);
        if several > SEVERAL_SHARE * mass {
            std::mem::swap(&mut self.order, &mut self.spare);
            self.rank(tables, Ranked::Changed, belief, repaired, open);
            let other = self.follow(tables, Ranked::Changed, belief, mass, open);
            if other.0 < best.0 {
                best = other;
            } else {
                std::mem::swap(&mut self.order, &mut self.spare);
            }
        }
        best
    }

    /// Fills `entries` and `chances`.
    fn rank(&mut self, tables: &Tables, by: Ranked, belief: &[f64], repaired: &[bool], open: u64) {
        let effects = by.effects(tables);
        self.chances.clear();
        self.chances
            .extend((0..tables.repairs()).map(|r| effects.of(r, belief)));
        self.entries.clear();
        let mut covered = false;
        for (repair, _) in repaired.iter().enumerate().filter(|(_, done)| !**done) {
            let cover = tables.repair_access[repair] & tables.stays & !open;
            covered |= cover != 0;
            self.entries.push(Entry {
                repair,
                cover,
                rate: 1.0 / tables.repair_alone[repair].max(f64::MIN_POSITIVE),
                fresh: 0,
            });
        }
        if covered {
            self.arrange();
            self.rate_blocks(tables, open);
        }
        let (entries, chances) = (&self.entries, &self.chances);
        self.keys.clear();
        self.keys
            .extend(entries.iter().map(|e| e.rate * chances[e.repair]));
    }

    /// Sorts `entries` by falling chance per minute, then by repair.
    fn arrange(&mut self) {
        self.ranks.clear();
        for (place, e) in self.entries.iter().enumerate() {
            // Not negative, so the bits are in the order of the values.
            let key = (e.rate * self.chances[e.repair]).max(0.0);
            self.ranks
                .push((u128::from(!key.to_bits()) << 64) | place as u128);
        }
        self.ranks.sort_unstable();
        std::mem::swap(&mut self.entries, &mut self.unsorted);
        self.entries.clear();
        let places = self.ranks.iter().map(|&r| r as u64 as usize);
        self.entries.extend(places.map(|i| self.unsorted[i]));
    }

    /// Gives the repairs of each block behind a closed cover the ratio of its best prefix, those
    /// after the prefix their own with the cover paid.
    fn rate_blocks(&mut self, tables: &Tables, open: u64) {
        self.blocks.clear();
        let closed = self.entries.iter().enumerate();
        for (place, e) in closed.filter(|(_, e)| e.cover != 0) {
            let known = self.blocks.iter().position(|b| b.cover == e.cover);
            let at = known.unwrap_or(self.blocks.len());
            if known.is_none() {
                self.blocks.push(Block {
                    cover: e.cover,
                    minutes: tables.opening(e.cover, open),
                    ..Block::default()
                });
            }
            let b = &mut self.blocks[at];
            b.chance += self.chances[e.repair];
            b.minutes += tables.repair_alone[e.repair];
            let now = b.chance / b.minutes.max(f64::MIN_POSITIVE);
            if now >= b.ratio {
                (b.ratio, b.last) = (now, place);
            }
        }
        for (place, e) in self.entries.iter_mut().enumerate() {
            let here = |b: &&Block| b.cover == e.cover && place <= b.last;
            let chance = self.chances[e.repair];
            if let Some(b) = self.blocks.iter().find(here).filter(|_| chance > 0.0) {
                e.rate = b.ratio / chance;
            }
        }
    }

    /// Place and key of the entry that is best by what is known now, or nearly; the first of equals.
    ///
    /// Keys only fall as repairs fail (the mass a repair can still change only shrinks), so one
    /// whose key, brought up to date, still leads is the best of all. The chance to end the job
    /// may rise where several faults are present; then this is a rule of thumb.
    fn best(&mut self, tables: &Tables, by: Ranked) -> Option<(usize, f64)> {
        let many = self.entries.len() > MANY;
        let slack = if many { SLACK } else { 1.0 - EQUAL };
        let now = self.steps.len();
        let effects = by.effects(tables);
        for looked in 0.. {
            if looked == FEW {
                // What failed was behind all of them, as where nothing may be wrong. Those that
                // rose wait until they lead, as if each were looked at in its turn.
                for (e, key) in self.entries.iter_mut().zip(&mut self.keys) {
                    let least = e.rate * effects.of(e.repair, &self.belief);
                    if least < *key {
                        (e.fresh, *key) = (now, least);
                    }
                }
            }
            let most = max(&self.keys);
            if most <= 0.0 {
                break;
            }
            // Repairs of a block are equal but for rounding.
            let level = most * (1.0 - EQUAL);
            let Some(place) = self.keys.iter().position(|k| *k >= level) else {
                break;
            };
            let e = &mut self.entries[place];
            if e.fresh == now {
                return Some((place, self.keys[place]));
            }
            e.fresh = now;
            let key = e.rate * effects.of(e.repair, &self.belief);
            self.keys[place] = key;
            if key > 0.0 && key >= slack * max(&self.keys) {
                return Some((place, key));
            }
        }
        None
    }

    /// Exact cost of doing the entries in order, handing over at the cheapest point.
    ///
    /// After each repair that fails, the best by the chances that are left comes next.
    fn follow(
        &mut self,
        tables: &Tables,
        by: Ranked,
        belief: &[f64],
        mass: f64,
        open: u64,
    ) -> (f64, Action) {
        self.belief.clear();
        self.belief.extend_from_slice(belief);
        self.steps.clear();
        self.order.clear();
        let (mut left, mut open) = (mass, open);
        let small = NEGLIGIBLE * mass;
        while let Some((place, key)) = self.best(tables, by) {
            // Keys fall from here on, so going on costs at least the integral of what is
            // left over what is fixed, (left^2 - end^2) / (2 key): no less than handing
            // over at once. The first repair may find a group open that it would else have
            // to pay for, so it is never cut off.
            if !self.steps.is_empty() && 2.0 * tables.hand_over * key <= left {
                break;
            }
            let repair = self.entries[place].repair;
            self.keys[place] = DONE;
            let (right, changed) = tables.repair(repair, &mut self.belief);
            if changed <= small {
                continue;
            }
            self.order.push(repair);
            let access = tables.opening(tables.repair_access[repair], open);
            let minutes = (tables.repair_minutes[repair] + access) * left;
            let now = open_after_repair(tables, repair, open);
            if now != open {
                open = now;
                self.uncover(tables, open);
            }
            left = (left - right).max(0.0);
            if left <= small {
                left = 0.0;
            }
            self.steps.push((minutes, left, repair));
            if left == 0.0 {
                break;
            }
        }
        let end = self.steps.last().map_or(mass, |s| s.1);
        let mut later = (tables.hand_over * end, Action::HandOver);
        for i in (0..self.steps.len()).rev() {
            let (minutes, _, repair) = self.steps[i];
            let before = if i == 0 { mass } else { self.steps[i - 1].1 };
            let call = tables.hand_over * before;
            let go_on = minutes + later.0;
            later = if call <= go_on {
                (call, Action::HandOver)
            } else {
                (go_on, Action::Repair(repair))
            };
        }
        later
    }

    /// Lets repairs whose covers are open now count without them.
    fn uncover(&mut self, tables: &Tables, open: u64) {
        let each = self.entries.iter_mut().zip(&mut self.keys);
        for (e, key) in each.filter(|(e, _)| e.cover & open != 0) {
            e.cover &= !open;
            if e.cover == 0 {
                let rate = 1.0 / tables.repair_alone[e.repair].max(f64::MIN_POSITIVE);
                *key *= rate / e.rate;
                e.rate = rate;
            }
        }
    }
}
