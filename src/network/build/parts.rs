//! Parts as variables: roots with fitted chances, and parts that hang on a set.
//!
//! Must not fit chances.

use super::builder::{BuildError, Builder};
use crate::knowledge::{Part, Scope};
use crate::network::fold::Fold;
use crate::network::variable::{Role, VarId};

/// One fault of one part of this engine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultVariable {
    /// Part as named in the knowledge.
    pub part: String,
    /// Fault as named in the knowledge.
    pub fault: String,
    /// Cylinder, for parts of one cylinder.
    pub cylinder: Option<u8>,
    /// The part's variable, first slice.
    pub variable: VarId,
    /// The fault's state.
    pub state: usize,
    /// Code of the trade's numbering.
    pub code: String,
    /// What a person reads, without the cylinder.
    pub label: String,
    /// System of the part.
    pub system: String,
    /// Wear of a set, not by itself something to mend.
    pub wear_only: bool,
}

impl FaultVariable {
    /// `part.fault` or `part.fault:cylinder`.
    #[must_use]
    pub fn id(&self) -> String {
        match self.cylinder {
            Some(c) => format!("{}.{}:{c}", self.part, self.fault),
            None => format!("{}.{}", self.part, self.fault),
        }
    }
}

impl Builder<'_> {
    pub(super) fn add_parts(&mut self) -> Result<(), BuildError> {
        let knowledge = self.knowledge;
        // A part that hangs on another comes after it, whatever the reading order.
        let mut waiting = knowledge
            .parts
            .iter()
            .filter(|p| self.shape.has(&p.needs))
            .collect::<Vec<_>>();
        while !waiting.is_empty() {
            let before = waiting.len();
            let mut later = Vec::new();
            let names = waiting
                .iter()
                .map(|p| p.id.get_ref().clone())
                .collect::<Vec<_>>();
            for part in waiting {
                let parent = part.given.as_ref().map(|g| g.get_ref());
                if parent.is_some_and(|g| names.contains(g) && !self.now.contains_key(g)) {
                    later.push(part);
                } else {
                    self.add_part(part)?;
                }
            }
            if later.len() == before {
                return Err(BuildError::NoVariable(later[0].id.get_ref().clone()));
            }
            waiting = later;
        }
        self.faults.sort_by_key(|f| {
            let part = knowledge
                .parts
                .iter()
                .position(|p| *p.id.get_ref() == f.part);
            (part, f.cylinder, f.state)
        });
        Ok(())
    }

    fn add_part(&mut self, part: &Part) -> Result<(), BuildError> {
        let id = part.id.get_ref();
        let fitted = part
            .fault
            .iter()
            .map(|f| self.roots.get(&format!("{id}.{}", f.id.get_ref())))
            .collect::<Vec<_>>();
        let driver = part
            .given
            .as_ref()
            .and_then(|g| self.now.get(g.get_ref()).copied());
        let mut init = Vec::new();
        match driver {
            None => init.extend(with_sound(&fitted)),
            Some(driver) => {
                for state in &self.network.variable(driver).states {
                    let row = part.given_rows.get(state).unwrap_or(&fitted);
                    init.extend(with_sound(row));
                }
            }
        }
        let local = Fold::table(driver.into_iter().collect(), init);
        let cylinders = match part.scope {
            Scope::Engine => vec![None],
            Scope::Cylinder => self.cylinders().map(Some).collect(),
        };
        for cylinder in cylinders {
            let name = match cylinder {
                Some(c) => format!("{id}:{c}"),
                None => id.clone(),
            };
            let variable = self.add(&name, &part.states(), Role::Part, local.clone())?;
            for (at, fault) in part.fault.iter().enumerate() {
                self.faults.push(FaultVariable {
                    part: id.clone(),
                    fault: fault.id.get_ref().clone(),
                    cylinder,
                    variable,
                    state: at + 1,
                    code: fault.code.get_ref().clone(),
                    label: fault.label.clone(),
                    system: part.system.clone(),
                    wear_only: fault.wear_only,
                });
            }
        }
        Ok(())
    }
}

/// A row with the chance of `sound` put first.
fn with_sound(faults: &[f64]) -> Vec<f64> {
    let sound = 1.0 - faults.iter().sum::<f64>();
    std::iter::once(sound)
        .chain(faults.iter().copied())
        .collect()
}
