//! Which networks share programs: those of one structure, whatever their figures.
//!
//! Figures are inputs of a program, but noughts and ones fold; so the key holds who hangs on
//! whom, how, and where figures are exactly nought or one. Must not hold figures.

use std::hash::{DefaultHasher, Hash, Hasher};

use super::compile::Request;
use super::fold::Step;
use super::variable::{Network, VarId};

/// Key of a structure and a class of evidence: two hashes of different beginnings, so that a
/// clash is beyond practice; the kernel further refuses figures that do not fit a program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct ShapeKey(u64, u64);

impl ShapeKey {
    pub(super) fn new(network: &Network, figures: &[f64], request: &Request) -> Self {
        let hash = |beginning: u8| {
            let mut hasher = DefaultHasher::new();
            beginning.hash(&mut hasher);
            structure(network, &mut hasher);
            for figure in figures {
                kind_of(*figure).hash(&mut hasher);
            }
            request.hash(&mut hasher);
            hasher.finish()
        };
        Self(hash(1), hash(2))
    }

    /// Key of a set of figures.
    pub(super) fn of_figures(figures: &[f64]) -> Self {
        let hash = |beginning: u8| {
            let mut hasher = DefaultHasher::new();
            beginning.hash(&mut hasher);
            figures.iter().for_each(|f| f.to_bits().hash(&mut hasher));
            hasher.finish()
        };
        Self(hash(1), hash(2))
    }
}

impl std::fmt::Display for ShapeKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:016x}{:016x}", self.0, self.1)
    }
}

fn kind_of(figure: f64) -> u8 {
    if figure == 0.0 {
        0
    } else if figure == 1.0 {
        1
    } else {
        2
    }
}

fn structure(network: &Network, hasher: &mut DefaultHasher) {
    for (at, variable) in network.variables().iter().enumerate() {
        let id = VarId(u32::try_from(at).unwrap_or(u32::MAX));
        variable.states.len().hash(hasher);
        network.group(id).hash(hasher);
        variable.local.drivers.hash(hasher);
        for part in &variable.local.from {
            part.parent.hash(hasher);
        }
        match &variable.local.step {
            Step::Worst => 0_u8.hash(hasher),
            Step::Sum => 1_u8.hash(hasher),
            Step::Override => 2_u8.hash(hasher),
            Step::Table { width, next } => (3_u8, width, next).hash(hasher),
        }
    }
}
