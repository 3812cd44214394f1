//! What may be wrong: full assignments of the parts, with their chances given all evidence.
//!
//! Nothing, each fault alone, a dead set, and the best pairs; what is left over goes to
//! "something not on this list". With all parts clamped, what the functions deliver is read off
//! the same lanes. Must not know checks.

use std::collections::BTreeMap;

use super::setup::NextError;
use crate::evidence::Case;
use crate::network::build::FaultVariable;
use crate::network::clamp::Clamped;
use crate::network::{Role, VarId};

/// Single faults that are paired with each other, likeliest first.
const PAIRED: usize = 18;
/// Least chance of a hypothesis that is kept; the rest goes to "something not on this list".
const LEAST: f64 = 2e-5;
const RESTARTS: usize = 4;

/// Hypotheses of one case.
pub(super) struct Hypotheses {
    /// Faults, in reading order, wear of sets left out.
    pub faults: Vec<FaultVariable>,
    /// Faults present in each hypothesis.
    pub sets: Vec<Vec<usize>>,
    /// Chances, adding to one.
    pub weights: Vec<f64>,
    /// For each function by name: chance of its states, `[hypothesis][state]`.
    pub functions: BTreeMap<String, Vec<Vec<f64>>>,
}

impl Hypotheses {
    pub(super) fn read(case: &Case, wanted: &[String]) -> Result<Self, NextError> {
        let faults = case
            .model
            .faults
            .iter()
            .filter(|f| !f.wear_only)
            .cloned()
            .collect::<Vec<_>>();
        let functions = wanted
            .iter()
            .filter_map(|name| function(case, name).map(|id| (name.clone(), id)))
            .collect::<Vec<_>>();
        let (request, lane) = case.request(Vec::new(), 0, |_| true);
        let queries = functions.iter().map(|(_, id)| vec![*id]).collect();
        let clamped = Clamped::compile(&case.model, &request.slots, queries, RESTARTS)?;
        let bound = clamped.bind(&case.model.network)?;
        let inputs = lane.inputs;
        let places = Places::of(case, &faults);
        let of = |set: &[usize]| clamped.lane(&inputs, |var, state| places.allow(set, var, state));
        let all = clamped.lane(&inputs, |_, _| true);
        let total = clamped.log_weights(&bound, &[all])?[0];
        let mut sets = vec![Vec::new()];
        sets.extend((0..faults.len()).map(|f| vec![f]));
        let plugs = (0..faults.len())
            .filter(|f| is_dead_plug(&faults[*f]))
            .collect::<Vec<_>>();
        for count in [3, plugs.len()] {
            if plugs.len() > 2 && count <= plugs.len() {
                sets.push(plugs[..count].to_vec());
            }
        }
        let lanes = sets.iter().map(|s| of(s)).collect::<Vec<_>>();
        let mut logs = clamped.log_weights(&bound, &lanes)?;
        let mut ranked = (1..=faults.len()).collect::<Vec<_>>();
        ranked.sort_by(|a, b| logs[*b].total_cmp(&logs[*a]));
        ranked.truncate(PAIRED);
        ranked.sort_unstable();
        for (i, a) in ranked.iter().enumerate() {
            for b in &ranked[i + 1..] {
                let (a, b) = (a - 1, b - 1);
                if faults[a].variable != faults[b].variable {
                    sets.push(vec![a, b]);
                }
            }
        }
        let lanes = sets[logs.len()..].iter().map(|s| of(s));
        logs.extend(clamped.log_weights(&bound, &lanes.collect::<Vec<_>>())?);
        sets.iter_mut().for_each(|s| s.sort_unstable());
        let mut read = Self {
            faults,
            sets: Vec::new(),
            weights: Vec::new(),
            functions: functions
                .iter()
                .map(|(n, _)| (n.clone(), Vec::new()))
                .collect(),
        };
        let possible = sets
            .into_iter()
            .zip(logs)
            .filter(|(_, log)| *log > f64::NEG_INFINITY)
            .map(|(set, log)| (set, (log - total).exp()))
            .collect::<Vec<_>>();
        let weighed = possible
            .iter()
            .map(|(set, weight)| (set.as_slice(), *weight));
        let keep = keep(&weighed.collect::<Vec<_>>());
        let mut kept = possible
            .into_iter()
            .zip(keep)
            .filter_map(|(set, keep)| keep.then_some(set))
            .collect::<Vec<_>>();
        // What the functions deliver is read off the sets that are kept only.
        let lanes = kept.iter().map(|(set, _)| of(set)).collect::<Vec<_>>();
        let answers = clamped.program().run(&bound, &lanes);
        for ((set, weight), answer) in kept.drain(..).zip(answers) {
            let answer = answer?;
            read.sets.push(set);
            read.weights.push(weight);
            for ((name, _), chances) in functions.iter().zip(answer.chances) {
                if let Some(rows) = read.functions.get_mut(name) {
                    rows.push(chances);
                }
            }
        }
        read.rest_to_other();
        Ok(read)
    }

