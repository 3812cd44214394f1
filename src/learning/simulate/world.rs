//! One engine as it is: a state for every variable of its network, drawn in order, kept when
//! the engine complains.
//!
//! Networks are built once for each kind of engine, whole degree and set of contexts. Must not
//! know who looks at the engine.

use std::collections::BTreeMap;

use super::luck::Luck;
use super::settings::SimulationError;
use crate::knowledge::Knowledge;
use crate::network::build::{
    BuildError, Builder, Condition, Model, RootChances, Shape, root_chances,
};
use crate::network::{Role, VarId};

/// Draws until a complaint comes, at most; it comes about every third time.
const MOST_DRAWS: usize = 20_000;
/// Number of the observed start.
const START: usize = 1;
/// Number of the first reading of a check that speaks for the whole engine.
const FIRST: usize = 1;
/// Check that is a start of its own and is not simulated.
const NOT_SIMULATED: [&str; 2] = ["start_by_the_book", "plug_glow_time"];

/// A kind of engine at a temperature, ready to be drawn from.
#[derive(Debug)]
pub struct Kind {
    /// The network with everything that could be seen.
    pub model: Model,
    /// Variables that stand before the signs: all that decides whether somebody complains.
    inside: usize,
    /// Variable of each sign.
    pub signs: BTreeMap<String, VarId>,
    /// Variables of checks that any cylinder may speak for.
    pub spoken: BTreeMap<String, VarId>,
    /// Counted variables by name.
    pub counted: BTreeMap<String, VarId>,
}

impl Kind {
    /// Builds the network of a kind of engine.
    ///
    /// # Errors
    /// When the figures do not make a network.
    pub fn new(
        knowledge: &Knowledge,
        shape: &Shape,
        temperature: f64,
        contexts: &[String],
        shift: &dyn Fn(&str, f64) -> f64,
    ) -> Result<Self, BuildError> {
        let roots = root_chances(knowledge, shape, temperature, contexts);
        let roots = roots.0.into_iter().map(|(fault, chance)| {
            let chance = shift(&fault, chance);
            (fault, chance)
        });
        let roots = RootChances(roots.collect());
        let mut builder = Builder::new(knowledge, shape.clone(), roots)?;
        let condition = Condition {
            temperature,
            primed: false,
        };
        let condition = builder.condition(condition)?;
        builder.complaint()?;
        let inside = builder.network().variables().len();
        let mut signs = BTreeMap::new();
        for sign in &knowledge.signs {
            // A sign of something this engine does not have is not there to be seen.
            match builder.sign(sign.id.get_ref(), condition, START) {
                Ok(id) => drop(signs.insert(sign.id.get_ref().clone(), id)),
                Err(BuildError::NoVariable(_)) => {}
                Err(error) => return Err(error),
            }
        }
        let mut spoken = BTreeMap::new();
        let mut counted = BTreeMap::new();
        for check in knowledge.checks.iter().filter(|c| shape.has(&c.needs)) {
            if !check.link.is_empty() {
                let id = builder.spoken_check(check, condition, FIRST)?;
                spoken.insert(check.id.get_ref().clone(), id);
            }
            for name in &check.looks_at {
                let counts = crate::network::build::Counted::of(name.get_ref()).is_some();
                if counts && !counted.contains_key(name.get_ref()) {
                    match builder.looked_at(name.get_ref(), None) {
                        Ok(id) => drop(counted.insert(name.get_ref().clone(), id)),
                        Err(BuildError::NoVariable(_)) => {}
                        Err(error) => return Err(error),
                    }
                }
            }
        }
        Ok(Self {
            model: builder.finish(),
            inside,
            signs,
            spoken,
            counted,
        })
    }

    /// An engine of this kind with a complaint.
    ///
    /// # Errors
    /// When none comes.
    pub fn complaining(&self, luck: &mut Luck) -> Result<World<'_>, SimulationError> {
        let network = &self.model.network;
        let complaint = self.model.complaint.map_or(0, VarId::at);
        let mut states = vec![0; network.variables().len()];
        for _ in 0..MOST_DRAWS {
            self.draw(0..self.inside, &mut states, luck);
            if states[complaint] == 1 {
                self.draw(self.inside..states.len(), &mut states, luck);
                return Ok(World { kind: self, states });
            }
        }
        Err(SimulationError::NeverComplains(MOST_DRAWS))
    }

    fn draw(&self, which: std::ops::Range<usize>, states: &mut [usize], luck: &mut Luck) {
        let network = &self.model.network;
        for at in which {
            let variable = &network.variables()[at];
            let own = variable.states.len();
            let chances = variable
                .local
                .distribution(own, |v| network.size(v), states);
            states[at] = luck.position(&chances);
        }
    }
}

/// Whether a check can be simulated: two are starts or trials with models of their own.
#[must_use]
pub fn simulated(check: &str) -> bool {
    !NOT_SIMULATED.contains(&check)
}

/// One engine with a complaint.
#[derive(Debug, Clone)]
pub struct World<'k> {
    /// Its kind.
    pub kind: &'k Kind,
    /// State of every variable.
    pub states: Vec<usize>,
}

impl World<'_> {
    /// Name of the state a variable is in.
    #[must_use]
    pub fn state(&self, id: VarId) -> &str {
        &self.kind.model.network.variable(id).states[self.states[id.at()]]
    }

    /// The variable a name of a check means at a cylinder.
    #[must_use]
    pub fn looked_at(&self, name: &str, cylinder: Option<u8>) -> Option<VarId> {
        if let Some(id) = self.kind.counted.get(name) {
            return Some(*id);
        }
        let network = &self.kind.model.network;
        let own = cylinder.map_or_else(|| name.to_owned(), |c| format!("{name}:{c}"));
        let start = format!("{own}@0");
        network
            .find(&own)
            .or_else(|| network.find(&start))
            .or_else(|| network.find(name))
    }

    /// Faults that are there, as `part.fault` or `part.fault:cylinder`; wear of a set is none.
    #[must_use]
    pub fn faults(&self) -> Vec<String> {
        let faults = self.kind.model.faults.iter();
        faults
            .filter(|f| !f.wear_only && self.states[f.variable.at()] == f.state)
            .map(|f| f.id())
            .collect()
    }

    /// Parts, for those who want every one.
    pub fn parts(&self) -> impl Iterator<Item = (&str, &str)> {
        let variables = self.kind.model.network.variables().iter().enumerate();
        variables
            .filter(|(_, v)| v.role == Role::Part)
            .map(|(at, v)| (v.name.as_str(), v.states[self.states[at]].as_str()))
    }
}
