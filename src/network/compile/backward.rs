//! The downward sweep, laid out once: the instructions in reverse, each split into runs of steps
//! toward one operand as far as it lies on the way to a query. The first step to a cell sets its
//! slope, so that little has to start at nought.
//!
//! Must not run anything.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::contract::Made;
use super::program::{Flow, Instruction, Kind, NO_CELL, Turn};

/// A run of steps down: `slope of target (+)= slope of dst * factor`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::network) struct Back {
    /// Whether target, destination and factor are lane cells.
    pub lane: [bool; 3],
    /// Nothing was added to the targets before: the first sets.
    pub first: bool,
    pub len: u32,
    pub target: u32,
    pub step: i32,
    /// Cell of the destination; it moves on by one.
    pub dst: u32,
    /// Cell of the value of the other operand; `NO_CELL` for copies.
    pub factor: u32,
    pub step_factor: i32,
}

/// What the downward sweep does.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(in crate::network) struct Backward {
    pub list: Vec<Back>,
    /// Of each stretch of the flow, its part of the list; the prologue has what is behind them.
    pub stretches: Vec<Range<usize>>,
    pub prologue: Range<usize>,
    /// Runs of fixed cells and of inputs, and of each stretch runs of its lane cells, whose
    /// derivatives must start at nought.
    pub clear_fixed: Vec<Range<usize>>,
    pub clear_inputs: Vec<Range<usize>>,
    pub clear: Vec<Vec<Range<usize>>>,
}

/// A flag for each fixed and lane cell, first of all whether it depends on a query cell.
struct Flags {
    fixed: Vec<bool>,
    lane: Vec<bool>,
}

impl Flags {
    /// Marks what instructions make of cells that depend on a query.
    fn along(&mut self, instructions: &[Instruction]) {
        for i in instructions {
            // The factor of a rescaling counts as a constant.
            if i.kind == Kind::Scale {
                continue;
            }
            for term in (0..i.terms).map(|t| i.term(t)) {
                for n in 0..i.len {
                    // What a run reads lies before what it writes, so all of it is known.
                    let found = |cell: u32, step: i32, lane: bool| {
                        cell != NO_CELL && self.has(moved(cell, step, n) as usize, lane)
                    };
                    let a = found(term.a, term.step_a, term.lane[1]);
                    if a || found(term.b, term.step_b, term.lane[2]) {
                        *self.at((term.dst + n) as usize, term.lane[0]) = true;
                    }
                }
            }
        }
    }

    fn has(&self, cell: usize, lane: bool) -> bool {
        match lane {
            true => self.lane[cell],
            false => self.fixed[cell],
        }
    }

    fn at(&mut self, cell: usize, lane: bool) -> &mut bool {
        match lane {
            true => &mut self.lane[cell],
            false => &mut self.fixed[cell],
        }
    }

    /// As many flags, none set.
    fn none(&self) -> Self {
        Self {
            fixed: vec![false; self.fixed.len()],
            lane: vec![false; self.lane.len()],
        }
    }
}

fn moved(cell: u32, step: i32, n: u32) -> u32 {
    let at = i64::from(cell) + i64::from(n) * i64::from(step);
    u32::try_from(at).expect("a cell of the program")
}

pub(super) fn backward(made: &Made) -> Backward {
    let sizes = (made.fixed, made.lanes);
    let queries = made.query_cells.iter().copied();
    toward(&made.prologue, &made.flow, sizes, queries, 0, Fixed::Afresh)
}

/// What the derivatives by fixed cells hold when a sweep begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::network) enum Fixed {
    /// Nothing that is meant: they are set or cleared.
    Afresh,
    /// Sums of earlier sweeps, which are added to.
    Summed,
}

