//! Answers jobs: each becomes a few lanes with signs, lanes of one class run together.
//!
//! A noisy maximum seen in state `s` is a difference of two products,
//!
//! ```text
//! P(V = s | parents) = P(V <= s | parents) - P(V <= s - 1 | parents)
//! ```
//! so a job with `k` of them above the lowest state becomes `2^k` lanes with signs. Sums with
//! signs cancel; the sum of the absolute terms bounds the error, and a job whose bound is too
//! large is answered by a program of its own with positive terms only.
//! Must not print or read.

use std::collections::BTreeMap;

use super::answered::Answered;
use super::place::{Place, Places};
use crate::network::cache::Programs;
use crate::network::compile::{CompileError, Request, Seen, Slot};
use crate::network::sweep::{Sweep, WIDE};
use crate::network::variable::{Network, VarId};

/// A variable and the state it was seen in.
pub type Observation = (VarId, usize);

/// Maxima seen above their lowest state up to which a job becomes lanes with signs; beyond, a
/// program of its own is cheaper.
const MOST_SIGNED: usize = 6;
/// Error of a sum with signs, relative to the chance of the evidence, that is let pass.
const MOST_CANCELLED: f64 = 1e-10;

/// Answers jobs of plain observations on one network.
#[derive(Debug)]
pub struct Batch {
    programs: Programs,
    places: Places,
    queries: Vec<Vec<VarId>>,
    /// First cell of each query, and their number.
    bounds: Vec<usize>,
    restarts: usize,
}

/// Which program a job needs: wide tables seen, and variables seen hard.
type Class = (Vec<VarId>, Vec<Observation>);

/// Lanes of one class: of each its job and its sign, and their inputs, `[lane][input]`.
#[derive(Default)]
struct Lanes {
    of: Vec<(usize, f64)>,
    inputs: Vec<f64>,
}

/// Sums over the lanes of each job.
struct Sums {
    weight: Vec<f64>,
    absolute: Vec<f64>,
    log_scale: Vec<f64>,
    /// `[job][query cell]`
    slopes: Vec<f64>,
}

impl Batch {
    /// A batch over a network. `observable` are the variables that jobs may hold, `queries` what
    /// is asked of every job, `most_bytes` bounds the programs kept.
    #[must_use]
    pub fn new(
        network: Network,
        observable: &[VarId],
        queries: Vec<Vec<VarId>>,
        restarts: usize,
        most_bytes: usize,
    ) -> Self {
        let asked = queries.iter().flatten().copied().collect::<Vec<_>>();
        let places = Places::new(&network, observable, &asked);
        let mut bounds = vec![0];
        for query in &queries {
            let states = query.iter().map(|v| network.size(*v)).product::<usize>();
            bounds.push(bounds[bounds.len() - 1] + states);
        }
        Self {
            programs: Programs::new(network, most_bytes),
            places,
            queries,
            bounds,
            restarts,
        }
    }

    /// The programs made so far.
    #[must_use]
    pub fn programs(&self) -> &Programs {
        &self.programs
    }

    /// Log P(evidence) and the chances of every query, for each job. Observations of variables
    /// that were not given as observable, or of states that are not there, are impossible.
    ///
    /// # Errors
    /// When a program would be too wide.
    pub fn answer(&mut self, jobs: &[Vec<Observation>]) -> Result<Answered, CompileError> {
        let cells = self.bounds[self.bounds.len() - 1];
        let mut sums = Sums {
            weight: vec![0.0; jobs.len()],
            absolute: vec![0.0; jobs.len()],
            log_scale: vec![0.0; jobs.len()],
            slopes: vec![0.0; jobs.len() * cells],
        };
        let mut classes: BTreeMap<Class, Lanes> = BTreeMap::new();
        let mut positive = Vec::new();
        for (job, seen) in jobs.iter().enumerate() {
            if self.differences(seen) > MOST_SIGNED {
                positive.push(job);
            } else {
                self.lanes(job, seen, true, &mut classes);
            }
        }
        self.classes(&classes, &mut sums)?;
        // Jobs that came through the sums with signs but cancelled too much.
        for job in 0..jobs.len() {
            let error = f64::EPSILON * sums.absolute[job];
            if sums.absolute[job] > 0.0 && error > MOST_CANCELLED * sums.weight[job] {
                (sums.weight[job], sums.absolute[job]) = (0.0, 0.0);
                sums.slopes[job * cells..(job + 1) * cells].fill(0.0);
                positive.push(job);
            }
        }
        let mut classes = BTreeMap::new();
        for job in positive {
            self.lanes(job, &jobs[job], false, &mut classes);
        }
        self.classes(&classes, &mut sums)?;
        let bounds = self.bounds.clone();
        Ok(Answered::new(
            &sums.weight,
            &sums.log_scale,
            sums.slopes,
            bounds,
        ))
    }

    /// Number of noisy maxima seen above their lowest state.
    fn differences(&self, seen: &[Observation]) -> usize {
        let place = |v: VarId| &self.places.of[v.at()];
        let above = |(v, s): &&Observation| *s > 0 && matches!(place(*v), Place::Cumulative(_));
        seen.iter().filter(above).count()
    }