    /// What no hypothesis covers counts as something not on the list.
    fn rest_to_other(&mut self) {
        let covered: f64 = self.weights.iter().sum();
        let other = self.faults.iter().position(|f| f.part == "other");
        let place = self
            .sets
            .iter()
            .position(|s| s.len() == 1 && Some(s[0]) == other);
        if let Some(place) = place {
            self.weights[place] += (1.0 - covered).max(0.0);
        }
        let total: f64 = self.weights.iter().sum();
        self.weights.iter_mut().for_each(|w| *w /= total);
    }

    /// State of a part in a hypothesis: the fault's, else the first.
    pub(super) fn state_of(&self, set: &[usize], part: &str, cylinder: Option<u8>) -> Option<&str> {
        set.iter()
            .map(|f| &self.faults[*f])
            .find(|f| f.part == part && (f.cylinder.is_none() || f.cylinder == cylinder))
            .map(|f| f.fault.as_str())
    }
}

/// Which sets are listed: those that weigh something, with every set a repair of theirs leads to.
///
/// A set of which a repair leads to one that cannot be is left out, whatever it weighs.
fn keep(sets: &[(&[usize], f64)]) -> Vec<bool> {
    let at: BTreeMap<&[usize], usize> = sets.iter().zip(0..).map(|(s, i)| (s.0, i)).collect();
    let less = |set: &[usize]| -> Vec<Option<usize>> {
        let without = |gone: usize| -> Vec<usize> {
            let others = set.iter().enumerate().filter(|(i, _)| *i != gone);
            others.map(|(_, f)| *f).collect()
        };
        let each = (0..set.len()).map(without);
        each.map(|s| at.get(s.as_slice()).copied()).collect()
    };
    let mut by_size = (0..sets.len()).collect::<Vec<_>>();
    by_size.sort_by_key(|i| sets[*i].0.len());
    let mut closed = vec![false; sets.len()];
    for i in &by_size {
        closed[*i] = less(sets[*i].0)
            .iter()
            .all(|s| s.is_some_and(|s| closed[s]));
    }
    let mut keep: Vec<bool> = (0..sets.len())
        .map(|i| closed[i] && (sets[i].1 >= LEAST || sets[i].0.is_empty()))
        .collect();
    for i in by_size.iter().rev().filter(|i| closed[**i]) {
        if keep[*i] {
            less(sets[*i].0)
                .into_iter()
                .flatten()
                .for_each(|s| keep[s] = true);
        }
    }
    keep
}

fn is_dead_plug(fault: &FaultVariable) -> bool {
    fault.part == "plug" && fault.fault == "dead"
}

/// A function's variable now; names of one cylinder end in `:cylinder`.
fn function(case: &Case, name: &str) -> Option<VarId> {
    let id = case.model.now.get(name)?;
    (case.model.network.variable(*id).role == Role::Function).then_some(*id)
}

/// Variables and states of the faults, found once.
struct Places {
    /// Of each fault.
    faults: Vec<(VarId, usize)>,
    /// Wear of a set, which goes with any hypothesis.
    wear: Vec<(VarId, usize)>,
}

impl Places {
    fn of(case: &Case, faults: &[FaultVariable]) -> Self {
        let place = |f: &FaultVariable| (case.model.now_of(f), f.state);
        let wear = case.model.faults.iter().filter(|f| f.wear_only);
        Self {
            faults: faults.iter().map(place).collect(),
            wear: wear.map(place).collect(),
        }
    }

    /// Whether a part may be in a state when exactly these faults are present.
    fn allow(&self, set: &[usize], variable: VarId, state: usize) -> bool {
        let mut here = set.iter().map(|f| self.faults[*f]);
        match here.find(|(v, _)| *v == variable) {
            Some((_, fault)) => fault == state,
            None => state == 0 || self.wear.contains(&(variable, state)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: {1} weighs nothing but is where {1, 2} leads; {3, 4} leads to {4}, which cannot be.
    #[test]
    fn what_a_repair_leads_to_is_listed_too() {
        let sets: [(&[usize], f64); 7] = [
            (&[], 0.0),
            (&[1], 0.0),
            (&[2], 0.3),
            (&[1, 2], 0.3),
            (&[3], 0.1),
            (&[3, 4], 0.3),
            (&[5], 0.0),
        ];
        let wanted = [true, true, true, true, true, false, false];
        assert_eq!(keep(&sets), wanted);
    }
}
