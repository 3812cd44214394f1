//! The downward sweep, laid out once: the instructions in reverse, each split into stretches
//! over which the same operands lie on the way to a query.
//!
//! Must not run anything.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::contract::Made;
use super::program::{Flow, Instruction, Kind, NO_CELL, Turn};

/// A stretch of an instruction, and whether a derivative must reach its operands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::network) struct Back {
    pub op: Instruction,
    pub to_a: bool,
    pub to_b: bool,
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

/// Which fixed and lane cells depend on a query cell.
struct Needed {
    fixed: Vec<bool>,
    lane: Vec<bool>,
}

impl Needed {
    /// Marks what instructions make of cells that depend on a query.
    fn along(&mut self, instructions: &[Instruction]) {
        for i in instructions {
            // The factor of a rescaling counts as a constant.
            if i.kind == Kind::Scale {
                continue;
            }
            // What a run reads lies before what it writes, so all of it is known.
            let found = self.operands(i).map(|(a, b)| a || b).collect::<Vec<_>>();
            let flags = if i.lane[0] {
                &mut self.lane
            } else {
                &mut self.fixed
            };
            let from = i.dst as usize;
            for (flag, found) in flags[from..].iter_mut().zip(found) {
                *flag |= found;
            }
        }
    }

    /// Of each operation of a run in turn: whether its `a` and its `b` depend on a query.
    fn operands(&self, i: &Instruction) -> impl Iterator<Item = (bool, bool)> {
        let walk = |cell: u32, step: i32, lane: bool| {
            let flags = if lane { &self.lane[..] } else { &self.fixed };
            let (mut at, step) = match cell {
                // An operand that is not there stands still on a cell that says no.
                NO_CELL => (0, 0),
                cell => (cell as usize, step as isize),
            };
            let flags = if cell == NO_CELL { &[false] } else { flags };
            std::iter::repeat_with(move || {
                let here = flags[at];
                at = at.wrapping_add_signed(step);
                here
            })
        };
        let a = walk(i.a, i.step_a, i.lane[1]);
        let b = walk(i.b, i.step_b, i.lane[2]);
        a.zip(b).take(i.len as usize)
    }
}

fn moved(cell: u32, step: i32, n: u32) -> u32 {
    let at = i64::from(cell) + i64::from(n) * i64::from(step);
    u32::try_from(at).expect("a cell of the program")
}

pub(super) fn backward(made: &Made) -> Backward {
    let sizes = (made.fixed, made.lanes);
    let queries = made.query_cells.iter().copied();
    toward(&made.prologue, &made.flow, sizes, queries, 0)
}

/// The downward sweep toward some fixed cells and the first so many lane cells, the inputs;
/// `sizes` are the numbers of fixed and of lane cells.
pub(in crate::network) fn toward(
    prologue: &[Instruction],
    flow: &Flow,
    sizes: (usize, usize),
    targets: impl Iterator<Item = u32>,
    inputs: usize,
) -> Backward {
    let mut needed = Needed {
        fixed: vec![false; sizes.0],
        lane: vec![false; sizes.1],
    };
    for cell in targets {
        needed.fixed[cell as usize] = true;
    }
    needed.lane[..inputs].fill(true);
    needed.along(prologue);
    let mut list = Vec::new();
    let mut split_all = |instructions: &[Instruction], needed: &Needed| {
        let from = list.len();
        for i in instructions.iter().rev() {
            if i.kind != Kind::Scale {
                split(i, needed, &mut list);
            }
        }
        from..list.len()
    };
    let mut stretches = vec![0..0; flow.stretches.len()];
    let mut clear = vec![Vec::new(); flow.stretches.len()];
    for turn in &flow.turns {
        match *turn {
            Turn::Up(s) => {
                let stretch = &flow.stretches[s];
                // Another stretch had these cells before.
                let own = stretch.cells.start.max(inputs)..stretch.cells.end;
                needed.lane[own.clone()].fill(false);
                needed.along(&flow.upward[stretch.instructions.clone()]);
                clear[s] = runs(&needed.lane, own);
            }
            Turn::Weigh(..) => {}
            Turn::Down(s) => {
                let instructions = &flow.upward[flow.stretches[s].instructions.clone()];
                stretches[s] = split_all(instructions, &needed);
            }
        }
    }
    let prologue = split_all(prologue, &needed);
    Backward {
        list,
        stretches,
        prologue,
        clear_fixed: runs(&needed.fixed, 0..sizes.0),
        clear_inputs: runs(&needed.lane, 0..inputs),
        clear,
    }
}

fn split(i: &Instruction, needed: &Needed, list: &mut Vec<Back>) {
    let mut push = |from: u32, end: u32, (to_a, to_b): (bool, bool)| {
        if !to_a && !to_b {
            return;
        }
        let cell = |first: u32, step: i32| match first {
            NO_CELL => first,
            first => moved(first, step, from),
        };
        let op = Instruction {
            len: end - from,
            dst: i.dst + from,
            a: cell(i.a, i.step_a),
            b: cell(i.b, i.step_b),
            ..*i
        };
        list.push(Back { op, to_a, to_b });
    };
    let (mut from, mut at, mut now) = (0, 0, (false, false));
    for reach in needed.operands(i) {
        if reach != now {
            push(from, at, now);
            (from, now) = (at, reach);
        }
        at += 1;
    }
    push(from, at, now);
}

/// Runs of cells with a flag.
fn runs(flags: &[bool], within: Range<usize>) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for at in within.filter(|at| flags[*at]) {
        match out.last_mut() {
            Some(last) if last.end == at => last.end = at + 1,
            _ => out.push(at..at + 1),
        }
    }
    out
}
