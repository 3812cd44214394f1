//! One item as a sum of terms, so that it ties nothing together.
//!
//! A rated value nobody knows stands between all cylinders that were read; given the value they
//! fall apart, so each point of its grid is a term. A count over cylinders does so too, but
//!
//! ```text
//! L(k) = sum_j c_j z_j^k,    z_j^k = prod over cylinders of (z_j if it counts, else 1)
//! ```
//! for any `n + 1` different `z_j`, and each power falls apart. The `c_j` solve a Vandermonde
//! system (Bjorck and Pereyra 1970); they have signs, so what cancels is bounded by a guard.
//! Must not know what is counted.

use super::item::Item;
use crate::network::{Network, Seen, Slot, Step, VarId};

/// An item as a sum of terms over the same slots.
#[derive(Debug, Clone)]
pub(super) struct Terms {
    /// Slots; those seen hard are switches.
    pub slots: Vec<Slot>,
    /// Inputs of each term, all slots one after another.
    pub terms: Vec<Vec<f64>>,
    /// Inputs that bound the sum of all terms, where some have signs.
    pub guard: Option<Vec<f64>>,
    /// Inputs when the item does not count.
    pub off: Vec<f64>,
}

/// The item as it stands: one term.
pub(super) fn plain(slots: impl Iterator<Item = (Slot, Vec<f64>)>) -> Terms {
    let mut out = Terms {
        slots: Vec::new(),
        terms: vec![Vec::new()],
        guard: None,
        off: Vec::new(),
    };
    for (mut slot, values) in slots {
        match slot.seen {
            Seen::Hard(state) | Seen::Switch(state) => {
                slot.seen = Seen::Switch(state);
                out.terms[0].extend([1.0, 0.0]);
                out.off.extend([0.0, 1.0]);
            }
            Seen::Mostly(_) => {
                out.terms[0].extend_from_slice(&values);
                out.off.extend([1.0, 0.0]);
            }
            Seen::Soft | Seen::Known => {
                out.terms[0].extend_from_slice(&values);
                out.off.extend(values.iter().map(|_| 1.0));
            }
        }
        out.slots.push(slot);
    }
    out
}

/// The item summed over what its slots share; as it stands where it shares nothing.
pub(super) fn apart(item: &Item, network: &Network) -> Terms {
    let terms = item.shared.and_then(|shared| {
        let local = &network.variable(shared).local;
        if local.drivers.is_empty() && local.from.is_empty() {
            by_point(item, shared, &local.init)
        } else {
            by_power(item, shared, network)
        }
    });
    terms.unwrap_or_else(|| plain(item.slots.iter().cloned()))
}

/// A term for each point of a rated value, which is the first of every scope.
fn by_point(item: &Item, shared: VarId, weights: &[f64]) -> Option<Terms> {
    let mut terms = vec![Vec::new(); weights.len()];
    let mut slots = Vec::new();
    let mut off = Vec::new();
    for (number, (slot, values)) in item.slots.iter().enumerate() {
        if slot.scope.first() != Some(&shared) || slot.seen != Seen::Soft {
            return None;
        }
        let each = values.len() / weights.len();
        for ((term, block), weight) in terms.iter_mut().zip(values.chunks(each)).zip(weights) {
            let by = if number == 0 { *weight } else { 1.0 };
            term.extend(block.iter().map(|v| v * by));
        }
        off.extend(std::iter::repeat_n(1.0, each));
        slots.push(Slot {
            scope: slot.scope[1..].to_vec(),
            seen: Seen::Soft,
        });
    }
    Some(Terms {
        slots,
        terms,
        guard: None,
        off,
    })
}

