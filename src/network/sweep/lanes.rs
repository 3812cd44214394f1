//! Buffers of one thread, made once and used for every chunk of lanes.
//! Must not interpret answers.

use super::downward::Downward;
use super::upward::Upward;
use crate::network::compile::{Backward, Program};

/// Lanes run side by side.
pub(in crate::network) const WIDE: usize = 8;

/// One cell for all lanes; aligned so that no load crosses a cache line.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub(in crate::network) struct Wide(pub [f64; WIDE]);

impl Wide {
    pub const ZERO: Self = Self([0.0; WIDE]);
    const ONE: Self = Self([1.0; WIDE]);
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

    /// Runs upward.
    pub fn up(&mut self) {
        let Self {
            program,
            fixed,
            values,
            arch,
            ..
        } = self;
        arch.dispatch(Upward {
            list: &program.upward,
            lanes: values,
            fixed,
        });
    }

    /// Chance of the evidence of a lane, after `up`.
    pub fn weight(&self, lane: usize) -> Weight {
        let weight = match self.program.root {
            None => 0.0,
            Some((cell, true)) => self.values[cell as usize].0[lane],
            Some((cell, false)) => self.fixed[cell as usize],
        };
        let lanes = self.program.scales.iter().filter(|s| s.1);
        let scale: f64 = lanes.map(|s| -self.values[s.0 as usize].0[lane].ln()).sum();
        Weight {
            weight,
            log_scale: self.fixed_scale + scale,
        }
    }

    /// Runs downward, after `up`: derivatives of every lane's weight.
    pub fn down(&mut self) {
        self.down_along(&self.program.backward);
    }

    /// Runs a downward sweep laid out for other cells than the queries.
    pub fn down_along(&mut self, backward: &Backward) {
        let Self {
            program,
            fixed,
            values,
            slopes,
            fixed_slopes,
            arch,
            ..
        } = self;
        // Cells that are not cleared below are never read.
        slopes.resize(program.lanes, Wide::ZERO);
        fixed_slopes.resize(program.fixed, Wide::ZERO);
        for stretch in &backward.clear_lane {
            slopes[stretch.clone()].fill(Wide::ZERO);
        }
        for stretch in &backward.clear_fixed {
            fixed_slopes[stretch.clone()].fill(Wide::ZERO);
        }
        match program.root {
            None => {}
            Some((cell, true)) => slopes[cell as usize] = Wide::ONE,
            Some((cell, false)) => fixed_slopes[cell as usize] = Wide::ONE,
        }
        arch.dispatch(Downward {
            list: &backward.list,
            values,
            fixed,
            slopes,
            fixed_slopes,
        });
    }

    /// Derivative of a lane's weight by a query cell, after `down`.
    pub fn slope(&self, query_cell: u32, lane: usize) -> f64 {
        self.fixed_slopes[query_cell as usize].0[lane]
    }
}
