//! Local models into small factors.
//!
//! A fold over n parents becomes a chain of running states, each link a factor over
//! (before, parent, after). Observed leaves are cheaper: see `seen_leaf`.
//! Must not choose an order or emit instructions.

use std::collections::BTreeSet;

use super::alike::{certain, kinds};
use super::branches::{Maxima, Star};
use super::order::Outline;
use super::program::{Request, Seen};
use crate::network::fold::{Fold, Step};
use crate::network::variable::{Network, VarId};

/// One term of a cell: a figure, a slot's input, or their product.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Term {
    pub figure: Option<u32>,
    pub input: Option<u32>,
}

/// A cell of a factor: the sum of its terms; no term is zero. `One` is the number one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Cell {
    One,
    Sum(Vec<Term>),
    /// Cell number `query cell` whose value is one and whose derivative is asked for.
    Query(u32),
}

/// A factor over lowered variables, `[scope.., ]` last axis fastest.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    pub scope: Vec<u32>,
    pub cells: Vec<Cell>,
}

impl Factor {
    /// Its scope, and how many of its cells are not nought.
    pub fn outline(&self) -> Outline {
        let there = self.cells.iter().filter(|c| **c != zero()).count();
        #[expect(clippy::cast_precision_loss, reason = "tables are small")]
        let density = match there {
            // A star is a scope and nothing else.
            0 => 0.0,
            n => (n as f64 / self.cells.len() as f64).ln(),
        };
        Outline {
            scope: self.scope.clone(),
            density,
        }
    }
}

/// Where a lowered variable belongs in an order of the network's variables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Belongs {
    /// The so manieth variable that a variable of the network was made of; the first is itself.
    Own(u32, u32),
    /// The kinds of the states of a variable.
    Kinds(u32),
    /// A running state that is summed out in this step of the stars' order, before the variable
    /// whose step it is.
    Step(usize),
}

/// All factors, and the size of each lowered variable. The first variables are the network's.
#[derive(Debug, Clone)]
pub(super) struct Lowered {
    pub sizes: Vec<usize>,
    /// Stage of each lowered variable in orders that go group by group.
    pub groups: Vec<u16>,
    pub belongs: Vec<Belongs>,
    pub factors: Vec<Factor>,
    /// Figures that were folded away because they are exactly nought or one.
    pub folded: BTreeSet<u32>,
    pub inputs: u32,
    pub queries: u32,
    /// The stars, where maxima are lowered to these.
    pub stars: Vec<Star>,
}

pub(super) fn lower(network: &Network, request: &Request, maxima: Maxima<'_>) -> Lowered {
    Lowering::new(network, request, maxima).run()
}

pub(super) struct Lowering<'a> {
    pub network: &'a Network,
    pub request: &'a Request,
    figures: Vec<f64>,
    /// First figure of each variable.
    pub base: Vec<u32>,
    /// First input of each slot.
    pub input: Vec<u32>,
    pub out: Lowered,
    pub maxima: Maxima<'a>,
    /// The variable being lowered, and how many more were made of it.
    at: u32,
    made: u32,
    /// Kind of each state of variables whose certain tables tell fewer apart, and the variable
    /// of the kind.
    kinds: Vec<Option<(Vec<usize>, u32)>>,
}

pub(super) fn zero() -> Cell {
    Cell::Sum(Vec::new())
}

impl<'a> Lowering<'a> {
    fn new(network: &'a Network, request: &'a Request, maxima: Maxima<'a>) -> Self {
        let mut base = Vec::new();
        let mut next = 0;
        for variable in network.variables() {
            base.push(next);
            let local = &variable.local;
            let cells = local.init.len() + local.from.iter().map(|c| c.rows.len()).sum::<usize>();
            next += u32::try_from(cells).expect("fewer than 2^32 figures");
        }
        let mut inputs = 0;
        let mut input = Vec::new();
        for slot in &request.slots {
            input.push(inputs);
            let cells: usize = match slot.seen {
                Seen::Soft | Seen::Known => slot.scope.iter().map(|v| network.size(*v)).product(),
                Seen::Mostly(_) | Seen::Switch(_) => 2,
                Seen::Hard(_) => 0,
            };
            inputs += u32::try_from(cells).expect("fewer than 2^32 inputs");
        }
        let groups = (0..network.variables().len())
            .map(|v| network.group(VarId(u32::try_from(v).expect("index"))))
            .collect();
        let sizes = network.variables().iter().map(|v| v.states.len()).collect();
        let own = (0..).zip(network.variables());
        let own = own.map(|(v, _)| Belongs::Own(v, 0));
        Self {
            network,
            request,
            figures: network.figures(),
            base,
            input,
            out: Lowered {
                sizes,
                groups,
                belongs: own.collect(),
                factors: Vec::new(),
                folded: BTreeSet::new(),
                inputs,
                queries: 0,
                stars: Vec::new(),
            },
            maxima,
            at: 0,
            made: 0,
            kinds: Vec::new(),
        }
    }