/// The downward sweep toward some fixed cells and the first so many lane cells, the inputs;
/// `sizes` are the numbers of fixed and of lane cells.
pub(in crate::network) fn toward(
    prologue: &[Instruction],
    flow: &Flow,
    sizes: (usize, usize),
    targets: impl Iterator<Item = u32>,
    inputs: usize,
    fixed: Fixed,
) -> Backward {
    let mut needed = Flags {
        fixed: vec![false; sizes.0],
        lane: vec![false; sizes.1],
    };
    for cell in targets {
        needed.fixed[cell as usize] = true;
    }
    needed.lane[..inputs].fill(true);
    needed.along(prologue);
    let mut layout = Layout {
        list: Vec::new(),
        touched: needed.none(),
        bare: needed.none(),
    };
    layout.touched.fixed.fill(fixed == Fixed::Summed);
    let mut stretches = vec![0..0; flow.stretches.len()];
    let mut clear = vec![Vec::new(); flow.stretches.len()];
    let cells = |s: usize| {
        let cells = &flow.stretches[s].cells;
        cells.start.max(inputs)..cells.end
    };
    for turn in &flow.turns {
        match *turn {
            Turn::Up(s) => {
                // Another stretch had these cells before.
                for flags in [&mut needed, &mut layout.touched, &mut layout.bare] {
                    flags.lane[cells(s)].fill(false);
                }
                needed.along(&flow.upward[flow.stretches[s].instructions.clone()]);
            }
            Turn::Weigh(cell, lane) => layout.weigh(cell as usize, lane),
            Turn::Down(s) => {
                let instructions = &flow.upward[flow.stretches[s].instructions.clone()];
                stretches[s] = layout.instructions(instructions, &needed);
                clear[s] = runs(cells(s), |at| layout.bare.lane[at]);
            }
        }
    }
    let prologue = layout.instructions(prologue, &needed);
    let Layout {
        list,
        touched,
        bare,
    } = layout;
    let cleared = |at: usize| needed.fixed[at] && (bare.fixed[at] || !touched.fixed[at]);
    Backward {
        list,
        stretches,
        prologue,
        clear_fixed: runs(0..sizes.0, cleared),
        clear_inputs: runs(0..inputs, |at| bare.lane[at] || !touched.lane[at]),
        clear,
    }
}

/// The list so far, and what happened to the slope of each cell.
struct Layout {
    list: Vec<Back>,
    /// Something was added or set.
    touched: Flags,
    /// Something was added or read before anything was set, so it must start at nought.
    bare: Flags,
}

impl Layout {
    fn weigh(&mut self, cell: usize, lane: bool) {
        if !std::mem::replace(self.touched.at(cell, lane), true) {
            *self.bare.at(cell, lane) = true;
        }
    }

    /// Lays instructions out in reverse, one run of steps for each operand.
    fn instructions(&mut self, instructions: &[Instruction], needed: &Flags) -> Range<usize> {
        let from = self.list.len();
        for i in instructions.iter().rev().filter(|i| i.kind != Kind::Scale) {
            for term in (0..i.terms).rev() {
                let term = i.term(term);
                if term.b != NO_CELL {
                    self.operand(&term, needed, false);
                }
                self.operand(&term, needed, true);
            }
        }
        from..self.list.len()
    }

    /// Steps toward one operand of a run of single terms.
    fn operand(&mut self, i: &Instruction, needed: &Flags, to_a: bool) {
        let ((target, step, lane), (factor, step_factor, by_lane)) = {
            let a = (i.a, i.step_a, i.lane[1]);
            let b = (i.b, i.step_b, i.lane[2]);
            if to_a { (a, b) } else { (b, a) }
        };
        let mut run: Option<Back> = None;
        for n in 0..i.len {
            let (at, dst) = (moved(target, step, n), i.dst + n);
            if !needed.has(at as usize, lane) {
                self.list.extend(run.take());
                continue;
            }
            if !*self.touched.at(dst as usize, i.lane[0]) {
                *self.bare.at(dst as usize, i.lane[0]) = true;
            }
            let first = !std::mem::replace(self.touched.at(at as usize, lane), true);
            match &mut run {
                // A target that stands is added up aside, and set or added once.
                Some(run) if run.first == first || step == 0 => run.len += 1,
                _ => {
                    self.list.extend(run.take());
                    run = Some(Back {
                        lane: [lane, i.lane[0], by_lane],
                        first,
                        len: 1,
                        target: at,
                        step,
                        dst,
                        factor: match factor {
                            NO_CELL => NO_CELL,
                            factor => moved(factor, step_factor, n),
                        },
                        step_factor,
                    });
                }
            }
        }
        self.list.extend(run);
    }
}

/// Runs of cells of which something holds.
fn runs(cells: Range<usize>, holds: impl Fn(usize) -> bool) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for at in cells.filter(|at| holds(*at)) {
        match out.last_mut() {
            Some(last) if last.end == at => last.end = at + 1,
            _ => out.push(at..at + 1),
        }
    }
    out
}
