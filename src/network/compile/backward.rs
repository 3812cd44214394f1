//! The downward sweep, laid out once: the instructions in reverse, each split into stretches
//! over which the same operands lie on the way to a query.
//!
//! Must not run anything.

use std::ops::Range;

use super::contract::Made;
use super::program::{Instruction, Kind, NO_CELL};

/// A stretch of an instruction, and whether a derivative must reach its operands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::network) struct Back {
    pub op: Instruction,
    pub to_a: bool,
    pub to_b: bool,
}

/// What the downward sweep does.
#[derive(Debug, Clone, Default)]
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
    fn is(&self, cell: u32, step: i32, n: u32, lane: bool) -> bool {
        if cell == NO_CELL {
            return false;
        }
        let at = moved(cell, step, n) as usize;
        if lane { self.lane[at] } else { self.fixed[at] }
    }

    fn operands(&self, i: &Instruction, n: u32) -> (bool, bool) {
        (
            self.is(i.a, i.step_a, n, i.lane[1]),
            self.is(i.b, i.step_b, n, i.lane[2]),
        )
    }
}

fn moved(cell: u32, step: i32, n: u32) -> u32 {
    let at = i64::from(cell) + i64::from(n) * i64::from(step);
    u32::try_from(at).expect("a cell of the program")
}

pub(super) fn backward(made: &Made) -> Backward {
    let mut needed = Needed {
        fixed: vec![false; made.fixed],
        lane: vec![false; made.lanes],
    };
    for cell in &made.query_cells {
        needed.fixed[*cell as usize] = true;
    }
    for i in made.prologue.iter().chain(&made.upward) {
        // The factor of a rescaling counts as a constant.
        if i.kind == Kind::Scale {
            continue;
        }
        for n in 0..i.len {
            let (a, b) = needed.operands(i, n);
            if a || b {
                let at = (i.dst + n) as usize;
                if i.lane[0] {
                    needed.lane[at] = true;
                } else {
                    needed.fixed[at] = true;
                }
            }
        }
    }
    let mut list = Vec::new();
    for i in made.upward.iter().rev().chain(made.prologue.iter().rev()) {
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
    let mut from = 0;
    while from < i.len {
        let (to_a, to_b) = needed.operands(i, from);
        let mut end = from + 1;
        while end < i.len && needed.operands(i, end) == (to_a, to_b) {
            end += 1;
        }
        if to_a || to_b {
            let cell = |first: u32, step: i32| {
                if first == NO_CELL {
                    first
                } else {
                    moved(first, step, from)
                }
            };
            let op = Instruction {
                len: end - from,
                dst: i.dst + from,
                a: cell(i.a, i.step_a),
                b: cell(i.b, i.step_b),
                ..*i
            };
            list.push(Back { op, to_a, to_b });
        }
        from = end;
    }
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
