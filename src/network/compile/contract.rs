//! Sums of products of factors into instructions over cells.
//!
//! Each step gathers the tables that hold a variable, multiplies the smaller ones, and sums
//! the variable out of the last product. An entry with a single factor that is not one
//! becomes an alias and costs nothing. A table that gathered so many factors that its entries
//! might leave the range of the arithmetic is brought back by a power of two, lane by lane.
//! Must not choose the order.

use super::emit::{Emitter, Ref};
use super::lower::{Cell, Factor, Lowered};
use super::order::Order;
use super::program::Instruction;

/// Bits that the factors of a table may take off it before it is rescaled; half the range.
const MOST_BITS: f64 = 400.0;
/// Bits that a reading's likelihood is reckoned to take off; readings are scaled to at most one.
const INPUT_BITS: f64 = 8.0;

/// What `contract` hands to the program.
pub(super) struct Made {
    pub fixed: usize,
    pub lanes: usize,
    pub figures: Vec<(u32, u32)>,
    pub query_cells: Vec<u32>,
    pub prologue: Vec<Instruction>,
    pub upward: Vec<Instruction>,
    pub root: Option<(u32, bool)>,
    /// Cells that hold what tables were multiplied by, and whether they are lane cells.
    pub scales: Vec<(u32, bool)>,
}

/// A table over lowered variables; entries refer to cells.
#[derive(Debug, Clone)]
struct Table {
    scope: Vec<u32>,
    entries: Vec<Ref>,
    /// Bits that the factors gathered so far are reckoned to take off an entry.
    bits: f64,
}

impl Table {
    fn of_one(entry: Ref) -> Self {
        Self {
            scope: Vec::new(),
            entries: vec![entry],
            bits: 0.0,
        }
    }
}

/// Mean of the bits that the cells of a factor take off.
fn bits(factor: &Factor, figures: &[f64]) -> f64 {
    let cells = factor.cells.iter().filter_map(|cell| match cell {
        Cell::Sum(terms) if terms.is_empty() => None,
        Cell::Sum(terms) => {
            let input = terms.iter().any(|t| t.input.is_some());
            let value = |f: Option<u32>| f.map_or(1.0, |f| figures[f as usize]);
            let sum: f64 = terms.iter().map(|t| value(t.figure)).sum();
            Some(f64::from(u8::from(input)) * INPUT_BITS - sum.min(1.0).log2())
        }
        Cell::One | Cell::Query(_) => Some(0.0),
    });
    let (sum, count) = cells.fold((0.0, 0.0), |(sum, n), b| (sum + b, n + 1.0));
    if count > 0.0 { sum / count } else { 0.0 }
}