    fn run(mut self) -> Lowered {
        let relevant = self.relevant();
        let leaves = self.seen_leaves(&relevant);
        self.kinds(&relevant, &leaves);
        for at in 0..self.network.variables().len() {
            if !relevant[at] {
                continue;
            }
            (self.at, self.made) = (u32::try_from(at).expect("index"), 0);
            match leaves[at] {
                Some(slot) => match (self.request.slots[slot].seen, &self.local(at).step) {
                    (Seen::Hard(state) | Seen::Switch(state), Step::Worst) => {
                        self.seen_maximum(at, state, slot);
                    }
                    _ => self.seen_leaf(at, slot),
                },
                None => self.latent(at),
            }
        }
        let mut known = Vec::new();
        for (index, slot) in self.request.slots.iter().enumerate() {
            if slot.scope.len() != 1 || leaves[slot.scope[0].at()].is_none() {
                match slot.seen {
                    Seen::Known => known.push((slot.scope[0].0, self.input[index])),
                    _ => self.slot(index),
                }
            }
        }
        for query in &self.request.queries {
            self.query(query);
        }
        super::known::tell(&mut self.out, &known);
        self.out
    }

    /// Variables that a slot or a query hangs on; all others sum to one and are left out.
    fn relevant(&self) -> Vec<bool> {
        let mut relevant = vec![false; self.network.variables().len()];
        let slots = self.request.slots.iter().flat_map(|s| s.scope.iter());
        for v in slots.chain(self.request.queries.iter().flatten()) {
            relevant[v.at()] = true;
        }
        for at in (0..relevant.len()).rev() {
            if relevant[at] {
                for parent in self.network.variables()[at].local.parents() {
                    relevant[parent.at()] = true;
                }
            }
        }
        relevant
    }

    /// For each variable that is an observed leaf and need not be summed over: its only slot.
    fn seen_leaves(&self, relevant: &[bool]) -> Vec<Option<usize>> {
        let mut uses = vec![0; relevant.len()];
        for (at, variable) in self.network.variables().iter().enumerate() {
            if relevant[at] {
                variable.local.parents().for_each(|p| uses[p.at()] += 1);
            }
        }
        let mut only = vec![None; relevant.len()];
        for (index, slot) in self.request.slots.iter().enumerate() {
            for v in &slot.scope {
                uses[v.at()] += 1;
                only[v.at()] = (slot.scope.len() == 1).then_some(index);
            }
        }
        self.request
            .queries
            .iter()
            .flatten()
            .for_each(|v| uses[v.at()] += 1);
        self.network
            .variables()
            .iter()
            .enumerate()
            .map(|(at, v)| {
                only[at].filter(|slot| {
                    let seen = self.request.slots[*slot].seen;
                    let hard = matches!(seen, Seen::Hard(_) | Seen::Switch(_));
                    let worst = v.local.step == Step::Worst && hard;
                    let fits = v.local.step == Step::Override || v.local.from.is_empty() || worst;
                    uses[at] == 1 && fits
                })
            })
            .collect()
    }

    /// A new running state between two parents; it is summed with the later of their groups. At
    /// the end of a chain of groups it goes with the first group, and waits behind the last.
    pub(super) fn fresh(&mut self, size: usize, own: u16, before: u16, after: u16) -> u32 {
        let group = match (own, before, after) {
            (0, 0, 1) | (0, 1, 0) => 1,
            (0, 0, _) | (0, _, 0) => 0,
            (0, a, b) => a.max(b),
            (own, ..) => own,
        };
        self.made += 1;
        self.out.belongs.push(Belongs::Own(self.at, self.made));
        self.out.groups.push(group);
        self.out.sizes.push(size);
        u32::try_from(self.out.sizes.len() - 1).expect("fewer than 2^32 variables")
    }

