//! The downward sweep, laid out once: the instructions in reverse, each split into runs of steps
//! toward its operands as far as these lie on the way to a query. The first step to a cell sets its
//! slope, so that little has to start at nought.
//!
//! Most work is one small table spread over a large one: of one operand a cell that stands, of the
//! other a run. There one run of steps serves both, for both need the same slopes and values.
//! Must not run anything.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::back::Back;
use super::contract::Made;
use super::instruction::{Instruction, Kind, NO_CELL};
use super::program::{Flow, Turn};
use super::stored::whole;

/// What the downward sweep does.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(in crate::network) struct Backward {
    #[serde(deserialize_with = "whole")]
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
            for term in i.single() {
                for n in 0..i.len {
                    // What a run reads lies before what it writes, so all of it is known.
                    let found = |cell: u32, step: u32, lane: bool| {
                        cell != NO_CELL && self.has((cell + step * n) as usize, lane)
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

    /// Lays instructions out in reverse, runs of steps toward one operand or toward both.
    fn instructions(&mut self, instructions: &[Instruction], needed: &Flags) -> Range<usize> {
        let from = self.list.len();
        for i in instructions.iter().rev().filter(|i| i.kind != Kind::Scale) {
            let first = self.list.len();
            let mut apart = Vec::new();
            for term in i.single().rev() {
                if let Some((walks, stands)) = spread(&term, needed) {
                    self.both(&term, walks, stands);
                    continue;
                }
                let (a, b) = operands(&term);
                if term.b != NO_CELL {
                    self.one(&term, b, a, needed);
                }
                apart.push(term);
            }
            // Those toward the same operand stand together, so that they can be joined.
            for term in apart {
                let (a, b) = operands(&term);
                self.one(&term, a, b, needed);
            }
            self.join(first);
        }
        from..self.list.len()
    }

    /// Joins neighbouring runs from here on.
    fn join(&mut self, first: usize) {
        for join in [Back::gathers, Back::repeats] {
            let mut runs = self.list.split_off(first).into_iter();
            self.list.extend(runs.next());
            for run in runs {
                if !self.list.last_mut().is_some_and(|last| join(last, &run)) {
                    self.list.push(run);
                }
            }
        }
    }

    /// Steps toward one operand of a run of single terms.
    fn one(&mut self, i: &Instruction, target: Operand, factor: Operand, needed: &Flags) {
        let mut run: Option<Back> = None;
        for n in 0..i.len {
            let at = (target.cell + target.step * n) as usize;
            if !needed.has(at, target.lane) {
                self.list.extend(run.take());
                continue;
            }
            self.read((i.dst + n) as usize, i.lane[0]);
            let first = self.touch(at, target.lane);
            match &mut run {
                // A target that stands is added up aside, and set or added once.
                Some(run) if run.first == first || target.step == 0 => run.len += 1,
                _ => {
                    self.list.extend(run.take());
                    run = Some(back(i, target, factor, n, first));
                }
            }
        }
        self.list.extend(run);
    }

    /// Steps toward both operands of a run of single terms, one of which stands.
    fn both(&mut self, i: &Instruction, walks: Operand, stands: Operand) {
        let mut run: Option<Back> = None;
        for n in 0..i.len {
            self.read((i.dst + n) as usize, i.lane[0]);
            let first = self.touch((walks.cell + walks.step * n) as usize, true);
            match &mut run {
                Some(run) if run.first == first => run.len += 1,
                _ => {
                    self.list.extend(run.take());
                    run = Some(Back {
                        both: true,
                        first_factor: self.touch(stands.cell as usize, true),
                        ..back(i, walks, stands, n, first)
                    });
                }
            }
        }
        self.list.extend(run);
    }

    /// A slope is read; it has to start at nought where nothing was added.
    fn read(&mut self, cell: usize, lane: bool) {
        if !*self.touched.at(cell, lane) {
            *self.bare.at(cell, lane) = true;
        }
    }

    /// A slope is added to; whether it is for the first time.
    fn touch(&mut self, cell: usize, lane: bool) -> bool {
        !std::mem::replace(self.touched.at(cell, lane), true)
    }
}

/// An operand of a run of single terms.
#[derive(Debug, Clone, Copy)]
struct Operand {
    cell: u32,
    step: u32,
    lane: bool,
}

fn operands(i: &Instruction) -> (Operand, Operand) {
    let operand = |cell, step, lane| Operand { cell, step, lane };
    (
        operand(i.a, i.step_a, i.lane[1]),
        operand(i.b, i.step_b, i.lane[2]),
    )
}

/// The step with which a run begins at its operation `n`.
fn back(i: &Instruction, target: Operand, factor: Operand, n: u32, first: bool) -> Back {
    Back {
        lane: [target.lane, i.lane[0], factor.lane],
        first,
        both: false,
        first_factor: false,
        len: 1,
        target: target.cell + target.step * n,
        step: target.step,
        dst: i.dst + n,
        factor: match factor.cell {
            NO_CELL => NO_CELL,
            cell => cell + factor.step * n,
        },
        step_factor: factor.step,
        terms: 1,
        jump: 0,
        jump_factor: 0,
        times: 1,
        again: 0,
        again_factor: 0,
    }
}

/// The operand that walks and the one that stands, if one run of steps can serve both: all their
/// slopes are needed, and the one that stands is none of the others.
fn spread(i: &Instruction, needed: &Flags) -> Option<(Operand, Operand)> {
    if i.b == NO_CELL || i.len == 1 {
        return None;
    }
    let (a, b) = operands(i);
    let (walks, stands) = match (a.step, b.step) {
        (1.., 0) => (a, b),
        (0, 1..) => (b, a),
        _ => return None,
    };
    let walked = || (0..i.len).map(|n| walks.cell + walks.step * n);
    let wanted = walks.lane && stands.lane && needed.has(stands.cell as usize, true);
    let all = wanted && walked().all(|at| at != stands.cell && needed.has(at as usize, true));
    all.then_some((walks, stands))
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
