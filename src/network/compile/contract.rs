//! Sums of products of factors into instructions over cells.
//!
//! Each step gathers the tables that hold a variable, multiplies the smaller ones, and sums
//! the variable out of the last product. An entry with a single factor that is not one
//! becomes an alias and costs nothing. Must not choose the order.

use super::emit::{Emitter, Ref};
use super::lower::{Cell, Lowered};
use super::order::Order;
use super::program::{Instruction, NO_CELL};

/// What `contract` hands to the program.
pub(super) struct Made {
    pub fixed: usize,
    pub lanes: usize,
    pub figures: Vec<(u32, u32)>,
    pub query_cells: Vec<u32>,
    pub prologue: Vec<Instruction>,
    pub upward: Vec<Instruction>,
    pub root: Option<(u32, bool)>,
}

/// A table over lowered variables; entries refer to cells.
#[derive(Debug, Clone)]
struct Table {
    scope: Vec<u32>,
    entries: Vec<Ref>,
}

pub(super) fn contract(lowered: &Lowered, order: &Order) -> Made {
    let mut work = Work {
        sizes: &lowered.sizes,
        emit: Emitter::new(lowered.inputs, lowered.queries),
    };
    let mut tables = lowered
        .factors
        .iter()
        .map(|f| Table {
            scope: f.scope.clone(),
            entries: f.cells.iter().map(|c| work.cell(c)).collect(),
        })
        .collect::<Vec<_>>();
    for &variable in &order.variables {
        let (mut with, without) = tables
            .into_iter()
            .partition::<Vec<_>, _>(|t| t.scope.contains(&variable));
        tables = without;
        // Multiply the smallest first; the last product is summed in the same breath.
        while with.len() > 2 {
            with.sort_by_key(|t| std::cmp::Reverse(t.entries.len()));
            let (a, b) = (with.pop().expect("three"), with.pop().expect("two"));
            with.push(work.combine(&b, &a, None));
        }
        with.sort_by_key(|t| std::cmp::Reverse(t.entries.len()));
        let unit = Table {
            scope: Vec::new(),
            entries: vec![Ref::One],
        };
        let a = &with[0];
        let b = with.get(1).unwrap_or(&unit);
        tables.push(work.combine(a, b, Some(variable)));
    }
    let mut root = Ref::One;
    for table in &tables {
        debug_assert!(table.scope.is_empty(), "everything is summed out");
        let a = Table {
            scope: Vec::new(),
            entries: vec![root],
        };
        root = work.combine(table, &a, None).entries[0];
    }
    let mut emit = work.emit;
    emit.root = match root {
        Ref::Zero => None,
        Ref::One => Some((emit.one, false)),
        Ref::Fixed(c) => Some((c, false)),
        Ref::Lane(c) => Some((c, true)),
    };
    Made {
        fixed: emit.fixed,
        lanes: emit.lanes,
        figures: emit.figures,
        query_cells: emit.query_cells,
        prologue: emit.prologue,
        upward: emit.upward,
        root: emit.root,
    }
}

impl Made {
    /// Which fixed and lane cells depend on a query cell, so that a derivative must reach them.
    pub fn needed(&self) -> (Vec<bool>, Vec<bool>) {
        let mut fixed = vec![false; self.fixed];
        let mut lane = vec![false; self.lanes];
        for cell in &self.query_cells {
            fixed[*cell as usize] = true;
        }
        for i in self.prologue.iter().chain(&self.upward) {
            for n in 0..i.len {
                let needs = |cell: u32, step: i32, is_lane: bool| {
                    cell != NO_CELL && {
                        let at = (i64::from(cell) + i64::from(n) * i64::from(step)) as usize;
                        if is_lane { lane[at] } else { fixed[at] }
                    }
                };
                if needs(i.a, i.step_a, i.lane[1]) || needs(i.b, i.step_b, i.lane[2]) {
                    let at = (i.dst + n) as usize;
                    if i.lane[0] {
                        lane[at] = true;
                    } else {
                        fixed[at] = true;
                    }
                }
            }
        }
        (fixed, lane)
    }
}

struct Work<'a> {
    sizes: &'a [usize],
    emit: Emitter,
}

/// One axis of a nested loop: states, and how far each table moves a state.
#[derive(Debug, Clone, Copy)]
struct Axis {
    size: usize,
    out: usize,
    a: usize,
    b: usize,
}

