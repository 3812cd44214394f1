//! A seen noisy maximum, or a plain table that was seen, as factors.
//!
//! Seen in state `s` it needs every contribution at most `s`, one of them `s`:
//!
//! ```text
//! open --below s--> open     open --exactly s--> spoken     spoken --at most s--> spoken
//! ```
//! In which order the parents speak, and where their running states meet, is said by `branches`. A
//! sign seen absent (`s = 0`) falls apart into one factor a parent. All terms are positive: nothing
//! cancels. Where a switched slot says nothing all states stay open at no cost: below is one, exactly
//! is nought, and the end counts one.
//! Must not handle variables that are queried or have children.

use super::branches::{Made, Maxima, Running, Star};
use super::lower::{Belongs, Cell, Factor, Lowering, Silent, add, switched, zero};
use crate::network::variable::VarId;

/// What a parent contributes to a maximum, by its state: at most the state below the one that was
/// seen, exactly that, at most that.
struct Said {
    parent: VarId,
    below: Vec<Cell>,
    exact: Vec<Cell>,
    most: Vec<Cell>,
}

impl Lowering<'_> {
    /// A maximum, or a plain table, seen in `state`.
    pub(super) fn seen_maximum(&mut self, at: usize, state: usize, slot: usize) {
        let (seen, input) = (self.request.slots[slot].seen, self.input[slot]);
        let local = self.local(at);
        let own = self.network.variables()[at].states.len();
        let first = |row: usize| u32::try_from(row * own).expect("index");
        let mut base = self.base[at] + u32::try_from(local.init.len()).expect("index");
        let mut said = Vec::new();
        for part in &local.from {
            let parent = part.parent;
            let begin = base;
            let rows = (0..self.network.size(parent)).map(|p| begin + first(p));
            let exact = rows.clone().map(|r| self.sum(r, state..state + 1, own));
            let exact = exact.map(|c| switched(seen, input, c, Silent::Zero));
            let exact = exact.collect::<Vec<_>>();
            // Of the lowest state all that is at most it is exactly it: nothing runs.
            let end = if state == 0 { 1 } else { state };
            let below = rows.clone().map(|r| self.sum(r, 0..end, own));
            let below = below.map(|c| switched(seen, input, c, Silent::One));
            let below = below.collect::<Vec<_>>();
            base += u32::try_from(part.rows.len()).expect("index");
            if state == 0 || exact.iter().all(|c| *c == zero()) {
                // Below and at most are one: a factor on the parent whatever the others say.
                let scope = vec![parent.0];
                self.out.factors.push(Factor {
                    scope,
                    cells: below,
                });
                continue;
            }
            let most = rows.map(|r| self.sum(r, 0..state + 1, own)).collect();
            said.push(Said {
                parent,
                below,
                exact,
                most,
            });
        }
        let now = match self.maxima {
            _ if state == 0 => None,
            Maxima::Stars => Some(self.star(at, &said)),
            Maxima::Along(branches) => match branches.get(&at) {
                Some(running) => self.run_along(&said, running),
                None => None,
            },
        };
        let mut scope = local.drivers.iter().map(|d| d.0).collect::<Vec<_>>();
        scope.extend(now);
        let mut cells = Vec::new();
        for r in 0..local.init.len() / own {
            let first = self.base[at] + first(r);
            let exact = self.sum(first, state..state + 1, own);
            cells.push(switched(seen, input, exact, Silent::One));
            if now.is_some() {
                cells.push(self.sum(first, 0..state + 1, own));
            }
        }
        self.out.factors.push(Factor { scope, cells });
    }

    /// One variable tied to every parent; the cells mean nothing.
    fn star(&mut self, leaf: usize, said: &[Said]) -> u32 {
        let variable = self.fresh(2, 0, 0, 0);
        let links = said.iter().enumerate().map(|(number, said)| {
            let scope = vec![said.parent.0, variable];
            let cells = vec![zero(); 2 * said.below.len()];
            self.out.factors.push(Factor { scope, cells });
            (number, self.out.factors.len() - 1)
        });
        let links = links.collect();
        self.out.stars.push(Star {
            leaf,
            variable,
            links,
        });
        variable
    }

    /// The running states in turn; the last of them, if there is any.
    fn run_along(&mut self, said: &[Said], running: &[Running]) -> Option<u32> {
        let mut states = Vec::<u32>::new();
        for state in running {
            let own = match state.made {
                Made::Spoken { parent, .. } => self.network.group(said[parent].parent),
                Made::Met(one, other) => {
                    let group = |state: usize| self.out.groups[states[state] as usize];
                    group(one).max(group(other))
                }
            };
            let then = self.fresh(2, 0, own, state.group);
            self.out.belongs[then as usize] = Belongs::Step(state.place);
            let mut cells = Vec::new();
            let scope = match state.made {
                Made::Met(one, other) => {
                    // Axes: one, other, then.
                    for spoken in [false, true, true, true] {
                        cells.extend(match spoken {
                            false => [Cell::One, zero()],
                            true => [zero(), Cell::One],
                        });
                    }
                    vec![states[one], states[other], then]
                }
                Made::Spoken { parent, before } => {
                    let said = &said[parent];
                    let each = said.below.iter().zip(&said.exact).zip(&said.most);
                    for ((below, exact), most) in each {
                        cells.extend([below.clone(), exact.clone()]);
                        if before.is_some() {
                            cells.extend([zero(), most.clone()]);
                        }
                    }
                    let before = before.map(|state| states[state]);
                    let scope = std::iter::once(said.parent.0).chain(before);
                    scope.chain([then]).collect()
                }
            };
            self.out.factors.push(Factor { scope, cells });
            states.push(then);
        }
        states.last().copied()
    }

    /// Sum of a stretch of a row that starts at figure `first`; the whole row is one.
    fn sum(&mut self, first: u32, stretch: std::ops::Range<usize>, own: usize) -> Cell {
        if stretch == (0..own) {
            return Cell::One;
        }
        let mut cell = zero();
        for z in stretch {
            let figure = self.figure(first + u32::try_from(z).expect("index"));
            add(&mut cell, figure);
        }
        cell
    }
}
