//! Buffers of one thread, made once and used for every chunk of lanes.
//! Must not interpret answers.

use std::ops::Range;

use super::downward::Downward;
use super::upward::Upward;
use crate::network::compile::{Back, Backward, Program, Turn};

/// Lanes run side by side.
pub(in crate::network) const WIDE: usize = 8;

/// One cell for all lanes; aligned so that no load crosses a cache line.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub(in crate::network) struct Wide(pub [f64; WIDE]);

impl Wide {
    pub const ZERO: Self = Self([0.0; WIDE]);
}

/// Memory of one thread's sweeps of a program; fresh memory costs more than a sweep.
#[derive(Debug, Default)]
pub(in crate::network) struct Buffers {
    values: Vec<Wide>,
    slopes: Vec<Wide>,
    fixed_slopes: Vec<Wide>,
}

/// Buffers for running one program.
pub(in crate::network) struct Sweep<'a> {
    pub program: &'a Program,
    pub fixed: &'a [f64],
    pub values: Vec<Wide>,
    pub slopes: Vec<Wide>,
    pub fixed_slopes: Vec<Wide>,
    arch: pulp::Arch,
    /// P(evidence), scaled, as far as it is added up.
    total: Wide,
    /// Logarithm of what the prologue multiplied by.
    fixed_scale: f64,
}

/// The chance of the evidence of one lane: `weight * exp(log_scale)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::network) struct Weight {
    pub weight: f64,
    pub log_scale: f64,
}

impl<'a> Sweep<'a> {
    pub fn new(program: &'a Program, fixed: &'a [f64]) -> Self {
        Self::with(program, fixed, Buffers::default())
    }

    /// As `new`, in memory that was used for the same program before.
    pub fn with(program: &'a Program, fixed: &'a [f64], buffers: Buffers) -> Self {
        let mut values = buffers.values;
        values.resize(program.lanes, Wide::ZERO);
        let fixed_scales = program.scales.iter().filter(|s| !s.1);
        Self {
            program,
            fixed,
            values,
            slopes: buffers.slopes,
            fixed_slopes: buffers.fixed_slopes,
            arch: pulp::Arch::new(),
            total: Wide::ZERO,
            fixed_scale: fixed_scales.map(|s| -fixed[s.0 as usize].ln()).sum(),
        }
    }

    /// Its memory, for the next sweep of the same program.
    pub fn into_buffers(self) -> Buffers {
        Buffers {
            values: self.values,
            slopes: self.slopes,
            fixed_slopes: self.fixed_slopes,
        }
    }

    /// Puts the inputs of one lane in place.
    pub fn set(&mut self, lane: usize, inputs: &[f64]) {
        for (cell, value) in self.values.iter_mut().zip(inputs) {
            cell.0[lane] = *value;
        }
    }

    /// Lets lanes that are not used repeat the first, so that they hold ordinary numbers.
    pub fn fill(&mut self, used: usize) {
        for cell in &mut self.values[..self.program.inputs] {
            let first = cell.0[0];
            cell.0[used..].fill(first);
        }
    }

    /// Runs upward only.
    pub fn up(&mut self) {
        self.total = Wide::ZERO;
        for turn in &self.program.flow.turns {
            match *turn {
                Turn::Up(stretch) => self.upward(stretch),
                Turn::Weigh(cell, lane) => self.weigh(cell, lane),
                Turn::Down(_) => {}
            }
        }
    }

    /// Runs upward and downward: derivatives of every lane's weight by the queries.
    pub fn round(&mut self) {
        self.round_along(&self.program.backward);
    }

    /// As `round`, downward along a sweep laid out for other cells than the queries.
    pub fn round_along(&mut self, backward: &Backward) {
        self.make_room();
        clear(&mut self.fixed_slopes, &backward.clear_fixed);
        self.turns(backward, Wide([1.0; WIDE]), true);
        self.downward(&backward.list[backward.prologue.clone()]);
    }

