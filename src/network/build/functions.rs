//! Functions as folds over the parts behind them, and their new slices after work.
//!
//! Must not know starts.

use super::builder::{BuildError, Builder};
use crate::knowledge::{Fold as Rule, Function, FunctionFrom, Scope};
use crate::network::fold::{Contribution, Fold, Step};
use crate::network::variable::{Role, VarId};

/// From where names are looked up.
#[derive(Debug, Clone, Copy)]
pub(super) enum Place {
    /// From a cylinder, or from the engine.
    Cylinder(Option<u8>),
    /// From a condition, which has variables of its own.
    Condition(usize),
}

impl Builder<'_> {
    pub(super) fn add_functions(&mut self) -> Result<(), BuildError> {
        for function in &self.knowledge.functions {
            for cylinder in self.copies(function) {
                self.add_function(function, cylinder)?;
            }
        }
        Ok(())
    }

    fn copies(&self, function: &Function) -> Vec<Option<u8>> {
        // An engine without plugs has no plug feed and no glow.
        let id = function.id.get_ref().as_str();
        let plugs = matches!(id, "plug_feed" | "preheat_given" | "glow");
        if plugs && self.shape.preheat != "plugs" {
            return Vec::new();
        }
        match function.scope {
            Scope::Engine => vec![None],
            Scope::Cylinder => self.cylinders().map(Some).collect(),
        }
    }

    fn add_function(
        &mut self,
        function: &Function,
        cylinder: Option<u8>,
    ) -> Result<VarId, BuildError> {
        let id = function.id.get_ref();
        let name = cylinder.map_or_else(|| id.clone(), |c| format!("{id}:{c}"));
        let step = match function.fold {
            Rule::Worst => Step::Worst,
            Rule::Sum => Step::Sum,
        };
        let from = self.contributions(
            &function.from,
            function.states.len(),
            Place::Cylinder(cylinder),
        )?;
        let local = Fold {
            drivers: Vec::new(),
            init: function.leak.get_ref().clone(),
            step,
            from,
        };
        self.add(&name, &function.states, Role::Function, local)
    }

    /// Contributions gathered by parent; states that are not named contribute nothing.
    pub(super) fn contributions(
        &self,
        list: &[FunctionFrom],
        width: usize,
        place: Place,
    ) -> Result<Vec<Contribution>, BuildError> {
        let mut gathered: Vec<Contribution> = Vec::new();
        for entry in list {
            let parents = match place {
                Place::Cylinder(cylinder) => self.seen_from(entry.var.get_ref(), cylinder),
                Place::Condition(condition) => self.at_condition(entry.var.get_ref(), condition),
            };
            for parent in parents {
                let at = match gathered.iter().position(|c| c.parent == parent) {
                    Some(at) => at,
                    None => {
                        let mut nothing = vec![0.0; width];
                        nothing[0] = 1.0;
                        gathered.push(Contribution {
                            parent,
                            rows: nothing.repeat(self.network.size(parent)),
                        });
                        gathered.len() - 1
                    }
                };
                let state = self.state(parent, entry.state.get_ref())?;
                gathered[at].rows[state * width..(state + 1) * width]
                    .copy_from_slice(entry.gives.get_ref());
            }
        }
        Ok(gathered)
    }

    /// New slices of all functions that hang on something newer than they know.
    pub(super) fn refresh_functions(&mut self) -> Result<(), BuildError> {
        for function in &self.knowledge.functions {
            for cylinder in self.copies(function) {
                let id = function.id.get_ref();
                let name = cylinder.map_or_else(|| id.clone(), |c| format!("{id}:{c}"));
                let touched = function.from.iter().any(|f| {
                    let var = f.var.get_ref();
                    let own = cylinder.map(|c| format!("{var}:{c}"));
                    self.stale.contains(var) || own.is_some_and(|n| self.stale.contains(&n))
                });
                if touched {
                    self.add_function(function, cylinder)?;
                    self.stale.insert(name);
                }
            }
        }
        self.stale.clear();
        Ok(())
    }
}
