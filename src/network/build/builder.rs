//! The builder: a network that grows with what happened.
//!
//! Names stand for variables; after work a name stands for the newest slice. Must not hold
//! the local models themselves: each kind has its own file.

use std::collections::{BTreeMap, BTreeSet};

use super::parts::FaultVariable;
use super::roots::RootChances;
use super::shape::{Condition, Shape};
use crate::knowledge::Knowledge;
use crate::network::fold::{Fold, Step};
use crate::network::variable::{Network, NetworkError, Role, VarId, Variable};

/// Why a network cannot be built.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BuildError {
    /// The figures do not make a network; the rules over the knowledge should have said so.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// A name that no variable of this engine has.
    #[error("this engine has no `{0}`")]
    NoVariable(String),
    /// A variable that has no such state.
    #[error("`{variable}` has no state `{state}`")]
    NoState {
        /// Variable.
        variable: String,
        /// State asked for.
        state: String,
    },
    /// The knowledge has no figures for this combustion chamber.
    #[error("no figures for the combustion chamber `{0}`")]
    NoChamber(String),
}

/// A network with what its variables stand for.
#[derive(Debug, Clone)]
pub struct Model {
    /// The network.
    pub network: Network,
    /// Every fault of every part, first slice, in reading order.
    pub faults: Vec<FaultVariable>,
    /// Variable by name; after work the newest slice.
    pub now: BTreeMap<String, VarId>,
    /// Variable by name on the first slice, before any work.
    pub first: BTreeMap<String, VarId>,
    /// The complaint, if asked for.
    pub complaint: Option<VarId>,
}

/// Builds a network step by step.
#[derive(Debug, Clone)]
pub struct Builder<'k> {
    pub(super) knowledge: &'k Knowledge,
    pub(super) shape: Shape,
    pub(super) roots: RootChances,
    pub(super) network: Network,
    pub(super) faults: Vec<FaultVariable>,
    pub(super) now: BTreeMap<String, VarId>,
    pub(super) first: BTreeMap<String, VarId>,
    pub(super) complaint: Option<VarId>,
    pub(super) conditions: Vec<(Condition, BTreeMap<String, VarId>)>,
    /// Names whose parents have a newer slice than they know.
    pub(super) stale: BTreeSet<String>,
    pub(super) slice: usize,
}

impl<'k> Builder<'k> {
    /// A builder with all parts and functions of the engine.
    ///
    /// # Errors
    /// When the figures do not make a network.
    pub fn new(
        knowledge: &'k Knowledge,
        shape: Shape,
        roots: RootChances,
    ) -> Result<Self, BuildError> {
        let mut builder = Self {
            knowledge,
            shape,
            roots,
            network: Network::new(),
            faults: Vec::new(),
            now: BTreeMap::new(),
            first: BTreeMap::new(),
            complaint: None,
            conditions: Vec::new(),
            stale: BTreeSet::new(),
            slice: 0,
        };
        builder.add_parts()?;
        builder.add_functions()?;
        builder.first = builder.now.clone();
        Ok(builder)
    }

    /// The finished model.
    #[must_use]
    pub fn finish(self) -> Model {
        Model {
            network: self.network,
            faults: self.faults,
            now: self.now,
            first: self.first,
            complaint: self.complaint,
        }
    }

    /// The engine it is built for.
    #[must_use]
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// The network so far.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// The variable a name stands for now.
    ///
    /// # Errors
    /// When this engine has no such variable.
    pub fn variable(&self, name: &str) -> Result<VarId, BuildError> {
        self.now
            .get(name)
            .copied()
            .ok_or_else(|| BuildError::NoVariable(name.to_owned()))
    }

    /// Position of a state.
    ///
    /// # Errors
    /// When the variable has no such state.
    pub fn state(&self, variable: VarId, state: &str) -> Result<usize, BuildError> {
        self.network
            .state(variable, state)
            .ok_or_else(|| BuildError::NoState {
                variable: self.network.variable(variable).name.clone(),
                state: state.to_owned(),
            })
    }

