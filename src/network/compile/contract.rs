//! Sums of products of factors into instructions over cells.
//!
//! Each step gathers the tables that hold a variable, multiplies the smaller ones, and sums
//! the variable out of the last product. An entry with a single factor that is not one
//! becomes an alias and costs nothing; entries that are equal sums of equal products are reckoned
//! once, as where two states of a cylinder do the same to a count. A table that gathered so many factors that its entries
//! might leave the range of the arithmetic is brought back by a power of two, lane by lane.
//!
//! Variables of the *cut* are not summed out: what hangs on them is made state by state, each state
//! a stretch of its own in the same memory, and the results are added up (see `cut`).
//! Must not choose the order.

use std::collections::HashMap;

use super::emit::{Emitter, Ref};
use super::instruction::Instruction;
use super::lower::{Cell, Factor, Lowered};
use super::order::Order;
use super::product::{Places, Sums, Term, product};
use super::program::{Flow, Stretch, Turn};

/// Bits that the factors of a table may take off it before it is rescaled; half the range.
const MOST_BITS: f64 = 400.0;
/// Bits that a reading's likelihood is reckoned to take off; readings are scaled to at most one.
const INPUT_BITS: f64 = 8.0;

/// Bits that may be left where a program is cut, or it is not: within a cut nothing is rescaled,
/// for all its states have to be scaled alike.
const MOST_BITS_CUT: f64 = 2.0 * MOST_BITS;
/// Bits from which a table is rescaled before a cut: what gathered factors, and what was read.
const BITS_BEFORE_CUT: f64 = 4.0;

/// Places of a table, noughts counted, that can be told apart by one number.
const MOST_PLACES: f64 = (1_u64 << 62) as f64;

/// What `contract` hands to the program.
pub(super) struct Made {
    pub fixed: usize,
    pub lanes: usize,
    pub figures: Vec<(u32, u32)>,
    pub query_cells: Vec<u32>,
    pub prologue: Vec<Instruction>,
    pub flow: Flow,
    /// Cells that hold what tables were multiplied by, and whether they are lane cells.
    pub scales: Vec<(u32, bool)>,
}

/// A table over lowered variables: the entries that are not nought, one for each place.
#[derive(Debug, Clone)]
struct Table {
    places: Places,
    entries: Vec<Ref>,
    /// Bits that the factors gathered so far are reckoned to take off an entry.
    bits: f64,
}

impl Table {
    fn of_one() -> Self {
        Self {
            places: Places {
                scope: Vec::new(),
                at: vec![0],
            },
            entries: vec![Ref::One],
            bits: 0.0,
        }
    }