    /// Puts the lanes of a job to those of its class; none for an observation that cannot be.
    /// Without `signed` the maxima seen above their lowest state are put into the class.
    fn lanes(
        &self,
        job: usize,
        seen: &[Observation],
        signed: bool,
        classes: &mut BTreeMap<Class, Lanes>,
    ) {
        let network = self.programs.network();
        let fits = |(v, state): &Observation| {
            *state < network.size(*v) && self.places.of[v.at()] != Place::Nowhere
        };
        if !seen.iter().all(fits) {
            return;
        }
        let (mut wide, mut hard, mut differences) = (Vec::new(), Vec::new(), Vec::new());
        for (v, state) in seen {
            match &self.places.of[v.at()] {
                Place::Classed => wide.push((*v, *state)),
                Place::Cumulative(_) if *state > 0 && !signed => hard.push((*v, *state)),
                Place::Cumulative(_) if *state > 0 => differences.push((*v, *state)),
                _ => {}
            }
        }
        wide.sort_unstable();
        hard.sort_unstable();
        let class = (wide.iter().map(|w| w.0).collect(), hard);
        let lanes = classes.entry(class).or_default();
        let first = lanes.inputs.len();
        lanes.of.push((job, 1.0));
        lanes.inputs.resize(first + self.places.inputs, 1.0);
        let inputs = &mut lanes.inputs[first..];
        for (v, state) in seen {
            match &self.places.of[v.at()] {
                Place::Own(first) => {
                    for (s, input) in inputs[*first..][..network.size(*v)].iter_mut().enumerate() {
                        *input *= f64::from(u8::from(s == *state));
                    }
                }
                Place::Column(first) => self.column(*v, *state, |n, c| inputs[first + n] *= c),
                Place::Cumulative(firsts) if *state == 0 => self.cumulative(*v, 0, firsts, inputs),
                _ => {}
            }
        }
        for (v, state) in &wide {
            self.column(*v, *state, |_, c| lanes.inputs.push(c));
        }
        let width = lanes.inputs.len() - first;
        for (v, state) in differences {
            let Place::Cumulative(firsts) = &self.places.of[v.at()] else {
                continue;
            };
            // All lanes so far once more, with the other sign.
            let (from, end) = (first, lanes.inputs.len());
            lanes.inputs.extend_from_within(from..end);
            let of = lanes.of[lanes.of.len() - (end - from) / width..].to_vec();
            lanes.of.extend(of.iter().map(|(job, sign)| (*job, -sign)));
            let (most, least) = lanes.inputs[from..].split_at_mut(end - from);
            for inputs in least.chunks_mut(width) {
                self.cumulative(v, state - 1, firsts, inputs);
            }
            for inputs in most.chunks_mut(width) {
                self.cumulative(v, state, firsts, inputs);
            }
        }
    }

    /// The column of a table for one state, cell by cell of the parents.
    fn column(&self, v: VarId, state: usize, mut cell: impl FnMut(usize, f64)) {
        let variable = self.programs.network().variable(v);
        let rows = variable.local.init.chunks(variable.states.len());
        rows.enumerate().for_each(|(n, row)| cell(n, row[state]));
    }

    /// Scales the inputs of the parents by the chance that what they add is at most `state`,
    /// those of the first by the leak as well.
    fn cumulative(&self, v: VarId, state: usize, firsts: &[usize], inputs: &mut [f64]) {
        let variable = self.programs.network().variable(v);
        let own = variable.states.len();
        if state + 1 == own {
            return;
        }
        let mut leak: f64 = variable.local.init[..=state].iter().sum();
        for (part, first) in variable.local.from.iter().zip(firsts) {
            for (n, row) in part.rows.chunks(own).enumerate() {
                inputs[first + n] *= leak * row[..=state].iter().sum::<f64>();
            }
            leak = 1.0;
        }
    }

    /// Runs the lanes of all classes and adds them to the sums of their jobs.
    fn classes(
        &mut self,
        classes: &BTreeMap<Class, Lanes>,
        sums: &mut Sums,
    ) -> Result<(), CompileError> {
        classes
            .iter()
            .try_for_each(|(class, lanes)| self.class(class, lanes, sums))
    }

    /// Runs the lanes of one class.
    fn class(
        &mut self,
        (wide, hard): &Class,
        lanes: &Lanes,
        sums: &mut Sums,
    ) -> Result<(), CompileError> {
        let network = self.programs.network();
        let mut slots = self.places.slots.clone();
        slots.extend(wide.iter().map(|v| Slot {
            scope: network.variable(*v).local.drivers.clone(),
            seen: Seen::Soft,
        }));
        slots.extend(hard.iter().map(|(v, state)| Slot {
            scope: vec![*v],
            seen: Seen::Hard(*state),
        }));
        let ready = self.programs.get(&Request {
            slots,
            queries: self.queries.clone(),
            restarts: self.restarts,
        })?;
        let cells = &ready.program.query_cells;
        let width = lanes.inputs.len() / lanes.of.len().max(1);
        let spare = ready.bound.spare.take();
        let mut sweep = Sweep::with(&ready.program, &ready.bound.fixed, spare);
        for (chunk, of) in lanes.of.chunks(WIDE).enumerate() {
            let inputs = &lanes.inputs[chunk * WIDE * width..][..of.len() * width];
            for l in 0..of.len() {
                sweep.set(l, &inputs[l * width..][..width]);
            }
            sweep.fill(of.len());
            sweep.round();
            for (l, (job, sign)) in of.iter().enumerate() {
                let chance = sweep.weight(l);
                if sums.absolute[*job] == 0.0 {
                    sums.log_scale[*job] = chance.log_scale;
                }
                let apart = chance.log_scale - sums.log_scale[*job];
                let sign = if apart == 0.0 {
                    *sign
                } else {
                    sign * apart.exp()
                };
                sums.weight[*job] += sign * chance.weight;
                sums.absolute[*job] += sign.abs() * chance.weight;
                let slopes = &mut sums.slopes[job * cells.len()..][..cells.len()];
                for (slope, cell) in slopes.iter_mut().zip(cells) {
                    *slope += sign * sweep.slope(*cell, l);
                }
            }
        }
        ready.bound.spare.put(sweep.into_buffers());
        Ok(())
    }
}