impl Work<'_> {
    fn size(&self, v: u32) -> usize {
        self.sizes[v as usize]
    }

    /// The entry of a factor's cell; sums of several terms become prologue or lane work.
    fn cell(&mut self, cell: &Cell) -> Ref {
        let terms = match cell {
            Cell::One => return Ref::One,
            Cell::Query(q) => return Ref::Fixed(self.emit.query_cells[*q as usize]),
            Cell::Sum(terms) => terms,
        };
        let pairs = terms
            .iter()
            .map(|t| {
                let figure = t.figure.map_or(Ref::One, |f| self.emit.figure(f));
                (t.input.map_or(Ref::One, Ref::Lane), figure)
            })
            .collect::<Vec<_>>();
        match pairs[..] {
            [] => Ref::Zero,
            [(Ref::One, other)] | [(other, Ref::One)] => other,
            _ => {
                let lane = pairs.iter().any(|(a, _)| *a != Ref::One);
                let dst = if lane {
                    Ref::Lane(self.emit.new_lane())
                } else {
                    Ref::Fixed(self.emit.new_fixed())
                };
                for (n, (a, b)) in pairs.into_iter().enumerate() {
                    self.emit.product(dst, n == 0, a, b);
                }
                dst
            }
        }
    }

    fn strides(&self, scope: &[u32]) -> Vec<(u32, usize)> {
        let mut stride = 1;
        let mut out = scope
            .iter()
            .rev()
            .map(|v| {
                let here = (*v, stride);
                stride *= self.size(*v);
                here
            })
            .collect::<Vec<_>>();
        out.reverse();
        out
    }

    /// `out = sum over the variable of a * b`; `a` is the larger table.
    fn combine(&mut self, a: &Table, b: &Table, sum: Option<u32>) -> Table {
        // Axes of `a` that `b` lacks stay last, so that runs are long.
        let kept = |v: &&u32| Some(**v) != sum;
        let mut scope = b
            .scope
            .iter()
            .filter(kept)
            .filter(|v| !a.scope.contains(v))
            .copied()
            .collect::<Vec<_>>();
        scope.extend(a.scope.iter().filter(kept).filter(|v| b.scope.contains(v)));
        scope.extend(a.scope.iter().filter(kept).filter(|v| !b.scope.contains(v)));
        let (sa, sb, so) = (
            self.strides(&a.scope),
            self.strides(&b.scope),
            self.strides(&scope),
        );
        let stride = |list: &[(u32, usize)], v: u32| {
            list.iter().find(|(w, _)| *w == v).map_or(0, |(_, s)| *s)
        };
        let axis = |v: u32| Axis {
            size: self.size(v),
            out: stride(&so, v),
            a: stride(&sa, v),
            b: stride(&sb, v),
        };
        // Outer loops over the axes of `b` in the order of `out`, the summed one last; inner
        // loops over what only `a` has.
        let outer = scope
            .iter()
            .filter(|v| b.scope.contains(v))
            .copied()
            .chain(sum.filter(|s| b.scope.contains(s)))
            .map(axis)
            .collect::<Vec<_>>();
        let inner_sum = sum.filter(|s| !b.scope.contains(s));
        let inner = inner_sum
            .into_iter()
            .chain(scope.iter().filter(|v| !b.scope.contains(v)).copied())
            .map(axis)
            .collect::<Vec<_>>();
        let count: usize = scope.iter().map(|v| self.size(*v)).product();
        // First pass: how many terms each entry has, and whether one of them is a lane.
        let mut terms = vec![0_u32; count];
        let mut lanes = vec![false; count];
        let mut only = vec![(Ref::One, Ref::One); count];
        walk(&outer, &inner, a, b, |at, x, y| {
            terms[at] += 1;
            lanes[at] |= matches!(x, Ref::Lane(_)) || matches!(y, Ref::Lane(_));
            only[at] = (x, y);
        });
        let mut entries = Vec::with_capacity(count);
        let mut emits = vec![false; count];
        for at in 0..count {
            entries.push(match (terms[at], only[at]) {
                (0, _) => Ref::Zero,
                (1, (Ref::One, other) | (other, Ref::One)) => other,
                _ => {
                    emits[at] = true;
                    if lanes[at] {
                        Ref::Lane(self.emit.new_lane())
                    } else {
                        Ref::Fixed(self.emit.new_fixed())
                    }
                }
            });
        }
        // Second pass: the operations.
        let mut begun = vec![false; count];
        walk(&outer, &inner, a, b, |at, x, y| {
            if emits[at] {
                self.emit.product(entries[at], !begun[at], x, y);
                begun[at] = true;
            }
        });
        Table { scope, entries }
    }
}

/// Visits every pair of entries that are both not zero: `visit(out entry, a, b)`.
fn walk(
    outer: &[Axis],
    inner: &[Axis],
    a: &Table,
    b: &Table,
    mut visit: impl FnMut(usize, Ref, Ref),
) {
    each(outer, 0, 0, 0, &mut |out, at_a, at_b| {
        let y = b.entries[at_b];
        if y != Ref::Zero {
            each(inner, out, at_a, 0, &mut |out, at_a, _| {
                let x = a.entries[at_a];
                if x != Ref::Zero {
                    visit(out, x, y);
                }
            });
        }
    });
}

fn each(
    axes: &[Axis],
    out: usize,
    a: usize,
    b: usize,
    visit: &mut impl FnMut(usize, usize, usize),
) {
    match axes {
        [] => visit(out, a, b),
        [axis, rest @ ..] => {
            for s in 0..axis.size {
                each(
                    rest,
                    out + s * axis.out,
                    a + s * axis.a,
                    b + s * axis.b,
                    visit,
                );
            }
        }
    }
}