    /// Adds a variable; `name` is what it is called by, the slice makes it unique.
    pub(super) fn add(
        &mut self,
        name: &str,
        states: &[String],
        role: Role,
        local: Fold,
    ) -> Result<VarId, BuildError> {
        let mut full = name.to_owned();
        if self.network.find(name).is_some() {
            full = format!("{name}/{}", self.slice);
        }
        // All folds take their parents in one common order: chains that run side by side keep
        // a program narrow, chains that cross make it wide.
        let mut local = local;
        local.from.sort_by_key(|c| self.rank(c.parent));
        if local.step == Step::Override {
            // Such a chain is read from the last link to the first: the engine's parts, the
            // cylinders from the last, then what the start shows.
            local.from.reverse();
            let cylinder = |c: &crate::network::fold::Contribution| self.rank(c.parent);
            let first = local.from.iter().position(|c| cylinder(c).0 == 1);
            let count = local.from.iter().filter(|c| cylinder(c).0 == 1).count();
            if let Some(first) = first {
                local.from[first..first + count].reverse();
            }
        }
        let id = self.network.add(Variable {
            name: full,
            states: states.to_vec(),
            role,
            local,
        })?;
        let (_, cylinder, _) = self.rank(id);
        if self.rank(id).0 == 1 {
            self.network
                .set_group(id, u16::try_from(cylinder).unwrap_or(0));
        }
        self.now.insert(name.to_owned(), id);
        Ok(id)
    }

    /// Place of a variable in the common order: the engine's parts, each with the first function
    /// that hangs on it, then cylinder by cylinder, then what one start shows.
    fn rank(&self, id: VarId) -> (u8, usize, VarId) {
        let variable = self.network.variable(id);
        let name = variable.name.split(['@', '/', '#']).next().unwrap_or("");
        if let Some(cylinder) = name.split_once(':').and_then(|(_, c)| c.parse().ok()) {
            return (1, cylinder, id);
        }
        if variable.role == Role::Start || variable.role == Role::Sign {
            return (2, 0, id);
        }
        let functions = &self.knowledge.functions;
        let used_by = |f: &crate::knowledge::Function| {
            f.id.get_ref() == name || f.from.iter().any(|from| from.var.get_ref() == name)
        };
        (
            0,
            functions
                .iter()
                .position(used_by)
                .unwrap_or(functions.len()),
            id,
        )
    }

    /// Cylinders, from 1.
    pub(super) fn cylinders(&self) -> std::ops::RangeInclusive<u8> {
        1..=self.shape.cylinders
    }

    /// The variables a name of the knowledge stands for, seen from a cylinder (of its own) or
    /// from the engine (all cylinders'). Empty where the engine has none.
    pub(super) fn seen_from(&self, name: &str, cylinder: Option<u8>) -> Vec<VarId> {
        if let Some(id) = self.now.get(name) {
            return vec![*id];
        }
        match cylinder {
            Some(c) => self
                .now
                .get(&format!("{name}:{c}"))
                .copied()
                .into_iter()
                .collect(),
            None => self
                .cylinders()
                .filter_map(|c| self.now.get(&format!("{name}:{c}")).copied())
                .collect(),
        }
    }
}

impl Model {
    /// The newest slice of a fault's part.
    #[must_use]
    pub fn now_of(&self, fault: &FaultVariable) -> VarId {
        let name = match fault.cylinder {
            Some(c) => format!("{}:{c}", fault.part),
            None => fault.part.clone(),
        };
        self.now.get(&name).copied().unwrap_or(fault.variable)
    }

    /// The newest slices of all parts, in the order of the network.
    #[must_use]
    pub fn parts_now(&self) -> Vec<VarId> {
        let mut parts = self
            .now
            .values()
            .copied()
            .filter(|id| self.network.variable(*id).role == Role::Part)
            .collect::<Vec<_>>();
        parts.sort_unstable();
        parts
    }
}