    /// What is left of it where a variable is in this state.
    fn given(&self, sizes: &[usize], variable: u32, state: u64) -> Self {
        let Some((places, kept)) = self.places.given(sizes, variable, state) else {
            return self.clone();
        };
        Self {
            places,
            entries: kept.into_iter().map(|at| self.entries[at]).collect(),
            bits: self.bits,
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

/// Makes the instructions; as soon as there would be more than `limit` operations, fails with
/// their number so far.
pub(super) fn contract(
    lowered: &Lowered,
    order: &Order,
    figures: &[f64],
    limit: f64,
) -> Result<Made, f64> {
    let mut work = Work {
        sizes: &lowered.sizes,
        emit: Emitter::new(lowered.inputs, lowered.queries),
        stretches: Vec::new(),
        turns: Vec::new(),
        within: false,
        operations: 0.0,
        limit,
    };
    let tables = lowered.factors.iter().map(|f| work.table(f, figures));
    let tables = tables.collect();
    let summed = |v: &u32| !order.cut.contains(v);
    let variables = order.variables.iter().copied().filter(summed);
    work.level(tables, &variables.collect::<Vec<_>>(), &order.cut)?;
    let emit = work.emit;
    Ok(Made {
        fixed: emit.fixed,
        lanes: emit.most_lanes,
        figures: emit.figures,
        query_cells: emit.query_cells,
        prologue: emit.prologue,
        flow: Flow {
            upward: emit.upward,
            stretches: work.stretches,
            turns: work.turns,
        },
        scales: emit.scales,
    })
}

struct Work<'a> {
    sizes: &'a [usize],
    emit: Emitter,
    stretches: Vec<Stretch>,
    turns: Vec<Turn>,
    /// Within a cut.
    within: bool,
    operations: f64,
    limit: f64,
}

impl Work<'_> {
    /// One level of a cut: all steps that do not hang on what is cut next, then its states.
    fn level(&mut self, tables: Vec<Table>, variables: &[u32], mut cut: &[u32]) -> Result<(), f64> {
        let outermost = self.stretches.is_empty();
        let (first, cells) = match outermost {
            true => (0, 0),
            false => (self.emit.begin(), self.emit.lanes),
        };
        let (mut tables, mut waiting) = self.steps(tables, variables, cut.first().copied())?;
        if outermost && !cut.is_empty() {
            tables = self.before_cut(tables);
            if tables.iter().map(|t| t.bits).sum::<f64>() > MOST_BITS_CUT {
                waiting.extend(cut);
                (tables, _) = self.steps(tables, &waiting, None)?;
                (waiting, cut) = (Vec::new(), &[]);
            }
        }
        let (done, mut tables) = tables
            .into_iter()
            .partition::<Vec<_>, _>(|t| t.places.scope.is_empty());
        let mut root = Table::of_one();
        for table in &done {
            root = self.combine(table, &root, None)?;
        }
        self.emit.end();
        let stretch = self.stretches.len();
        self.stretches.push(Stretch {
            instructions: first..self.emit.upward.len(),
            cells: cells..self.emit.lanes,
        });
        self.turns.push(Turn::Up(stretch));
        match cut.split_first() {
            None => {
                debug_assert!(tables.is_empty(), "everything is summed out");
                match root.entries.first() {
                    None | Some(Ref::Zero) => {}
                    Some(Ref::One) => self.turns.push(Turn::Weigh(self.emit.one, false)),
                    Some(Ref::Fixed(c)) => self.turns.push(Turn::Weigh(*c, false)),
                    Some(Ref::Lane(c)) => self.turns.push(Turn::Weigh(*c, true)),
                }
            }
            Some((variable, cut)) => {
                tables.push(root);
                let within = std::mem::replace(&mut self.within, true);
                for state in 0..self.sizes[*variable as usize] {
                    let tables = tables.iter();
                    let tables = tables.map(|t| t.given(self.sizes, *variable, state as u64));
                    let tables = tables.collect::<Vec<_>>();
                    if tables.iter().all(|t| !t.entries.is_empty()) {
                        self.level(tables, &waiting, cut)?;
                    }
                }
                self.within = within;
            }
        }
        self.turns.push(Turn::Down(stretch));
        if !outermost {
            self.emit.lanes = cells;
        }
        Ok(())
    }

    /// Sums variables out but for those that hang on `next`, which are handed back.
    fn steps(
        &mut self,
        mut tables: Vec<Table>,
        variables: &[u32],
        next: Option<u32>,
    ) -> Result<(Vec<Table>, Vec<u32>), f64> {
        let mut waiting = Vec::new();
        for &variable in variables {
            let has = |t: &Table, v: &u32| t.places.scope.contains(v);
            let waits = |t: &Table| waiting.iter().chain(&next).any(|w| has(t, w));
            if tables.iter().any(|t| has(t, &variable) && waits(t)) {
                waiting.push(variable);
            } else {
                tables = self.step(tables, variable)?;
            }
        }
        Ok((tables, waiting))
    }

    /// Brings tables back before a cut, if they may take much off in all.
    fn before_cut(&mut self, tables: Vec<Table>) -> Vec<Table> {
        if tables.iter().map(|t| t.bits).sum::<f64>() <= MOST_BITS {
            return tables;
        }
        let rescale = |t: Table| match t.bits > BITS_BEFORE_CUT {
            true => self.rescale(t),
            false => t,
        };
        tables.into_iter().map(rescale).collect()
    }

    /// Gathers the tables that hold a variable and sums it out.
    fn step(&mut self, tables: Vec<Table>, variable: u32) -> Result<Vec<Table>, f64> {
        let (mut with, mut tables) = tables
            .into_iter()
            .partition::<Vec<_>, _>(|t| t.places.scope.contains(&variable));
        // Multiply those that make the least; the last product is summed in the same breath.
        while with.len() > 2 {
            let (one, other) = self.least(&with);
            let (b, a) = (with.swap_remove(other), with.swap_remove(one));
            let (a, b) = if a.entries.len() < b.entries.len() {
                (b, a)
            } else {
                (a, b)
            };
            with.push(self.combine(&a, &b, None)?);
        }
        with.sort_by_key(|t| std::cmp::Reverse(t.entries.len()));
        let unit = Table::of_one();
        if let Some(a) = with.first() {
            let b = with.get(1).unwrap_or(&unit);
            tables.push(self.combine(a, b, Some(variable))?);
        }
        Ok(tables)
    }

    /// The two tables, the first first, whose product is likely to have the fewest entries.
    fn least(&self, tables: &[Table]) -> (usize, usize) {
        #[expect(clippy::cast_precision_loss, reason = "an estimate")]
        let entries = |one: &Table, other: &Table| {
            let shared = one
                .places
                .scope
                .iter()
                .filter(|v| other.places.scope.contains(v));
            let shared = shared
                .map(|v| self.sizes[*v as usize] as f64)
                .product::<f64>();
            one.entries.len() as f64 * other.entries.len() as f64 / shared
        };
        let pairs = (1..tables.len()).flat_map(|other| (0..other).map(move |one| (one, other)));
        let made = pairs.map(|(one, other)| (entries(&tables[one], &tables[other]), one, other));
        let least = made.min_by(|a, b| a.0.total_cmp(&b.0));
        least.map_or((0, 1), |(_, one, other)| (one, other))
    }

    fn table(&mut self, factor: &Factor, figures: &[f64]) -> Table {
        let entries = factor.cells.iter().map(|c| self.cell(c));
        let there = (0..).zip(entries).filter(|(_, e)| *e != Ref::Zero);
        let (at, entries) = there.unzip();
        let scope = factor.scope.clone();
        Table {
            places: Places { scope, at },
            entries,
            bits: bits(factor, figures),
        }
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

    /// `out = sum over the variable of a * b`; `a` is the larger table. Entries that are sums of
    /// the same products share a cell.
    fn combine(&mut self, a: &Table, b: &Table, sum: Option<u32>) -> Result<Table, f64> {
        let axes = b
            .places
            .scope
            .iter()
            .filter(|v| !a.places.scope.contains(v));
        let axes = axes.chain(&a.places.scope);
        #[expect(clippy::cast_precision_loss, reason = "a count against a limit")]
        let places: f64 = axes.map(|v| self.sizes[*v as usize] as f64).product();
        if places > MOST_PLACES {
            return Err(places);
        }
        let product = product(self.sizes, &a.places, &b.places, sum);
        #[expect(clippy::cast_precision_loss, reason = "a count against a limit")]
        let count = product.terms.len() as f64;
        self.operations += count;
        if self.operations > self.limit {
            return Err(self.operations);
        }
        let operands = |t: &Term| (a.entries[t.a as usize], b.entries[t.b as usize]);
        let sums = Sums::new(&product);
        let alike = repeats(&a.entries) || repeats(&b.entries);
        let mut cells: HashMap<u64, u32> = HashMap::new();
        // First what each entry is: another one, the cell of an equal sum, or a new cell.
        let mut entries = Vec::with_capacity(product.places.at.len());
        let mut emits = vec![false; product.places.at.len()];
        for (at, emits) in (0..).zip(&mut emits) {
            let terms = sums.of(at as usize).iter().map(operands);
            if let [only] = sums.of(at as usize)
                && let (Ref::One, other) | (other, Ref::One) = operands(only)
            {
                entries.push(other);
                continue;
            }
            if alike {
                let known = *cells.entry(digest(terms.clone())).or_insert(at);
                let same = sums.of(known as usize).iter().map(operands);
                if known != at && same.eq(terms.clone()) {
                    entries.push(entries[known as usize]);
                    continue;
                }
            }
            *emits = true;
            let lane = terms.into_iter().any(|(x, y)| x.is_lane() || y.is_lane());
            entries.push(self.emit.new_cell(lane));
        }
        // Then the operations.
        self.emit.step();
        let mut begun = vec![false; entries.len()];
        for term in &product.terms {
            let at = term.out as usize;
            if emits[at] {
                let (x, y) = operands(term);
                self.emit.product(entries[at], !begun[at], x, y);
                begun[at] = true;
            }
        }
        self.emit.step();
        let table = Table {
            places: product.places,
            entries,
            bits: a.bits + b.bits,
        };
        Ok(if table.bits > MOST_BITS && !self.within {
            self.rescale(table)
        } else {
            table
        })
    }

    /// Copies a table and multiplies it by a power of two, one for each lane.
    fn rescale(&mut self, table: Table) -> Table {
        let lane = table.entries.iter().any(|e| e.is_lane());
        let fresh = |emit: &mut Emitter| {
            let cells = table.entries.iter().map(|_| emit.new_cell(lane));
            cells.collect::<Vec<_>>()
        };
        let copies = fresh(&mut self.emit);
        let Some(first) = copies.first().copied() else {
            return table;
        };
        for (copy, entry) in copies.iter().zip(&table.entries) {
            self.emit.product(*copy, true, *entry, Ref::One);
        }
        let factor = self.emit.scale(first, copies.len(), lane);
        let entries = fresh(&mut self.emit);
        for (entry, copy) in entries.iter().zip(copies) {
            self.emit.product(*entry, true, copy, factor);
        }
        Table {
            entries,
            bits: 0.0,
            ..table
        }
    }
}

/// Whether any cell stands twice.
fn repeats(entries: &[Ref]) -> bool {
    let mut codes = entries.iter().map(|e| e.code()).collect::<Vec<_>>();
    // Cells that were made for the table rise, so most need no sorting.
    codes.sort();
    codes.windows(2).any(|pair| pair[0] == pair[1])
}

/// A number that equal sums share and different ones hardly.
fn digest(terms: impl Iterator<Item = (Ref, Ref)>) -> u64 {
    /// An odd number with bits all over.
    const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;
    let mix = |h: u64, code: u64| (h.rotate_left(23) ^ code).wrapping_mul(SPREAD);
    terms.fold(0, |h, (x, y)| mix(mix(h, x.code()), y.code()))
}