/// A term for each power; `None` unless the shared variable counts parents in their second state.
fn by_power(item: &Item, shared: VarId, network: &Network) -> Option<Terms> {
    let [(slot, values)] = &item.slots[..] else {
        return None;
    };
    let counted = counted(network, shared)?;
    let place = slot.scope.iter().position(|v| *v == shared)?;
    let sizes = slot.scope.iter().map(|v| network.size(*v));
    let sizes = sizes.collect::<Vec<_>>();
    let points = sizes[place];
    let (before, after) = (
        sizes[..place].iter().product::<usize>(),
        sizes[place + 1..].iter().product::<usize>(),
    );
    let z = nodes(points);
    let mut terms = vec![Vec::with_capacity(before * after); points];
    let mut bound = Vec::with_capacity(before * after);
    for b in 0..before {
        for a in 0..after {
            let mut column = (0..points)
                .map(|k| values[(b * points + k) * after + a])
                .collect::<Vec<_>>();
            vandermonde(&z, &mut column);
            bound.push(column.iter().map(|c| c.abs()).sum());
            for (term, c) in terms.iter_mut().zip(column) {
                term.push(c);
            }
        }
    }
    let mut scope = slot.scope.clone();
    scope.remove(place);
    let mut slots = vec![Slot {
        scope,
        seen: Seen::Soft,
    }];
    for parent in counted {
        slots.push(Slot {
            scope: vec![parent],
            seen: Seen::Soft,
        });
        terms
            .iter_mut()
            .zip(&z)
            .for_each(|(t, z)| t.extend([1.0, *z]));
        // No node is greater than one.
        bound.extend([1.0, 1.0]);
    }
    Some(Terms {
        off: vec![1.0; bound.len()],
        slots,
        terms,
        guard: Some(bound),
    })
}

/// The parents of a variable that counts how many of them are in the second of two states.
fn counted(network: &Network, variable: VarId) -> Option<Vec<VarId>> {
    let local = &network.variable(variable).local;
    let last = network.size(variable) - 1;
    let adds = |a: usize| {
        local.step.next(a, 0, last + 1) == a && local.step.next(a, 1, last + 1) == (a + 1).min(last)
    };
    let plain = local.drivers.is_empty()
        && matches!(local.step, Step::Table { width: 2, .. })
        && local.init[0] == 1.0
        && last == local.from.len()
        && (0..=last).all(adds)
        && local.from.iter().all(|f| f.rows == [1.0, 0.0, 0.0, 1.0]);
    plain.then(|| local.from.iter().map(|f| f.parent).collect())
}

/// Nodes between -1 and 1, ends included, thickest at the ends, where the system is best behaved.
fn nodes(count: usize) -> Vec<f64> {
    #[expect(clippy::cast_precision_loss, reason = "few cylinders")]
    let angle = |j: usize| std::f64::consts::PI * j as f64 / (count - 1).max(1) as f64;
    (0..count).map(|j| angle(j).cos()).collect()
}

/// Solves `sum_j c_j z_j^k = l_k` in place (Bjorck and Pereyra 1970, primal system).
#[expect(
    clippy::needless_range_loop,
    reason = "two indices move against each other"
)]
fn vandermonde(z: &[f64], l: &mut [f64]) {
    let n = z.len() - 1;
    for k in 0..n {
        for i in (k + 1..=n).rev() {
            l[i] -= z[k] * l[i - 1];
        }
    }
    for k in (0..n).rev() {
        for i in k + 1..=n {
            l[i] /= z[i] - z[i - k - 1];
        }
        for i in k..n {
            l[i] -= l[i + 1];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_give_back_any_likelihood_of_a_count() {
        for count in 2..=13 {
            let z = nodes(count);
            for wanted in 0..count {
                let mut c = (0..count)
                    .map(|k| f64::from(k == wanted))
                    .collect::<Vec<_>>();
                vandermonde(&z, &mut c);
                for k in 0..count {
                    let power = i32::try_from(k).unwrap();
                    let sum: f64 = c.iter().zip(&z).map(|(c, z)| c * z.powi(power)).sum();
                    assert!(
                        (sum - f64::from(k == wanted)).abs() < 1e-9,
                        "{count} {k}: {sum}"
                    );
                }
            }
        }
    }
}
