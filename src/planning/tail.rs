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
use super::sums::{dot, sum};
use super::tables::Tables;

/// Bits of a rank that hold the place in the unsorted list.
const PLACE: u128 = 0xffff_ffff;

/// Ranks sort by falling key, then by place. Keys are not negative, so their bits are in
/// the order of their values.
fn rank_of(key: f64, place: usize) -> u128 {
    (u128::from(!key.to_bits()) << 64) | place as u128
}

/// Share of the mass with several faults from which their own order is tried as well (own
/// judgement).
const SEVERAL_SHARE: f64 = 0.05;

/// Repairs from which an order nearly right is good enough, and how nearly (own judgement:
/// saves most of the time for little; the cost of the order found is exact all the same).
const MANY: usize = 16;
const SLACK: f64 = 0.9;

/// Work space, so that nothing is allocated per call.
#[derive(Debug, Clone, Default)]
pub(super) struct Tail {
    entries: Vec<Entry>,
    belief: Vec<f64>,
    steps: Vec<(f64, f64, usize)>,
    /// Repairs in the order the last call did them.
    pub order: Vec<usize>,
    spare: Vec<usize>,
    /// Repairs whose key may no longer be right.
    stale: Vec<bool>,
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
    /// Place of the prefix's last repair, and of its first.
    last: usize,
    first: usize,
}

