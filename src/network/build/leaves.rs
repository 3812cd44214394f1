//! Further variables that readings hang on: rated values nobody knows, and checks that listen
//! to the whole engine.
//!
//! Must not hold readings.

use super::builder::{BuildError, Builder};
use crate::knowledge::Check;
use crate::network::fold::{Fold, Step};
use crate::network::variable::{Role, VarId};

impl Builder<'_> {
    /// A rated value on a grid; `weights` are the chances of its points.
    ///
    /// # Errors
    /// When the weights do not make a distribution.
    pub fn nominal(&mut self, name: &str, weights: Vec<f64>) -> Result<VarId, BuildError> {
        let states = (0..weights.len())
            .map(|n| n.to_string())
            .collect::<Vec<_>>();
        self.add(
            name,
            &states,
            Role::Nominal,
            Fold::table(Vec::new(), weights),
        )
    }

    /// A check whose outcome any cylinder may speak for, as a leaf of the network.
    ///
    /// # Errors
    /// When its figures do not fit.
    pub fn spoken_check(
        &mut self,
        check: &Check,
        condition: usize,
        number: usize,
    ) -> Result<VarId, BuildError> {
        let name = format!("{}#{number}", check.id.get_ref());
        if let Some(known) = self.network.find(&name) {
            return Ok(known);
        }
        let init = check
            .row
            .last()
            .and_then(|r| r.chance.as_ref())
            .map(|c| c.get_ref().clone())
            .unwrap_or_default();
        let from = self.links(&check.link, &check.states, condition)?;
        let local = Fold {
            drivers: Vec::new(),
            init,
            step: Step::Override,
            from,
        };
        self.add(&name, &check.states, Role::Sign, local)
    }

    /// Number of conditions so far.
    #[must_use]
    pub fn conditions(&self) -> usize {
        self.conditions.len()
    }

    /// The variable a name means for a check at a cylinder: of the condition being watched,
    /// counted, of the cylinder, or of the engine.
    ///
    /// # Errors
    /// When this engine has none.
    pub fn looked_at(&mut self, name: &str, cylinder: Option<u8>) -> Result<VarId, BuildError> {
        if let Some(counted) = super::counted::Counted::of(name) {
            return self.counted(counted);
        }
        let own = cylinder.map_or_else(|| name.to_owned(), |c| format!("{name}:{c}"));
        if name == "lights" {
            let last = self.conditions.len().saturating_sub(1);
            return self.of_condition(last, &own);
        }
        self.variable(&own).or_else(|_| self.variable(name))
    }
}
