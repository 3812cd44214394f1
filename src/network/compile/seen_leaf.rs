//! Observed variables without children: chains of two states instead of running states.
//!
//! A sign over which faults may speak is read from the last link to the first,
//!
//! ```text
//! open --silent--> open      open --says the seen state--> spoken      spoken --> spoken
//! ```
//! Links that never say the seen state keep the chain's variable: nothing widens. All terms are
//! positive: nothing cancels.
//! Where a switched slot says nothing the chain stays open at no cost: silent is one, the word
//! is nought, and the end counts one.
//! Must not handle variables that are queried or have children, nor maxima (`seen_maximum`).

use super::lower::{Cell, Factor, Lowering, Silent, Term, add, switched, zero};
use super::program::Seen;

impl Lowering<'_> {
    pub(super) fn seen_leaf(&mut self, at: usize, slot: usize) {
        let local = self.local(at);
        let own = self.network.variables()[at].states.len();
        let width = local.step.width(own);
        let seen = self.request.slots[slot].seen;
        let input = self.input[slot];
        let mut base = self.base[at] + u32::try_from(local.init.len()).expect("index");
        let bases = local
            .from
            .iter()
            .map(|part| {
                let here = base;
                base += u32::try_from(part.rows.len()).expect("index");
                here
            })
            .collect::<Vec<_>>();
        // The running variable; none while the chain is surely open.
        let mut now: Option<u32> = None;
        if let Seen::Mostly(_) = seen {
            // With the likelihood of "any state" the word is as good as spoken from the outset.
            let start = self.fresh(2, 0, 0, 0);
            let cell = |n: u32| {
                Cell::Sum(vec![Term {
                    figure: None,
                    input: Some(input + n),
                }])
            };
            self.out.factors.push(Factor {
                scope: vec![start],
                cells: vec![cell(1), cell(0)],
            });
            now = Some(start);
        }
        for (index, (part, base)) in local.from.iter().zip(bases).enumerate().rev() {
            let parents = self.network.size(part.parent);
            let row = |p: usize| base + u32::try_from(p * width).expect("index");
            let silent = (0..parents)
                .map(|p| switched(seen, input, self.figure(row(p)), Silent::One))
                .collect::<Vec<_>>();
            let says = (0..parents)
                .map(|p| self.said(row(p) + 1, own, seen, input))
                .map(|c| switched(seen, input, c, Silent::Zero))
                .collect::<Vec<_>>();
            let toward = says.iter().any(|c| *c != zero());
            if !toward {
                // Silence or a wrong word: a factor on the parent while the chain is open.
                let scope = std::iter::once(part.parent.0).chain(now).collect();
                let cells = silent
                    .into_iter()
                    .flat_map(|s| {
                        if now.is_some() {
                            vec![s, Cell::One]
                        } else {
                            vec![s]
                        }
                    })
                    .collect();
                self.out.factors.push(Factor { scope, cells });
                continue;
            }
            let here = self.network.group(part.parent);
            let next = index
                .checked_sub(1)
                .map_or(0, |i| self.network.group(local.from[i].parent));
            let then = self.fresh(2, 0, here, next);
            let mut cells = Vec::new();
            for (s, w) in silent.into_iter().zip(says) {
                cells.extend([s, w]);
                if now.is_some() {
                    cells.extend([zero(), Cell::One]);
                }
            }
            let scope = std::iter::once(part.parent.0)
                .chain(now)
                .chain([then])
                .collect();
            self.out.factors.push(Factor { scope, cells });
            now = Some(then);
        }
        let rows = local.init.len() / own;
        let mut scope = local.drivers.iter().map(|d| d.0).collect::<Vec<_>>();
        scope.extend(now);
        let mut cells = Vec::new();
        for r in 0..rows {
            let first = self.base[at] + u32::try_from(r * own).expect("index");
            let said = self.said(first, own, seen, input);
            cells.push(switched(seen, input, said, Silent::One));
            if now.is_some() {
                cells.push(Cell::One);
            }
        }
        self.out.factors.push(Factor { scope, cells });
    }

    /// Likelihood of a word drawn from the `own` figures at `first`.
    fn said(&mut self, first: u32, own: usize, seen: Seen, input: u32) -> Cell {
        match seen {
            Seen::Hard(state) | Seen::Mostly(state) | Seen::Switch(state) => {
                self.figure(first + u32::try_from(state).expect("index"))
            }
            Seen::Soft | Seen::Known => {
                let mut cell = zero();
                for s in 0..u32::try_from(own).expect("index") {
                    let term = match self.figure(first + s) {
                        Cell::Sum(mut terms) => terms.pop(),
                        _ => Some(Term {
                            figure: None,
                            input: None,
                        }),
                    };
                    if let Some(Term { figure, .. }) = term {
                        add(
                            &mut cell,
                            Cell::Sum(vec![Term {
                                figure,
                                input: Some(input + s),
                            }]),
                        );
                    }
                }
                cell
            }
        }
    }
}
