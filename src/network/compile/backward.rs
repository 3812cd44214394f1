//! The downward sweep, laid out once: the instructions in reverse, each split into stretches
//! over which the same operands lie on the way to a query.
//!
//! Must not run anything.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::contract::Made;
use super::program::{Instruction, Kind, NO_CELL};

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
    /// Stretches of fixed and of lane cells whose derivatives must start at nought.
    pub clear_fixed: Vec<Range<usize>>,
    pub clear_lane: Vec<Range<usize>>,
}

/// Which fixed and lane cells depend on a query cell.
struct Needed {
    fixed: Vec<bool>,
    lane: Vec<bool>,
}

impl Needed {
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
    toward(&made.prologue, &made.upward, sizes, queries, 0)
}

/// The downward sweep toward some fixed cells and the first so many lane cells, the inputs;
/// `sizes` are the numbers of fixed and of lane cells.
pub(in crate::network) fn toward(
    prologue: &[Instruction],
    upward: &[Instruction],
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
    for i in prologue.iter().chain(upward) {
        // The factor of a rescaling counts as a constant.
        if i.kind == Kind::Scale {
            continue;
        }
        // What a run reads lies before what it writes, so all of it is known.
        let found = needed.operands(i).map(|(a, b)| a || b).collect::<Vec<_>>();
        let flags = if i.lane[0] {
            &mut needed.lane
        } else {
            &mut needed.fixed
        };
        let from = i.dst as usize;
        for (flag, found) in flags[from..].iter_mut().zip(found) {
            *flag |= found;
        }
    }
    let mut list = Vec::new();
    for i in upward.iter().rev().chain(prologue.iter().rev()) {
        if i.kind != Kind::Scale {
            split(i, &needed, &mut list);
        }
    }
    Backward {
        list,
        clear_fixed: stretches(&needed.fixed),
        clear_lane: stretches(&needed.lane),
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

fn stretches(flags: &[bool]) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for (at, _) in flags.iter().enumerate().filter(|(_, f)| **f) {
        match out.last_mut() {
            Some(last) if last.end == at => last.end = at + 1,
            _ => out.push(at..at + 1),
        }
    }
    out
}