    /// A cell of one figure: exact noughts and ones are folded and remembered.
    pub(super) fn figure(&mut self, index: u32) -> Cell {
        let value = self.figures[index as usize];
        if value == 0.0 || value == 1.0 {
            self.out.folded.insert(index);
        }
        if value == 0.0 {
            zero()
        } else if value == 1.0 {
            Cell::One
        } else {
            Cell::Sum(vec![Term {
                figure: Some(index),
                input: None,
            }])
        }
    }

    pub(super) fn local(&self, at: usize) -> &'a Fold {
        &self.network.variables()[at].local
    }

    /// Ties variables to the kinds of their states.
    fn kinds(&mut self, relevant: &[bool], leaves: &[Option<usize>]) {
        let summed = relevant.iter().zip(leaves).map(|(r, l)| *r && l.is_none());
        let summed = summed.collect::<Vec<_>>();
        for (at, kinds) in kinds(self.network, &summed).into_iter().enumerate() {
            let made = kinds.map(|kinds| {
                let this = u32::try_from(at).expect("index");
                let count = kinds.iter().max().map_or(0, |most| most + 1);
                let kind = self.fresh(count, self.network.group(VarId(this)), 0, 0);
                self.out.belongs[kind as usize] = Belongs::Kinds(this);
                let ties = kinds.iter().flat_map(|mine| {
                    let cell = move |k| if k == *mine { Cell::One } else { zero() };
                    (0..count).map(cell)
                });
                self.out.factors.push(Factor {
                    scope: vec![this, kind],
                    cells: ties.collect(),
                });
                (kinds, kind)
            });
            self.kinds.push(made);
        }
    }

    /// Scope of the first table but for its own variable, and which of its rows stand: of a
    /// certain table one row for each kind.
    fn rows(&self, local: &Fold) -> (Vec<u32>, Vec<bool>) {
        let mut scope = Vec::new();
        let mut rows = vec![true];
        for driver in &local.drivers {
            let kinds = self.kinds[driver.at()].as_ref().filter(|_| certain(local));
            scope.push(kinds.map_or(driver.0, |(_, kind)| *kind));
            let first = |state: usize| {
                kinds.is_none_or(|(kinds, _)| !kinds[..state].contains(&kinds[state]))
            };
            let states = (0..self.network.size(*driver)).map(first);
            let states = states.collect::<Vec<_>>();
            let joint = |row: &bool| states.iter().map(|s| *s && *row).collect::<Vec<_>>();
            rows = rows.iter().flat_map(joint).collect();
        }
        (scope, rows)
    }

    /// A running state holds only the states that can be reached by then: a count over cylinders
    /// begins small.
    fn latent(&mut self, at: usize) {
        let local = self.local(at);
        let own = self.network.variables()[at].states.len();
        let this = u32::try_from(at).expect("index");
        let mut base = self.base[at];
        let group = self.network.group(VarId(this));
        let of = |i: usize| {
            local
                .from
                .get(i)
                .map_or(0, |c| self.network.group(c.parent))
        };
        let parents = (0..=local.from.len()).map(of).collect::<Vec<_>>();
        let all = (0..own).collect::<Vec<_>>();
        let mut reached = all.clone();
        let mut now = this;
        if !local.from.is_empty() {
            reached.retain(|a| local.init.iter().skip(*a).step_by(own).any(|c| *c != 0.0));
            now = self.fresh(reached.len(), group, 0, parents[0]);
        }
        let (mut scope, rows) = self.rows(local);
        scope.push(now);
        let mut cells = Vec::new();
        for (row, kept) in rows.into_iter().enumerate() {
            for a in 0..own {
                let cell = self.figure(base + u32::try_from(row * own + a).expect("index"));
                if kept && reached.contains(&a) {
                    cells.push(cell);
                }
            }
        }
        self.out.factors.push(Factor { scope, cells });
        base += u32::try_from(local.init.len()).expect("index");
        let width = local.step.width(own);
        for (index, part) in local.from.iter().enumerate() {
            let mut next = all.clone();
            let mut then = this;
            if index + 1 < local.from.len() {
                next.retain(|to| {
                    reached.iter().any(|a| {
                        (0..width).any(|z| {
                            local.step.next(*a, z, own) == *to
                                && part.rows.iter().skip(z).step_by(width).any(|c| *c != 0.0)
                        })
                    })
                });
                then = self.fresh(next.len(), group, parents[index], parents[index + 1]);
            }
            let sizes = self.network.size(part.parent);
            // Axes: parent, before, after.
            let mut cells = vec![zero(); sizes * reached.len() * next.len()];
            for p in 0..sizes {
                for (i, a) in reached.iter().enumerate() {
                    for z in 0..width {
                        let figure = base + u32::try_from(p * width + z).expect("index");
                        let cell = self.figure(figure);
                        let to = local.step.next(*a, z, own);
                        if let Some(to) = next.iter().position(|n| *n == to) {
                            add(&mut cells[(p * reached.len() + i) * next.len() + to], cell);
                        }
                    }
                }
            }
            self.out.factors.push(Factor {
                scope: vec![part.parent.0, now, then],
                cells,
            });
            now = then;
            reached = next;
            base += u32::try_from(part.rows.len()).expect("index");
        }
    }

    fn slot(&mut self, index: usize) {
        let slot = &self.request.slots[index];
        let count: usize = slot.scope.iter().map(|v| self.network.size(*v)).product();
        let cells = (0..count)
            .map(|i| match slot.seen {
                Seen::Hard(state) if state == i => Cell::One,
                Seen::Hard(_) => zero(),
                Seen::Mostly(state) => Cell::Sum(
                    (0..=u32::from(state == i))
                        .map(|n| Term {
                            figure: None,
                            input: Some(self.input[index] + n),
                        })
                        .collect(),
                ),
                Seen::Switch(state) if state == i => Cell::One,
                Seen::Switch(_) => off(self.input[index]),
                Seen::Soft | Seen::Known => Cell::Sum(vec![Term {
                    figure: None,
                    input: Some(self.input[index] + u32::try_from(i).expect("index")),
                }]),
            })
            .collect();
        let scope = slot.scope.iter().map(|v| v.0).collect();
        self.out.factors.push(Factor { scope, cells });
    }

    fn query(&mut self, scope: &[VarId]) {
        let count: usize = scope.iter().map(|v| self.network.size(*v)).product();
        let first = self.out.queries;
        self.out.queries += u32::try_from(count).expect("index");
        let cells = (first..self.out.queries).map(Cell::Query).collect();
        let scope = scope.iter().map(|v| v.0).collect();
        self.out.factors.push(Factor { scope, cells });
    }
}

