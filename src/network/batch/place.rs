//! Where an observation of each variable enters, so that it costs least.
//!
//! - A noisy maximum without children is not in the programs at all: in cumulative form
//!   `P(V <= s | parents)` is a product over parents, so it scales the parents' inputs.
//! - A table without children over one or two parents scales the input of its parents.
//! - A table without children over three and more ties them together: it gets an input only
//!   in programs of the jobs that saw it (the *class* of a job).
//! - Any other variable has an input of its own.
//!
//! Must not answer anything.

use std::collections::BTreeMap;

use crate::network::compile::{Seen, Slot};
use crate::network::fold::Step;
use crate::network::variable::{Network, VarId};

/// Parents from which a table is wide.
const WIDE_FROM: usize = 3;
/// Wide tables up to which programs are made by class; with more there would be too many
/// programs, and wide tables get inputs like all others. Own judgement.
const MOST_CLASSED: usize = 24;

/// Where an observation of one variable enters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Place {
    /// Nobody said that it may be observed.
    Nowhere,
    /// Scales the inputs of the parents, in cumulative form: first input of each.
    Cumulative(Vec<usize>),
    /// Scales the inputs from this one on by the table's column.
    Column(usize),
    /// A slot of its own, over the parents, in programs of its class.
    Classed,
    /// The input of its own state.
    Own(usize),
}

/// Places of all variables, and the slots that every program has.
#[derive(Debug, Clone)]
pub(super) struct Places {
    pub of: Vec<Place>,
    pub slots: Vec<Slot>,
    pub inputs: usize,
}

impl Places {
    /// `observable` are the variables that may be observed, `asked` those that are queried.
    pub fn new(network: &Network, observable: &[VarId], asked: &[VarId]) -> Self {
        let mut inner = vec![false; network.variables().len()];
        for variable in network.variables() {
            variable.local.parents().for_each(|p| inner[p.at()] = true);
        }
        asked.iter().for_each(|v| inner[v.at()] = true);
        let wide = |v: &VarId| {
            let local = &network.variable(*v).local;
            !inner[v.at()] && local.from.is_empty() && local.drivers.len() >= WIDE_FROM
        };
        let by_class = observable.iter().filter(|v| wide(v)).count() <= MOST_CLASSED;
        let mut made = Self {
            of: vec![Place::Nowhere; inner.len()],
            slots: Vec::new(),
            inputs: 0,
        };
        let mut given = BTreeMap::new();
        for v in observable {
            let local = &network.variable(*v).local;
            let leaf = !inner[v.at()];
            let mut one = |scope: Vec<VarId>| made.slot(network, &mut given, scope);
            let maximum = local.step == Step::Worst && local.drivers.is_empty();
            let place = if leaf && maximum && !local.from.is_empty() {
                let parents = local.from.iter().map(|part| one(vec![part.parent]));
                Place::Cumulative(parents.collect())
            } else if leaf && local.from.is_empty() && !local.drivers.is_empty() {
                if wide(v) && by_class {
                    Place::Classed
                } else {
                    Place::Column(one(local.drivers.clone()))
                }
            } else {
                Place::Own(one(vec![*v]))
            };
            made.of[v.at()] = place;
        }
        made
    }

    /// First input of the slot over a scope; equal scopes share one.
    fn slot(
        &mut self,
        network: &Network,
        given: &mut BTreeMap<Vec<VarId>, usize>,
        scope: Vec<VarId>,
    ) -> usize {
        if let Some(first) = given.get(&scope) {
            return *first;
        }
        let first = self.inputs;
        self.inputs += scope.iter().map(|v| network.size(*v)).product::<usize>();
        given.insert(scope.clone(), first);
        self.slots.push(Slot {
            scope,
            seen: Seen::Soft,
        });
        first
    }
}
