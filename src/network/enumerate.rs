//! The oracle: answers by adding up every combination of states, straight from the definition.
//!
//! Shares no code with the compiler or the kernel. Must stay simple; it is slow on purpose.

use super::variable::{Network, VarId};

/// A likelihood over the joint states of a few variables, `[scope.., ]` last axis fastest.
#[derive(Debug, Clone, PartialEq)]
pub struct Likelihood {
    /// Variables.
    pub scope: Vec<VarId>,
    /// Likelihood of each joint state.
    pub values: Vec<f64>,
}

/// P(evidence) and the joint weight of every query, `[query][joint state]`, not divided by P(evidence).
#[must_use]
pub fn enumerate(
    network: &Network,
    evidence: &[Likelihood],
    queries: &[Vec<VarId>],
) -> (f64, Vec<Vec<f64>>) {
    let mut sums = queries
        .iter()
        .map(|q| vec![0.0; q.iter().map(|v| network.size(*v)).product()])
        .collect::<Vec<_>>();
    let mut states = vec![0; network.variables().len()];
    let mut walk = Walk {
        network,
        evidence,
        queries,
        sums: &mut sums,
        total: 0.0,
    };
    walk.from(0, 1.0, &mut states);
    let total = walk.total;
    (total, sums)
}

struct Walk<'a> {
    network: &'a Network,
    evidence: &'a [Likelihood],
    queries: &'a [Vec<VarId>],
    sums: &'a mut [Vec<f64>],
    total: f64,
}

impl Walk<'_> {
    fn joint(&self, scope: &[VarId], states: &[usize]) -> usize {
        scope
            .iter()
            .fold(0, |at, v| at * self.network.size(*v) + states[v.at()])
    }

    fn from(&mut self, variable: usize, weight: f64, states: &mut Vec<usize>) {
        if weight == 0.0 {
            return;
        }
        if variable == states.len() {
            let weight = self
                .evidence
                .iter()
                .fold(weight, |w, e| w * e.values[self.joint(&e.scope, states)]);
            self.total += weight;
            for query in 0..self.queries.len() {
                let at = self.joint(&self.queries[query], states);
                self.sums[query][at] += weight;
            }
            return;
        }
        let own = self.network.variables()[variable].states.len();
        let chances = self.network.variables()[variable].local.distribution(
            own,
            |v| self.network.size(v),
            states,
        );
        for (state, chance) in chances.into_iter().enumerate() {
            states[variable] = state;
            self.from(variable + 1, weight * chance, states);
        }
    }
}
