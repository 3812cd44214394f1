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

use super::place::{Place, Places};
use crate::network::cache::Programs;
use crate::network::compile::{CompileError, Request, Seen, Slot};
use crate::network::kernel::{Answers, KernelError};
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
    restarts: usize,
}

/// Which program a job needs: wide tables seen, and variables seen hard.
type Class = (Vec<VarId>, Vec<Observation>);

/// One lane of a job.
struct Signed {
    job: usize,
    sign: f64,
    inputs: Vec<f64>,
}

/// Sums over the lanes of one job.
#[derive(Clone, Default)]
struct Sum {
    weight: f64,
    absolute: f64,
    log_scale: f64,
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
        Self {
            programs: Programs::new(network, most_bytes),
            places,
            queries,
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
    pub fn answer(
        &mut self,
        jobs: &[Vec<Observation>],
    ) -> Result<Vec<Result<Answers, KernelError>>, CompileError> {
        let mut classes: BTreeMap<Class, Vec<Signed>> = BTreeMap::new();
        let mut sums = vec![Sum::default(); jobs.len()];
        let mut positive = Vec::new();
        for (job, seen) in jobs.iter().enumerate() {
            if self.differences(seen) > MOST_SIGNED {
                positive.push(job);
            } else if let Some((class, lanes)) = self.lanes(job, seen, true) {
                classes.entry(class).or_default().extend(lanes);
            }
        }
        for (class, lanes) in &classes {
            self.class(class, lanes, &mut sums)?;
        }
        // Jobs that came through the sums with signs but cancelled too much.
        for (job, sum) in sums.iter_mut().enumerate() {
            let error = f64::EPSILON * sum.absolute;
            if sum.absolute > 0.0 && error > MOST_CANCELLED * sum.weight {
                *sum = Sum::default();
                positive.push(job);
            }
        }
        let mut hard: BTreeMap<Class, Vec<Signed>> = BTreeMap::new();
        for job in positive {
            if let Some((class, lanes)) = self.lanes(job, &jobs[job], false) {
                hard.entry(class).or_default().extend(lanes);
            }
        }
        for (class, lanes) in &hard {
            self.class(class, lanes, &mut sums)?;
        }
        Ok(sums.into_iter().map(|s| self.finish(s)).collect())
    }

    /// Number of noisy maxima seen above their lowest state.
    fn differences(&self, seen: &[Observation]) -> usize {
        let place = |v: VarId| &self.places.of[v.at()];
        let above = |(v, s): &&Observation| *s > 0 && matches!(place(*v), Place::Cumulative(_));
        seen.iter().filter(above).count()
    }

    /// Class and lanes of a job; `None` for an observation that cannot be. Without `signed`
    /// the maxima seen above their lowest state are put into the class.
    fn lanes(
        &self,
        job: usize,
        seen: &[Observation],
        signed: bool,
    ) -> Option<(Class, Vec<Signed>)> {
        let network = self.programs.network();
        let mut wide = Vec::new();
        let mut hard = Vec::new();
        let mut differences = Vec::new();
        let mut inputs = vec![1.0; self.places.inputs];
        for (v, state) in seen {
            if *state >= network.size(*v) {
                return None;
            }
            match &self.places.of[v.at()] {
                Place::Nowhere => return None,
                Place::Own(first) => {
                    for s in 0..network.size(*v) {
                        inputs[first + s] *= f64::from(u8::from(s == *state));
                    }
                }
                Place::Column(first) => self.column(*v, *state, |n, c| inputs[first + n] *= c),
                Place::Classed => wide.push((*v, *state)),
                Place::Cumulative(_) if *state > 0 && !signed => hard.push((*v, *state)),
                Place::Cumulative(_) if *state > 0 => differences.push((*v, *state)),
                Place::Cumulative(firsts) => self.cumulative(*v, 0, firsts, &mut inputs),
            }
        }
        wide.sort_unstable();
        hard.sort_unstable();
        for (v, state) in &wide {
            self.column(*v, *state, |_, c| inputs.push(c));
        }
        let class = (wide.into_iter().map(|w| w.0).collect(), hard);
        let mut lanes = vec![Signed {
            job,
            sign: 1.0,
            inputs,
        }];
        for (v, state) in differences {
            let Place::Cumulative(firsts) = &self.places.of[v.at()] else {
                continue;
            };
            let mut less = Vec::with_capacity(lanes.len());
            for lane in &mut lanes {
                let mut inputs = lane.inputs.clone();
                self.cumulative(v, state - 1, firsts, &mut inputs);
                less.push(Signed {
                    job,
                    sign: -lane.sign,
                    inputs,
                });
                self.cumulative(v, state, firsts, &mut lane.inputs);
            }
            lanes.append(&mut less);
        }
        Some((class, lanes))
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

    /// Runs the lanes of one class and adds them to the sums of their jobs.
    fn class(
        &mut self,
        (wide, hard): &Class,
        lanes: &[Signed],
        sums: &mut [Sum],
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
        let mut sweep = Sweep::new(&ready.program, &ready.bound.fixed);
        for chunk in lanes.chunks(WIDE) {
            for (l, lane) in chunk.iter().enumerate() {
                sweep.set(l, &lane.inputs);
            }
            sweep.fill(chunk.len());
            sweep.round();
            for (l, lane) in chunk.iter().enumerate() {
                let chance = sweep.weight(l);
                let sum = &mut sums[lane.job];
                if sum.slopes.is_empty() {
                    sum.slopes = vec![0.0; cells.len()];
                    sum.log_scale = chance.log_scale;
                }
                let apart = chance.log_scale - sum.log_scale;
                let sign = if apart == 0.0 {
                    lane.sign
                } else {
                    lane.sign * apart.exp()
                };
                sum.weight += sign * chance.weight;
                sum.absolute += sign.abs() * chance.weight;
                for (slope, cell) in sum.slopes.iter_mut().zip(cells) {
                    *slope += sign * sweep.slope(*cell, l);
                }
            }
        }
        Ok(())
    }

    fn finish(&self, sum: Sum) -> Result<Answers, KernelError> {
        if sum.weight == 0.0 {
            return Err(KernelError::Impossible);
        }
        if !sum.weight.is_finite() || sum.weight < f64::MIN_POSITIVE {
            return Err(KernelError::TooSmall(sum.weight));
        }
        let network = self.programs.network();
        let mut slopes = sum.slopes.iter();
        let mut chances = Vec::with_capacity(self.queries.len());
        for query in &self.queries {
            let count = query.iter().map(|v| network.size(*v)).product();
            let part = slopes.by_ref().take(count);
            // What cancels to just below nought is nought.
            chances.push(part.map(|s| (s / sum.weight).max(0.0)).collect());
        }
        Ok(Answers {
            log_evidence: sum.weight.ln() + sum.log_scale,
            chances,
        })
    }
}
