//! Tables that are noisy maxima become folds, so that the compiler sees their structure.
//!
//! In cumulative form a noisy maximum is a product over parents,
//!
//! ```text
//! F(s | p) = P(V <= s | p) = L(s) * product over i of G_i(s | p_i)
//! ```
//! so with any joint state `b` as base, `G_i(s | p_i) = F(s | b with p_i) / F(s | b)` and
//! `L = F(. | b)`. The base takes, for each parent, the state under which low states are most
//! likely; then every `G_i` is a distribution if each parent has a state that adds nothing. The
//! product is compared with the whole table; a table that differs anywhere is left alone.
//! Must not change what a network says.

use crate::network::fold::{Contribution, Fold, Step};
use crate::network::variable::{Network, VarId};

/// Agreement asked of every cell of the table.
const SAME: f64 = 1e-12;
/// A cumulative base smaller than this would amplify rounding; the table is left alone.
const LEAST_BASE: f64 = 1e-3;

/// The same network, with tables over two and more parents that are noisy maxima (of the
/// states in their order) turned into folds. Tables of other kinds stay as they are.
#[must_use]
pub fn with_noisy_maxima(network: &Network) -> Network {
    let mut out = Network::new();
    for variable in network.variables() {
        let mut variable = variable.clone();
        if let Some(fold) = fold(network, &variable.local, variable.states.len()) {
            variable.local = fold;
        }
        out.add(variable).expect("the same names, parents and sums");
    }
    out
}

fn fold(network: &Network, local: &Fold, own: usize) -> Option<Fold> {
    if !local.from.is_empty() || local.drivers.len() < 2 || own < 2 {
        return None;
    }
    let table = Cumulative::new(network, local, own);
    let base = table.base();
    let leak = table.row(&base);
    if leak.iter().any(|f| *f < LEAST_BASE) {
        return None;
    }
    let mut parts = Vec::new();
    for (i, size) in table.sizes.iter().enumerate() {
        let mut rows = Vec::new();
        for state in 0..*size {
            let mut joint = base.clone();
            joint[i] = state;
            let mut row = table.row(&joint);
            row.iter_mut().zip(&leak).for_each(|(f, l)| *f /= l);
            rows.push(differences(&row)?);
        }
        parts.push(rows);
    }
    let fold = Fold {
        drivers: Vec::new(),
        init: differences(&leak)?,
        step: Step::Worst,
        from: parts
            .into_iter()
            .zip(&local.drivers)
            .map(|(rows, parent)| Contribution {
                parent: *parent,
                rows: rows.concat(),
            })
            .collect(),
    };
    table.agrees(network, local, &fold, own).then_some(fold)
}

struct Cumulative<'a> {
    sizes: Vec<usize>,
    own: usize,
    cells: &'a [f64],
}

impl<'a> Cumulative<'a> {
    fn new(network: &Network, local: &'a Fold, own: usize) -> Self {
        Self {
            sizes: local.drivers.iter().map(|d| network.size(*d)).collect(),
            own,
            cells: &local.init,
        }
    }

    fn row(&self, joint: &[usize]) -> Vec<f64> {
        let at = joint
            .iter()
            .zip(&self.sizes)
            .fold(0, |at, (state, size)| at * size + state);
        let mut sum = 0.0;
        let cells = &self.cells[at * self.own..(at + 1) * self.own];
        cells
            .iter()
            .map(|c| {
                sum += c;
                sum
            })
            .collect()
    }

    /// For each parent in turn, the state under which the child stays lowest.
    fn base(&self) -> Vec<usize> {
        let mut base = vec![0; self.sizes.len()];
        for i in 0..base.len() {
            let low = |state: usize| {
                let mut joint = base.clone();
                joint[i] = state;
                self.row(&joint).iter().sum::<f64>()
            };
            let mut best = 0;
            for state in 1..self.sizes[i] {
                if low(state) > low(best) {
                    best = state;
                }
            }
            base[i] = best;
        }
        base
    }

    /// Whether the fold gives every row of the table.
    fn agrees(&self, network: &Network, local: &Fold, fold: &Fold, own: usize) -> bool {
        let most = local.drivers.iter().map(|d| d.at() + 1).max().unwrap_or(0);
        let mut states = vec![0; most];
        let count = self.cells.len() / own;
        (0..count).all(|mut at| {
            let row = &self.cells[at * own..(at + 1) * own];
            for (driver, size) in local.drivers.iter().zip(&self.sizes).rev() {
                states[driver.at()] = at % size;
                at /= size;
            }
            let made = fold.distribution(own, |v: VarId| network.size(v), &states);
            made.iter().zip(row).all(|(m, r)| (m - r).abs() <= SAME)
        })
    }
}

/// Shares of a cumulative row; `None` when it falls or passes one by more than rounding.
fn differences(row: &[f64]) -> Option<Vec<f64>> {
    let mut before = 0.0;
    let mut out = Vec::with_capacity(row.len());
    for f in row {
        let share = f - before;
        before = *f;
        if share < -SAME {
            return None;
        }
        // Rounding of a share that is nought must not hide the nought.
        out.push(if share.abs() <= SAME { 0.0 } else { share });
    }
    let total: f64 = out.iter().sum();
    if (total - 1.0).abs() > SAME * 10.0 {
        return None;
    }
    if let [first, rest @ ..] = &mut out[..]
        && (*first - 1.0).abs() <= SAME
        && rest.iter().all(|c| *c == 0.0)
    {
        *first = 1.0;
    }
    Some(out)
}
