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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{Fold, Network, Program, Role, Seen, Slot, Variable};

    /// A cause with many signs, all seen, of chance `p` each.
    fn signs(p: f64) -> (Network, Request) {
        let mut network = Network::new();
        let states = ["no", "yes"].map(str::to_owned).to_vec();
        let mut add = |name: String, drivers, rows| {
            let local = Fold::table(drivers, rows);
            let (states, role) = (states.clone(), Role::Sign);
            let variable = Variable {
                name,
                states,
                role,
                local,
            };
            network.add(variable).unwrap()
        };
        let cause = add("cause".to_owned(), vec![], vec![0.5, 0.5]);
        let seen = (0..400).map(|n| {
            let rows = vec![1.0 - p, p, 1.0 - p / 2.0, p / 2.0];
            Slot {
                scope: vec![add(format!("sign {n}"), vec![cause], rows)],
                seen: Seen::Hard(1),
            }
        });
        let slots = seen.collect();
        let request = Request {
            slots,
            queries: vec![vec![cause]],
            restarts: 0,
        };
        (network, request)
    }

    /// Small figures got more rescaling, so that the program of whichever network came first, and
    /// with it the last digits of all answers, hung on threads.
    #[test]
    fn networks_of_one_key_have_one_program() {
        let ((one, request), (other, _)) = (signs(0.4), signs(1e-3));
        let key = |n: &Network| ShapeKey::new(n, &n.figures(), &request);
        assert_eq!(key(&one), key(&other));
        let made = |n: &Network| Program::compile_alike(n, &request, 1e6).unwrap();
        assert_eq!(made(&one).to_bytes(), made(&other).to_bytes());
        let own = |n: &Network| Program::compile(n, &request).unwrap().to_bytes();
        assert_ne!(own(&one), own(&other), "the figures decide nothing here");
    }
}