pub(super) fn contract(lowered: &Lowered, order: &Order, figures: &[f64]) -> Made {
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
            bits: bits(f, figures),
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
        let unit = Table::of_one(Ref::One);
        let a = &with[0];
        let b = with.get(1).unwrap_or(&unit);
        tables.push(work.combine(a, b, Some(variable)));
    }
    let mut root = Table::of_one(Ref::One);
    for table in &tables {
        debug_assert!(table.scope.is_empty(), "everything is summed out");
        root = work.combine(table, &root, None);
    }
    let mut emit = work.emit;
    emit.root = match root.entries[0] {
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
        scales: emit.scales,
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

/// What is known of an entry while its table is made.
#[derive(Debug, Clone, Copy)]
struct Sum {
    terms: u32,
    lane: bool,
    emits: bool,
    begun: bool,
    only: (Ref, Ref),
}

impl Default for Sum {
    fn default() -> Self {
        Self {
            terms: 0,
            lane: false,
            emits: false,
            begun: false,
            only: (Ref::One, Ref::One),
        }
    }
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
                let dst = self.emit.new_cell(lane);
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
        let outer = places(&outer);
        let inner_sum = sum.filter(|s| !b.scope.contains(s));
        let inner = inner_sum
            .into_iter()
            .chain(scope.iter().filter(|v| !b.scope.contains(v)).copied())
            .map(axis)
            .collect::<Vec<_>>();
        let inner = places(&inner);
        let count: usize = scope.iter().map(|v| self.size(*v)).product();
        // First pass: how many terms each entry has, and whether one of them is a lane.
        let mut sums = vec![Sum::default(); count];
        walk(&outer, &inner, a, b, |at, x, y| {
            let sum = &mut sums[at];
            sum.terms += 1;
            sum.lane |= matches!(x, Ref::Lane(_)) || matches!(y, Ref::Lane(_));
            sum.only = (x, y);
        });
        let entries = sums.iter_mut().map(|sum| match (sum.terms, sum.only) {
            (0, _) => Ref::Zero,
            (1, (Ref::One, other) | (other, Ref::One)) => other,
            _ => {
                sum.emits = true;
                self.emit.new_cell(sum.lane)
            }
        });
        let entries = entries.collect::<Vec<_>>();
        // Second pass: the operations.
        walk(&outer, &inner, a, b, |at, x, y| {
            let sum = &mut sums[at];
            if sum.emits {
                self.emit.product(entries[at], !sum.begun, x, y);
                sum.begun = true;
            }
        });
        let table = Table {
            scope,
            entries,
            bits: a.bits + b.bits,
        };
        if table.bits > MOST_BITS {
            self.rescale(table)
        } else {
            table
        }
    }

    /// Copies a table and multiplies it by a power of two, one for each lane.
    fn rescale(&mut self, table: Table) -> Table {
        let lane = table.entries.iter().any(|e| matches!(e, Ref::Lane(_)));
        let there = table.entries.iter().filter(|e| **e != Ref::Zero);
        let from = there.copied().collect::<Vec<_>>();
        let copies = from.iter().map(|_| self.emit.new_cell(lane));
        let copies = copies.collect::<Vec<_>>();
        let Some(first) = copies.first().copied() else {
            return table;
        };
        for (copy, entry) in copies.iter().zip(from) {
            self.emit.product(*copy, true, entry, Ref::One);
        }
        let factor = self.emit.scale(first, copies.len(), lane);
        let mut copies = copies.into_iter();
        let mut entries = table.entries;
        for entry in entries.iter_mut().filter(|e| **e != Ref::Zero) {
            *entry = self.emit.new_cell(lane);
        }
        for entry in entries.iter().filter(|e| **e != Ref::Zero) {
            let copy = copies.next().expect("one for each entry");
            self.emit.product(*entry, true, copy, factor);
        }
        Table {
            entries,
            bits: 0.0,
            ..table
        }
    }
}

/// Visits every pair of entries that are both not zero: `visit(out entry, a, b)`.
fn walk(
    outer: &[[usize; 3]],
    inner: &[[usize; 3]],
    a: &Table,
    b: &Table,
    mut visit: impl FnMut(usize, Ref, Ref),
) {
    for [out, at_a, at_b] in outer {
        let y = b.entries[*at_b];
        if y == Ref::Zero {
            continue;
        }
        for [step, step_a, _] in inner {
            let x = a.entries[at_a + step_a];
            if x != Ref::Zero {
                visit(out + step, x, y);
            }
        }
    }
}

/// All places of a nested loop, the last axis fastest: entry of `out`, of `a`, of `b`.
fn places(axes: &[Axis]) -> Vec<[usize; 3]> {
    let mut places = vec![[0; 3]];
    for axis in axes {
        let mut next = Vec::with_capacity(places.len() * axis.size);
        for [out, a, b] in places {
            next.extend((0..axis.size).map(|s| {
                let moved = |from: usize, step: usize| from + s * step;
                [moved(out, axis.out), moved(a, axis.a), moved(b, axis.b)]
            }));
        }
        places = next;
    }
    places
}