#[derive(Debug, Clone, Copy)]
struct Entry {
    repair: usize,
    chance: f64,
    minutes: f64,
    /// Groups that would be opened for it and then stay open.
    cover: u64,
    key: f64,
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
        self.rank(tables, belief, repaired, open, false);
        let mut best = self.follow(tables, belief, mass, open, false);
        if several > SEVERAL_SHARE * mass {
            std::mem::swap(&mut self.order, &mut self.spare);
            self.rank(tables, belief, repaired, open, true);
            let other = self.follow(tables, belief, mass, open, true);
            if other.0 < best.0 {
                best = other;
            } else {
                std::mem::swap(&mut self.order, &mut self.spare);
            }
        }
        best
    }

    /// Fills `entries`, best first.
    fn rank(
        &mut self,
        tables: &Tables,
        belief: &[f64],
        repaired: &[bool],
        open: u64,
        by_change: bool,
    ) {
        self.entries.clear();
        let mut covered = false;
        for (repair, &done) in repaired.iter().enumerate() {
            if done {
                continue;
            }
            let (right, changed) = tables.repair_effect(repair, belief);
            if changed <= 0.0 {
                continue;
            }
            let chance = if by_change { changed } else { right };
            let cover = tables.repair_access[repair] & tables.stays & !open;
            covered |= cover != 0;
            let minutes = tables.repair_alone[repair];
            let key = chance / minutes.max(f64::MIN_POSITIVE);
            self.entries.push(Entry {
                repair,
                chance,
                minutes,
                cover,
                key,
            });
        }
        let each = self.entries.iter().enumerate();
        self.ranks.clear();
        self.ranks.extend(each.map(|(i, e)| rank_of(e.key, i)));
        self.arrange();
        if covered {
            self.key_blocks(tables, open);
            self.arrange();
        }
    }

    /// Sorts `entries` by `ranks`.
    fn arrange(&mut self) {
        self.ranks.sort_unstable();
        std::mem::swap(&mut self.entries, &mut self.unsorted);
        self.entries.clear();
        let places = self.ranks.iter().map(|&r| (r & PLACE) as usize);
        self.entries.extend(places.map(|i| self.unsorted[i]));
    }

    /// Gives each block behind a closed cover the ratio of its best prefix, and ranks the
    /// entries by it. They stand in order of their own ratio, which is kept inside a block.
    fn key_blocks(&mut self, tables: &Tables, open: u64) {
        self.blocks.clear();
        for (i, e) in self
            .entries
            .iter()
            .enumerate()
            .filter(|(_, e)| e.cover != 0)
        {
            let known = self.blocks.iter().position(|b| b.cover == e.cover);
            let at = known.unwrap_or(self.blocks.len());
            if known.is_none() {
                let minutes = tables.opening(e.cover, open);
                let (cover, first) = (e.cover, i);
                self.blocks.push(Block {
                    cover,
                    minutes,
                    first,
                    ..Block::default()
                });
            }
            let b = &mut self.blocks[at];
            b.chance += e.chance;
            b.minutes += e.minutes;
            let now = b.chance / b.minutes.max(f64::MIN_POSITIVE);
            if now >= b.ratio {
                (b.ratio, b.last) = (now, i);
            }
        }
        self.ranks.clear();
        for (i, e) in self.entries.iter_mut().enumerate() {
            let block = self
                .blocks
                .iter()
                .find(|b| b.cover == e.cover && i <= b.last);
            let mut rank = rank_of(e.key, i);
            if let Some(b) = block {
                e.key = b.ratio;
                // Blocks of equal ratio stay apart: by place of the first, then own place.
                rank = rank_of(b.ratio, i) | ((b.first as u128) << 32);
            }
            self.ranks.push(rank);
        }
    }

    /// Brings forward the entry that is best by what is known now, to place `at`.
    ///
    /// Keys only fall as repairs fail (the mass a repair can still change only shrinks), so
    /// an entry whose key, brought up to date, still leads is the best of all. The chance
    /// to end the job may rise where several faults are present; then this is a rule of
    /// thumb.
    fn refresh(&mut self, tables: &Tables, at: usize, open: u64, by_change: bool) {
        let slack = if self.entries.len() > MANY {
            SLACK
        } else {
            1.0
        };
        loop {
            let mut e = self.entries[at];
            if !self.stale[e.repair] && e.cover & !open == e.cover {
                return;
            }
            self.stale[e.repair] = false;
            e.cover &= !open;
            let (right, changed) = tables.repair_effect(e.repair, &self.belief);
            let chance = if by_change { changed } else { right };
            let key = if e.cover == 0 {
                chance / e.minutes.max(f64::MIN_POSITIVE)
            } else if e.chance > 0.0 {
                e.key * (chance / e.chance)
            } else {
                0.0
            };
            let later = &self.entries[at + 1..];
            (e.key, e.chance) = (key, chance);
            let behind = later.iter().take_while(|n| n.key * slack > key).count();
            if behind == 0 {
                self.entries[at] = e;
                return;
            }
            self.entries[at..=at + behind].rotate_left(1);
            self.entries[at + behind] = e;
        }
    }

    /// Exact cost of doing the entries in order, handing over at the cheapest point.
    fn follow(
        &mut self,
        tables: &Tables,
        belief: &[f64],
        mass: f64,
        open: u64,
        by_change: bool,
    ) -> (f64, Action) {
        self.belief.clear();
        self.belief.extend_from_slice(belief);
        self.steps.clear();
        self.order.clear();
        let (mut left, mut open) = (mass, open);
        let small = NEGLIGIBLE * mass;
        self.stale.clear();
        self.stale.resize(tables.repairs(), false);
        for at in 0..self.entries.len() {
            if tables.overlap && at > 0 {
                self.refresh(tables, at, open, by_change);
            }
            let Entry { repair, key, .. } = self.entries[at];
            // Keys fall from here on, so going on costs at least the integral of what is
            // left over what is fixed, (left^2 - end^2) / (2 key): no less than handing
            // over at once. The first repair may find a group open that it would else have
            // to pay for, so it is never cut off.
            if !self.steps.is_empty() && 2.0 * tables.hand_over * key <= left {
                break;
            }
            let (right, changed) = tables.repair(repair, &mut self.belief);
            if changed <= small {
                continue;
            }
            self.order.push(repair);
            for &r in &tables.neighbours[repair] {
                self.stale[r as usize] = true;
            }
            let access = tables.opening(tables.repair_access[repair], open);
            let minutes = (tables.repair_minutes[repair] + access) * left;
            open = open_after_repair(tables, repair, open);
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
}