/// One in a lane in which a switched slot says nothing, else nought.
fn off(input: u32) -> Cell {
    Cell::Sum(vec![Term {
        figure: None,
        input: Some(input + 1),
    }])
}

/// A cell that stands where a switched slot speaks, and is `silent` where it does not.
pub(super) fn switched(seen: Seen, input: u32, cell: Cell, silent: Silent) -> Cell {
    let Seen::Switch(_) = seen else { return cell };
    match (cell, silent) {
        (cell @ Cell::Query(_), _) => cell,
        (Cell::One, Silent::One) => Cell::One,
        (Cell::One, Silent::Zero) => Cell::Sum(vec![Term {
            figure: None,
            input: Some(input),
        }]),
        (Cell::Sum(mut terms), silent) => {
            for term in &mut terms {
                debug_assert!(term.input.is_none(), "a hard slot's cells hold figures");
                term.input = Some(input);
            }
            let mut cell = Cell::Sum(terms);
            if let Silent::One = silent {
                add(&mut cell, off(input));
            }
            cell
        }
    }
}

/// What a cell is where a switched slot says nothing.
#[derive(Debug, Clone, Copy)]
pub(super) enum Silent {
    One,
    Zero,
}

/// Adds a cell of one term into another; two ones cannot meet, for a row adds to one.
pub(super) fn add(into: &mut Cell, cell: Cell) {
    match (into, cell) {
        (Cell::Sum(terms), Cell::Sum(more)) => terms.extend(more),
        (into, Cell::One) => *into = Cell::One,
        _ => {}
    }
}
