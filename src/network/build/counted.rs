//! Counted variables: how many plugs are open, whether cylinders are low on seal.
//!
//! Added only when a check looks at them. Must not hold readings.

use super::builder::{BuildError, Builder};
use crate::network::fold::{Contribution, Fold, Step};
use crate::network::variable::{Role, VarId};

/// What is counted over the cylinders.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Counted {
    /// Plugs that draw no current: dead ones and loose joints, from nought to all.
    PlugsOpen,
    /// Cylinders low on seal: none, one, several.
    SealsLow,
}

impl Counted {
    /// Name in the knowledge.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Counted::PlugsOpen => "plugs_open",
            Counted::SealsLow => "seals_low",
        }
    }

    /// The counted variable of that name.
    #[must_use]
    pub fn of(name: &str) -> Option<Self> {
        [Counted::PlugsOpen, Counted::SealsLow]
            .into_iter()
            .find(|c| c.name() == name)
    }
}

impl Builder<'_> {
    /// The counted variable on the present slice.
    ///
    /// # Errors
    /// When the engine has nothing to count.
    pub fn counted(&mut self, counted: Counted) -> Result<VarId, BuildError> {
        let name = format!("{}/{}", counted.name(), self.slice);
        if let Some(id) = self.network.find(&name) {
            return Ok(id);
        }
        match counted {
            Counted::PlugsOpen => self.plugs_open(&name),
            Counted::SealsLow => self.seals_low(&name),
        }
    }

    /// One cylinder is open when its plug is dead or its joint is loose.
    fn plugs_open(&mut self, name: &str) -> Result<VarId, BuildError> {
        let mut from = Vec::new();
        for c in self.cylinders() {
            let plug = self.variable(&format!("plug:{c}"))?;
            let joint = self.now.get(&format!("plug_joint:{c}")).copied();
            let dead = self.state(plug, "dead")?;
            let mut init = Vec::new();
            for state in 0..self.network.size(plug) {
                for loose in 0..joint.map_or(1, |j| self.network.size(j)) {
                    let open = state == dead || loose > 0;
                    init.extend([f64::from(!open), f64::from(open)]);
                }
            }
            let drivers = std::iter::once(plug).chain(joint).collect();
            let states = ["closed".to_owned(), "open".to_owned()];
            let open = self.add(
                &format!("open:{c}{name}"),
                &states,
                Role::Function,
                Fold::table(drivers, init),
            )?;
            from.push(Contribution {
                parent: open,
                rows: vec![1.0, 0.0, 0.0, 1.0],
            });
        }
        let cylinders = usize::from(self.shape.cylinders);
        let states = (0..=cylinders).map(|n| n.to_string()).collect::<Vec<_>>();
        let next = (0..=cylinders)
            .flat_map(|n| [n, (n + 1).min(cylinders)])
            .map(|n| u16::try_from(n).expect("few cylinders"))
            .collect();
        self.add_count(name, &states, Step::Table { width: 2, next }, from)
    }

    fn seals_low(&mut self, name: &str) -> Result<VarId, BuildError> {
        let mut from = Vec::new();
        for c in self.cylinders() {
            let parent = self.variable(&format!("seal:{c}"))?;
            from.push(Contribution {
                parent,
                rows: vec![1.0, 0.0, 0.0, 1.0, 0.0, 1.0],
            });
        }
        let states = ["none", "one", "several"].map(str::to_owned);
        let next = vec![0, 1, 1, 2, 2, 2];
        self.add_count(name, &states, Step::Table { width: 2, next }, from)
    }

    fn add_count(
        &mut self,
        name: &str,
        states: &[String],
        step: Step,
        from: Vec<Contribution>,
    ) -> Result<VarId, BuildError> {
        let mut init = vec![0.0; states.len()];
        init[0] = 1.0;
        self.add(
            name,
            states,
            Role::Function,
            Fold {
                drivers: Vec::new(),
                init,
                step,
                from,
            },
        )
    }
}