    /// Forgets what [`Sweep::round_onto`] added up.
    pub fn clear_sums(&mut self) {
        self.make_room();
        self.fixed_slopes.fill(Wide::ZERO);
    }

    /// Runs upward, asks how much the weight of each lane counts for, and adds the derivatives by
    /// fixed cells, so many times over, to those of earlier rounds; along a sweep laid out for
    /// that. The prologue waits for [`Sweep::end_sums`].
    pub fn round_onto(&mut self, backward: &Backward, counts: impl FnOnce(&Self) -> Wide) {
        self.up();
        let seeds = counts(self);
        // Stretches that share cells have to run again.
        let shared = self.program.flow.stretches.len() > 1;
        self.turns(backward, seeds, shared);
    }

    /// Passes what was added up on to the queries.
    pub fn end_sums(&mut self, backward: &Backward) {
        self.downward(&backward.list[backward.prologue.clone()]);
    }

    fn make_room(&mut self) {
        // Cells that are not cleared are never read before they are set.
        self.slopes.resize(self.program.lanes, Wide::ZERO);
        self.fixed_slopes.resize(self.program.fixed, Wide::ZERO);
    }

    /// All turns; the weight of each lane has the slope `seeds`. Without `up` the values stand
    /// from before.
    fn turns(&mut self, backward: &Backward, seeds: Wide, up: bool) {
        self.total = if up { Wide::ZERO } else { self.total };
        clear(&mut self.slopes, &backward.clear_inputs);
        for turn in &self.program.flow.turns {
            match *turn {
                Turn::Up(stretch) => {
                    clear(&mut self.slopes, &backward.clear[stretch]);
                    if up {
                        self.upward(stretch);
                    }
                }
                Turn::Weigh(cell, lane) => {
                    if up {
                        self.weigh(cell, lane);
                    }
                    let slopes = match lane {
                        true => &mut self.slopes,
                        false => &mut self.fixed_slopes,
                    };
                    // Several weights may be one cell.
                    let slope = slopes[cell as usize].0.iter_mut();
                    slope.zip(seeds.0).for_each(|(s, seed)| *s += seed);
                }
                Turn::Down(stretch) => {
                    self.downward(&backward.list[backward.stretches[stretch].clone()]);
                }
            }
        }
    }

    fn upward(&mut self, stretch: usize) {
        let flow = &self.program.flow;
        self.arch.dispatch(Upward {
            list: &flow.upward[flow.stretches[stretch].instructions.clone()],
            lanes: &mut self.values,
            fixed: self.fixed,
        });
    }

    fn downward(&mut self, list: &[Back]) {
        self.arch.dispatch(Downward {
            list,
            values: &self.values,
            fixed: self.fixed,
            slopes: &mut self.slopes,
            fixed_slopes: &mut self.fixed_slopes,
        });
    }

    fn weigh(&mut self, cell: u32, lane: bool) {
        for (l, total) in self.total.0.iter_mut().enumerate() {
            *total += match lane {
                true => self.values[cell as usize].0[l],
                false => self.fixed[cell as usize],
            };
        }
    }

    /// Chance of the evidence of a lane, after `up` or `round`.
    pub fn weight(&self, lane: usize) -> Weight {
        let lanes = self.program.scales.iter().filter(|s| s.1);
        let scale: f64 = lanes.map(|s| -self.values[s.0 as usize].0[lane].ln()).sum();
        Weight {
            weight: self.total.0[lane],
            log_scale: self.fixed_scale + scale,
        }
    }

    /// Derivative of a lane's weight by a query cell, after `round`.
    pub fn slope(&self, query_cell: u32, lane: usize) -> f64 {
        self.fixed_slopes[query_cell as usize].0[lane]
    }
}

fn clear(slopes: &mut [Wide], runs: &[Range<usize>]) {
    for run in runs {
        slopes[run.clone()].fill(Wide::ZERO);
    }
}
