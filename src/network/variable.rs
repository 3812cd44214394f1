//! What a network is: variables with states, each with one local model.
//!
//! Must not know how answers are computed.

use std::collections::BTreeMap;

use super::fold::Fold;

/// Index of a variable in its network.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct VarId(pub u32);

impl VarId {
    /// The index as a position.
    #[must_use]
    pub fn at(self) -> usize {
        self.0 as usize
    }
}

/// What a variable stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// A part: a thing that can be wrong.
    Part,
    /// What a system delivers, for the engine or a cylinder.
    Function,
    /// Something of one start that is not itself seen.
    Start,
    /// A sign of one start, or a lasting one.
    Sign,
    /// A rated value nobody knows, on a grid.
    Nominal,
}

/// One variable: a name, its states, and how it comes about.
#[derive(Debug, Clone, PartialEq)]
pub struct Variable {
    /// Unique name: `battery`, `plug:2`, `crank_time@1`.
    pub name: String,
    /// Names of the states.
    pub states: Vec<String>,
    /// What it stands for.
    pub role: Role,
    /// How it comes about from its parents.
    pub local: Fold,
}

/// What is wrong with a variable offered to a network.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// The name stands for another variable already.
    #[error("variable `{0}` is there already")]
    Twice(String),
    /// A parent comes later than its child, or does not exist.
    #[error("variable `{0}` hangs on a variable that comes later")]
    Order(String),
    /// A table does not have one row a state of the parents, or one column a state.
    #[error("a table of `{name}` has {found} cells where {wanted} are wanted")]
    Shape {
        /// Variable.
        name: String,
        /// Cells found.
        found: usize,
        /// Cells wanted.
        wanted: usize,
    },
    /// A row is not a distribution.
    #[error("a row of `{name}` adds to {total}, not to one")]
    NotOne {
        /// Variable.
        name: String,
        /// Sum of the row, as text so that the error stays comparable.
        total: String,
    },
}

/// Tolerance for rows that should add to one; figures are typed with few digits.
const ROW_TOLERANCE: f64 = 1e-9;

/// A Bayesian network; parents stand before their children.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Network {
    variables: Vec<Variable>,
    by_name: BTreeMap<String, VarId>,
    groups: Vec<u16>,
}

impl Network {
    /// An empty network.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a variable after its parents.
    ///
    /// # Errors
    /// A name used twice, a parent that comes later, a table of the wrong shape or with a
    /// row that does not add to one.
    pub fn add(&mut self, variable: Variable) -> Result<VarId, NetworkError> {
        let id = VarId(u32::try_from(self.variables.len()).expect("fewer than 2^32 variables"));
        if self.by_name.contains_key(&variable.name) {
            return Err(NetworkError::Twice(variable.name));
        }
        self.check(&variable, id)?;
        self.by_name.insert(variable.name.clone(), id);
        self.variables.push(variable);
        self.groups.push(0);
        Ok(id)
    }

    fn check(&self, variable: &Variable, id: VarId) -> Result<(), NetworkError> {
        let local = &variable.local;
        let own = variable.states.len();
        if local.parents().any(|p| p >= id) {
            return Err(NetworkError::Order(variable.name.clone()));
        }
        let rows: usize = local.drivers.iter().map(|d| self.size(*d)).product();
        let mut tables = vec![(&local.init, rows, own)];
        for part in &local.from {
            tables.push((&part.rows, self.size(part.parent), local.step.width(own)));
        }
        for (cells, rows, width) in tables {
            if cells.len() != rows * width {
                return Err(NetworkError::Shape {
                    name: variable.name.clone(),
                    found: cells.len(),
                    wanted: rows * width,
                });
            }
            for row in cells.chunks(width) {
                let total: f64 = row.iter().sum();
                let sound = row.iter().all(|c| (0.0..=1.0 + ROW_TOLERANCE).contains(c));
                if !sound || (total - 1.0).abs() > ROW_TOLERANCE {
                    return Err(NetworkError::NotOne {
                        name: variable.name.clone(),
                        total: format!("{total}"),
                    });
                }
            }
        }
        Ok(())
    }

    /// Says that a variable belongs to one of several like groups (a cylinder, from 1): a hint
    /// to the compiler in which order to sum, without any bearing on answers.
    pub fn set_group(&mut self, id: VarId, group: u16) {
        self.groups[id.at()] = group;
    }

    /// The group of a variable, nought if it belongs to none.
    #[must_use]
    pub fn group(&self, id: VarId) -> u16 {
        self.groups[id.at()]
    }

    /// All variables, parents before children.
    #[must_use]
    pub fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// The variable.
    #[must_use]
    pub fn variable(&self, id: VarId) -> &Variable {
        &self.variables[id.at()]
    }

    /// The variable of that name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<VarId> {
        self.by_name.get(name).copied()
    }

    /// Number of states.
    #[must_use]
    pub fn size(&self, id: VarId) -> usize {
        self.variables[id.at()].states.len()
    }

    /// Position of a state by name.
    #[must_use]
    pub fn state(&self, id: VarId, state: &str) -> Option<usize> {
        self.variables[id.at()]
            .states
            .iter()
            .position(|s| s == state)
    }

    /// Replaces the cells of the first table of a variable, for fitting roots.
    ///
    /// # Errors
    /// As [`Network::add`].
    pub fn set_init(&mut self, id: VarId, init: Vec<f64>) -> Result<(), NetworkError> {
        let mut variable = self.variables[id.at()].clone();
        variable.local.init = init;
        self.check(&variable, id)?;
        self.variables[id.at()] = variable;
        Ok(())
    }

    /// All figures of the network in one fixed order: for each variable its first table,
    /// then the rows of each contribution. Programs refer to figures by position here.
    #[must_use]
    pub fn figures(&self) -> Vec<f64> {
        let mut figures = Vec::new();
        for variable in &self.variables {
            figures.extend_from_slice(&variable.local.init);
            for part in &variable.local.from {
                figures.extend_from_slice(&part.rows);
            }
        }
        figures
    }
}
