//! Variables whose state every lane gives: each factor is summed over them by itself.
//!
//! With `x` one for the state `k` and nought for the others,
//!
//! ```text
//! sum_v f(v, y) g(v, z) x(v) = f(k, y) g(k, z) = [sum_v f(v, y) x(v)] [sum_v g(v, z) x(v)]
//! ```
//! so that a known variable ties nothing together. Must not choose an order.

use super::lower::{Belongs, Cell, Factor, Lowered, Term};

/// Number of the first copy of a variable; none is made of so many others.
const COPIES: u32 = 1 << 31;

/// Takes every known variable (with its first input) out of every factor.
pub(super) fn tell(lowered: &mut Lowered, known: &[(u32, u32)]) {
    let mut copies = Vec::new();
    for at in 0..lowered.factors.len() {
        for (variable, input) in known {
            let factor = &lowered.factors[at];
            let Some(axis) = factor.scope.iter().position(|v| v == variable) else {
                continue;
            };
            let size = lowered.sizes[*variable as usize];
            if factor.cells.iter().all(plain) {
                lowered.factors[at] = summed(factor, axis, &lowered.sizes, *input);
                continue;
            }
            // Two inputs cannot stand in one term: a variable of this factor alone.
            let copy = u32::try_from(lowered.sizes.len()).expect("fewer than 2^32 variables");
            lowered.sizes.push(size);
            let number = COPIES + u32::try_from(copies.len()).expect("fewer than 2^31 copies");
            lowered.belongs.push(Belongs::Own(*variable, number));
            lowered.groups.push(lowered.groups[*variable as usize]);
            lowered.factors[at].scope[axis] = copy;
            copies.push(Factor {
                scope: vec![copy],
                cells: (0..size).map(|s| given(*input, s)).collect(),
            });
        }
    }
    lowered.factors.append(&mut copies);
}

/// Whether a cell holds figures only.
fn plain(cell: &Cell) -> bool {
    match cell {
        Cell::One => true,
        Cell::Sum(terms) => terms.iter().all(|t| t.input.is_none()),
        Cell::Query(_) => false,
    }
}

fn given(input: u32, state: usize) -> Cell {
    Cell::Sum(vec![Term {
        figure: None,
        input: Some(input + u32::try_from(state).expect("index")),
    }])
}

/// A factor of plain cells summed over one axis with the inputs of its states.
fn summed(factor: &Factor, axis: usize, sizes: &[usize], first: u32) -> Factor {
    let size = |v: &u32| sizes[*v as usize];
    let inner: usize = factor.scope[axis + 1..].iter().map(size).product();
    let own = size(&factor.scope[axis]);
    let outer: usize = factor.scope[..axis].iter().map(size).product();
    let mut cells = Vec::with_capacity(outer * inner);
    for o in 0..outer {
        for i in 0..inner {
            let over = (0..own).map(|s| &factor.cells[(o * own + s) * inner + i]);
            cells.push(over_states(over, first));
        }
    }
    let mut scope = factor.scope.clone();
    scope.remove(axis);
    Factor { scope, cells }
}

/// `sum over states of cell * input`; one where it is one in every state.
fn over_states<'c>(cells: impl Iterator<Item = &'c Cell> + Clone, first: u32) -> Cell {
    if cells.clone().all(|c| *c == Cell::One) {
        return Cell::One;
    }
    let terms = cells.zip(first..).flat_map(|(cell, input)| {
        let figures = match cell {
            Cell::Sum(terms) => terms.iter().map(|t| t.figure).collect(),
            _ => vec![None],
        };
        let term = move |figure| Term {
            figure,
            input: Some(input),
        };
        figures.into_iter().map(term)
    });
    Cell::Sum(terms.collect())
}
