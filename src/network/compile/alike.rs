//! States that a parent's certain tables do not tell apart.
//!
//! Where a table holds only noughts and ones, several states of a parent often do the same: a plug
//! that is open counts as a shorted one does. Then the table hangs on the *kind* of the state, a
//! variable of its own, and all that is known of the parent is summed down to its kinds before the
//! table multiplies it. Exact, since the kind follows from the state.
//! Must not look at tables that hold any other figure.

use crate::network::fold::Fold;
use crate::network::variable::Network;

/// For each variable the kind of each of its states, where they are fewer than the states.
pub(super) fn kinds(network: &Network, tables: &[bool]) -> Vec<Option<Vec<usize>>> {
    let variables = network.variables();
    // What a state does in all certain tables, one after another.
    let mut does: Vec<Option<Vec<Vec<bool>>>> = vec![None; variables.len()];
    for (variable, _) in variables.iter().zip(tables).filter(|(_, t)| **t) {
        let local = &variable.local;
        if !certain(local) {
            continue;
        }
        let mut stride = local.init.len();
        for driver in &local.drivers {
            let size = network.size(*driver);
            let block = stride;
            stride /= size;
            let seen = does[driver.at()].get_or_insert_with(|| vec![Vec::new(); size]);
            for (at, cell) in local.init.iter().enumerate() {
                seen[at % block / stride].push(*cell == 1.0);
            }
        }
    }
    let kinds = does.into_iter().map(|does| {
        let does = does?;
        let mut known: Vec<&Vec<bool>> = Vec::new();
        let mut kinds = Vec::with_capacity(does.len());
        for does in &does {
            let kind = known.iter().position(|k| *k == does);
            kinds.push(kind.unwrap_or_else(|| {
                known.push(does);
                known.len() - 1
            }));
        }
        (known.len() < kinds.len()).then_some(kinds)
    });
    kinds.collect()
}

/// Whether the parents leave nothing open.
pub(super) fn certain(local: &Fold) -> bool {
    local.from.is_empty()
        && !local.drivers.is_empty()
        && local.init.iter().all(|c| *c == 0.0 || *c == 1.0)
}
