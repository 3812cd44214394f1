//! Cells and instructions while a program is being made.
//!
//! Neighbouring operations of equal shape join into one run. Must not know factors.

use std::collections::BTreeMap;

use super::instruction::{Instruction, Kind, NO_CELL};
use super::runs;

/// What a table entry refers to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ref {
    Zero,
    One,
    Fixed(u32),
    Lane(u32),
}

impl Ref {
    pub fn is_lane(self) -> bool {
        matches!(self, Ref::Lane(_))
    }

    /// A number of its own.
    pub fn code(self) -> u64 {
        match self {
            Ref::Zero => 0,
            Ref::One => 1,
            Ref::Fixed(c) => 2 << 32 | u64::from(c),
            Ref::Lane(c) => 3 << 32 | u64::from(c),
        }
    }
}

/// The program so far.
#[derive(Debug, Default)]
pub(super) struct Emitter {
    pub fixed: usize,
    /// Lane cells in use, and the most there ever were.
    pub lanes: usize,
    pub most_lanes: usize,
    /// First instruction of the stretch being made.
    stretch: usize,
    /// First instructions of the steps of the stretch but the first.
    steps: Vec<usize>,
    pub figures: Vec<(u32, u32)>,
    figure_cell: BTreeMap<u32, u32>,
    pub one: u32,
    pub query_cells: Vec<u32>,
    pub prologue: Vec<Instruction>,
    pub upward: Vec<Instruction>,
    pub scales: Vec<(u32, bool)>,
}

impl Emitter {
    /// An empty program. The first lane cells are the inputs, the first fixed cell is one,
    /// the next are the query cells.
    pub fn new(inputs: u32, queries: u32) -> Self {
        Self {
            fixed: 1 + queries as usize,
            lanes: inputs as usize,
            most_lanes: inputs as usize,
            query_cells: (1..=queries).collect(),
            ..Self::default()
        }
    }

    /// Begins a stretch; runs do not reach over its beginning.
    pub fn begin(&mut self) -> usize {
        self.stretch = self.upward.len();
        self.stretch
    }

    /// Begins a step of the stretch: what it does reads only what was there before, and runs do not
    /// reach over its beginning.
    pub fn step(&mut self) {
        self.steps.push(self.upward.len());
    }

    /// Ends a stretch: its steps are laid out.
    pub fn end(&mut self) {
        let single = self.upward.split_off(self.stretch);
        let mut rest = &single[..];
        let mut begun = self.stretch;
        for step in self.steps.drain(..) {
            let (runs, behind) = rest.split_at(step - begun);
            runs::step(runs, &mut self.upward);
            (rest, begun) = (behind, step);
        }
        runs::step(rest, &mut self.upward);
    }

    pub fn new_cell(&mut self, lane: bool) -> Ref {
        if lane {
            Ref::Lane(self.new_lane())
        } else {
            Ref::Fixed(self.new_fixed())
        }
    }

    /// A new cell with the power of two that brings the largest of `len` cells near one.
    pub fn scale(&mut self, first: Ref, len: usize, lane: bool) -> Ref {
        self.step();
        let factor = self.new_cell(lane);
        let (dst, _) = place(factor);
        let (a, _) = place(first);
        let list = if lane {
            &mut self.upward
        } else {
            &mut self.prologue
        };
        list.push(Instruction {
            len: u32::try_from(len).expect("fewer than 2^32 cells"),
            step_a: 1,
            ..Instruction::one(Kind::Scale, [lane, lane, false], dst, a, NO_CELL)
        });
        self.scales.push((dst, lane));
        self.step();
        factor
    }

    fn new_fixed(&mut self) -> u32 {
        self.fixed += 1;
        u32::try_from(self.fixed - 1).expect("fewer than 2^32 cells")
    }

    fn new_lane(&mut self) -> u32 {
        self.lanes += 1;
        self.most_lanes = self.most_lanes.max(self.lanes);
        u32::try_from(self.lanes - 1).expect("fewer than 2^32 cells")
    }

    /// The fixed cell of a figure.
    pub fn figure(&mut self, figure: u32) -> Ref {
        if let Some(cell) = self.figure_cell.get(&figure) {
            return Ref::Fixed(*cell);
        }
        let cell = self.new_fixed();
        self.figure_cell.insert(figure, cell);
        self.figures.push((cell, figure));
        Ref::Fixed(cell)
    }

    /// `dst (+)= a * b`; at least one of the operands is not one unless both are.
    pub fn product(&mut self, dst: Ref, first: bool, a: Ref, b: Ref) {
        let (a, b) = match (a, b) {
            (Ref::One, Ref::One) => (Ref::Fixed(self.one), Ref::One),
            (Ref::One, b) => (b, Ref::One),
            // Lane operands first, so that the kernel knows fewer shapes.
            (Ref::Fixed(_), Ref::Lane(_)) => (b, a),
            other => other,
        };
        let copy = b == Ref::One;
        let kind = match (copy, first) {
            (false, true) => Kind::SetProduct,
            (false, false) => Kind::AddProduct,
            (true, true) => Kind::SetCopy,
            (true, false) => Kind::AddCopy,
        };
        let (dst, dst_lane) = place(dst);
        let (a, a_lane) = place(a);
        let (b, b_lane) = place(b);
        let list = if dst_lane {
            &mut self.upward
        } else {
            &mut self.prologue
        };
        let lane = [dst_lane, a_lane, b_lane];
        let begun = match dst_lane {
            true => self.steps.last().copied().unwrap_or(self.stretch),
            false => 0,
        };
        if let Some(last) = list[begun..].last_mut() {
            // A run must not read what it writes itself.
            let inside = |cell: u32, is_lane: bool| {
                cell != NO_CELL && is_lane == dst_lane && cell >= last.dst
            };
            let apart = !inside(a, a_lane) && !inside(b, b_lane);
            let same = last.kind == kind && last.lane == lane && last.dst + last.len == dst;
            if same && apart && runs::joins(last, a, b) {
                last.len += 1;
                return;
            }
        }
        list.push(Instruction::one(kind, lane, dst, a, b));
    }
}

fn place(r: Ref) -> (u32, bool) {
    match r {
        Ref::Fixed(c) => (c, false),
        Ref::Lane(c) => (c, true),
        Ref::Zero | Ref::One => (NO_CELL, false),
    }
}
