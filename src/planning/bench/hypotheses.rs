//! What may be wrong: full assignments of the parts, with their chances given all evidence.
//!
//! With the state of every part given, what the functions deliver is read off the same lanes.
//! Must not know checks, nor which sets are worth listing: that is `grow`.

use std::collections::BTreeMap;

use super::grow::grow;
use super::setup::NextError;
use crate::evidence::Case;
use crate::network::build::FaultVariable;
use crate::network::clamp::Clamped;
use crate::network::{Answers, Bound, Group, KernelError, Lane, Role, Shelf, VarId};

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
    pub(super) fn read(shelf: &Shelf, case: &Case, wanted: &[String]) -> Result<Self, NextError> {
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
        let ids = functions.iter().map(|(_, id)| *id).collect::<Vec<_>>();
        let assigned = Assigned::new(shelf, case, &faults, &ids)?;
        let dead = (0..faults.len()).filter(|f| is_dead_plug(&faults[*f]));
        let apart = |a: usize, b: usize| faults[a].variable == faults[b].variable;
        let listed = grow(faults.len(), &[dead.collect()], apart, |sets| {
            assigned.logs(sets)
        })?;
        let (sets, weights): (Vec<_>, Vec<f64>) = listed.into_iter().unzip();
        if weights.iter().any(|w| w.is_nan()) {
            return Err(KernelError::Impossible.into());
        }
        let delivered = assigned.delivered(&sets)?;
        let rows = |at: usize| delivered.iter().map(|of| of[at].clone()).collect();
        let names = functions.into_iter().map(|(name, _)| name).enumerate();
        Ok(Self {
            functions: names.map(|(at, name)| (name, rows(at))).collect(),
            faults,
            sets,
            weights,
        })
    }

    /// State of a part in a hypothesis: the fault's, else the first.
    pub(super) fn state_of(&self, set: &[usize], part: &str, cylinder: Option<u8>) -> Option<&str> {
        set.iter()
            .map(|f| &self.faults[*f])
            .find(|f| f.part == part && (f.cylinder.is_none() || f.cylinder == cylinder))
            .map(|f| f.fault.as_str())
    }
}

fn is_dead_plug(fault: &FaultVariable) -> bool {
    fault.part == "plug" && fault.fault == "dead"
}

/// A function's variable now; names of one cylinder end in `:cylinder`.
fn function(case: &Case, name: &str) -> Option<VarId> {
    let id = case.model.now.get(name)?;
    (case.model.network.variable(*id).role == Role::Function).then_some(*id)
}

/// A case with the state of every part given lane by lane.
struct Assigned {
    clamped: Clamped,
    bound: Bound,
    /// Inputs of everything seen and read.
    all: Vec<f64>,
    /// Inputs where nothing was.
    nothing: Vec<f64>,
    /// Variable and state of each fault.
    places: Vec<(VarId, usize)>,
    /// Wear of a set, which goes with any hypothesis.
    wear: Vec<(VarId, usize)>,
}

impl Assigned {
    fn new(
        shelf: &Shelf,
        case: &Case,
        faults: &[FaultVariable],
        asked: &[VarId],
    ) -> Result<Self, NextError> {
        let place = |f: &FaultVariable| (case.model.now_of(f), f.state);
        let worn = case.model.faults.iter().filter(|f| f.wear_only);
        let wear = worn.map(place).collect::<Vec<_>>();
        let open = wear.iter().map(|(v, _)| *v).collect::<Vec<_>>();
        // With every part given nothing is wide, so that nothing need be a sum of terms.
        let switched = case.switched(false);
        let queries = asked.iter().map(|id| vec![*id]).collect();
        let clamped = Clamped::assigned(shelf, &case.model, &switched.slots, queries, &open)?;
        let inputs = |group: Group| group.terms.into_iter().flat_map(|t| t.inputs).collect();
        Ok(Self {
            bound: clamped.bind(&case.model.network)?,
            clamped,
            all: inputs(switched.group(true, |_| true)),
            nothing: inputs(switched.group(false, |_| false)),
            places: faults.iter().map(place).collect(),
            wear,
        })
    }

    fn lane(&self, set: &[usize], inputs: &[f64]) -> Lane {
        self.clamped
            .lane(inputs, |var, state| self.allow(set, var, state))
    }

    /// Whether a part may be in a state when exactly these faults are present.
    fn allow(&self, set: &[usize], variable: VarId, state: usize) -> bool {
        let mut here = set.iter().map(|f| self.places[*f]);
        match here.find(|(v, _)| *v == variable) {
            Some((_, fault)) => fault == state,
            None => state == 0 || self.wear.contains(&(variable, state)),
        }
    }

    /// Logarithm of P(everything seen and read, exactly these faults), but for a constant.
    fn logs(&self, sets: &[Vec<usize>]) -> Result<Vec<f64>, KernelError> {
        let lanes = sets.iter().map(|s| self.lane(s, &self.all));
        self.clamped
            .log_weights(&self.bound, &lanes.collect::<Vec<_>>())
    }

    /// Chances of what every function delivers, `[set][function][state]`. A set that cannot have
    /// led to what was seen can still be what a repair leaves: then nothing seen counts.
    fn delivered(&self, sets: &[Vec<usize>]) -> Result<Vec<Vec<Vec<f64>>>, KernelError> {
        let run = |lanes: Vec<Lane>| self.clamped.program().run(&self.bound, &lanes);
        let found = run(sets.iter().map(|s| self.lane(s, &self.all)).collect());
        let one = |(set, answer): (&Vec<usize>, Result<Answers, KernelError>)| match answer {
            Err(KernelError::Impossible | KernelError::TooSmall(_)) => {
                Ok(run(vec![self.lane(set, &self.nothing)]).remove(0)?.chances)
            }
            answer => Ok(answer?.chances),
        };
        sets.iter().zip(found).map(one).collect()
    }
}
