//! Which entries of two tables meet, and where their products go.
//!
//! Tables hold only what is not nought, so what is nought costs nothing here either.
//! Must not know cells.

use std::ops::Range;

/// Empty places for each term up to which looking places up in a table beats sorting them.
const MOST_EMPTY: u64 = 16;

/// A table over lowered variables, without its values: the places that are not nought, rising.
/// A place counts through the scope, last axis fastest.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Places {
    pub scope: Vec<u32>,
    pub at: Vec<u64>,
}

impl Places {
    /// The places where a variable is in this state, and their numbers; `None` where the table does
    /// not hold the variable.
    pub fn given(&self, sizes: &[usize], variable: u32, state: u64) -> Option<(Self, Vec<usize>)> {
        let axis = find(&axes(&self.scope, sizes), variable)?;
        let there = self.at.iter().enumerate();
        let there = there.filter(|(_, place)| axis.state(**place) == state);
        let left = there.map(|(number, place)| {
            let above = place / (axis.stride * axis.size);
            (above * axis.stride + place % axis.stride, number)
        });
        let (at, kept) = left.unzip();
        let scope = self.scope.iter().copied().filter(|v| *v != variable);
        let scope = scope.collect();
        Some((Self { scope, at }, kept))
    }
}

/// A product of two entries and the entry of the outcome it is added to, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Term {
    pub out: u32,
    pub a: u32,
    pub b: u32,
}

/// A product of two tables, one variable summed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Product {
    pub places: Places,
    /// In the order in which they are best done: neighbours run on in all three tables.
    pub terms: Vec<Term>,
}

/// One axis of a table: variable, states, and how far a state moves a place.
#[derive(Clone, Copy)]
struct Axis {
    variable: u32,
    size: u64,
    stride: u64,
}

impl Axis {
    fn state(self, place: u64) -> u64 {
        place / self.stride % self.size
    }
}

fn axes(scope: &[u32], sizes: &[usize]) -> Vec<Axis> {
    let mut stride = 1;
    let mut axes = scope
        .iter()
        .rev()
        .map(|v| {
            let size = sizes[*v as usize] as u64;
            let axis = Axis {
                variable: *v,
                size,
                stride,
            };
            stride *= size;
            axis
        })
        .collect::<Vec<_>>();
    axes.reverse();
    axes
}

fn find(axes: &[Axis], variable: u32) -> Option<Axis> {
    axes.iter().copied().find(|a| a.variable == variable)
}

/// An entry of one table on its way to the product.
struct Entry {
    number: u32,
    /// Place of the states that both tables have, counted through `a`.
    common: u64,
    /// State of the summed variable, if this table gives it.
    summed: u64,
    /// What it adds to the place of the outcome.
    out: u64,
}

/// `out = sum over the variable of a * b`; `a` is the larger table.
pub(super) fn product(sizes: &[usize], a: &Places, b: &Places, sum: Option<u32>) -> Product {
    // Axes of `a` that `b` lacks stay last, so that runs are long.
    let kept = |v: &&u32| Some(**v) != sum;
    let both = |v: &&u32| b.scope.contains(v);
    let mut scope = b.scope.iter().filter(kept).copied().collect::<Vec<_>>();
    scope.retain(|v| !a.scope.contains(v));
    scope.extend(a.scope.iter().filter(kept).filter(both));
    scope.extend(a.scope.iter().filter(kept).filter(|v| !both(v)));
    let (of_a, of_b, of_out) = (
        axes(&a.scope, sizes),
        axes(&b.scope, sizes),
        axes(&scope, sizes),
    );
    let entries = |places: &Places, own: &[Axis], outer: bool| {
        // How each axis counts toward the common place, the summed state and the outcome.
        let counts = own.iter().map(|axis| {
            let shared = both(&&axis.variable);
            let common = find(&of_a, axis.variable).filter(|_| shared);
            let summed = Some(axis.variable) == sum && outer == shared;
            // What both have counts once, with `b`.
            let out = find(&of_out, axis.variable).filter(|_| outer == shared);
            let stride = |a: Option<Axis>| a.map_or(0, |a| a.stride);
            (*axis, stride(common), u64::from(summed), stride(out))
        });
        let counts = counts.collect::<Vec<_>>();
        let entry = |(number, place): (u32, &u64)| {
            let (mut common, mut summed, mut out) = (0, 0, 0);
            for (axis, to_common, to_summed, to_out) in &counts {
                let state = axis.state(*place);
                common += state * to_common;
                summed += state * to_summed;
                out += state * to_out;
            }
            Entry {
                number,
                common,
                summed,
                out,
            }
        };
        (0..).zip(&places.at).map(entry).collect::<Vec<_>>()
    };
    // Outer loop over `b` in the order of the outcome, the summed state last; inner loop over
    // what of `a` meets it.
    let mut outer = entries(b, &of_b, true);
    outer.sort_unstable_by_key(|e| (e.out, e.summed));
    let mut inner = entries(a, &of_a, false);
    inner.sort_unstable_by_key(|e| (e.common, e.summed, e.out));
    let met = |common: u64| -> Range<usize> {
        let from = inner.partition_point(|e| e.common < common);
        from..from + inner[from..].partition_point(|e| e.common == common)
    };
    let met = outer.iter().map(|e| met(e.common)).collect::<Vec<_>>();
    let pairs = || {
        let outer = outer.iter().zip(&met);
        outer.flat_map(|(y, met)| inner[met.clone()].iter().map(move |x| (x, y)))
    };
    let outs = pairs().map(|(x, y)| x.out + y.out).collect::<Vec<_>>();
    let size: u64 = of_out.iter().map(|a| a.size).product();
    let (at, numbers) = ranks(&outs, size);
    let terms = pairs().zip(numbers).map(|((x, y), out)| Term {
        out,
        a: x.number,
        b: y.number,
    });
    Product {
        terms: terms.collect(),
        places: Places { scope, at },
    }
}

/// The different places, rising, of a table of so many, and the number of each place among them.
fn ranks(places: &[u64], size: u64) -> (Vec<u64>, Vec<u32>) {
    let number = |n: usize| u32::try_from(n).expect("fewer than 2^32 entries");
    if size > MOST_EMPTY * (places.len() as u64 + 1) {
        let mut at = places.to_vec();
        at.sort_unstable();
        at.dedup();
        let find = |place: &u64| number(at.partition_point(|p| p < place));
        let numbers = places.iter().map(find).collect();
        return (at, numbers);
    }
    let index = |place: u64| usize::try_from(place).expect("a small table");
    let mut numbers = vec![u32::MAX; index(size)];
    places.iter().for_each(|place| numbers[index(*place)] = 0);
    let mut at = Vec::new();
    for (place, here) in (0..).zip(&mut numbers).filter(|(_, n)| **n == 0) {
        *here = number(at.len());
        at.push(place);
    }
    let numbers = places.iter().map(|place| numbers[index(*place)]);
    let numbers = numbers.collect();
    (at, numbers)
}

/// The terms of each entry of a product, in the order in which they are done.
pub(super) struct Sums {
    first: Vec<usize>,
    terms: Vec<Term>,
}

impl Sums {
    pub fn new(product: &Product) -> Self {
        let mut first = vec![0; product.places.at.len() + 1];
        for term in &product.terms {
            first[term.out as usize + 1] += 1;
        }
        for at in 1..first.len() {
            first[at] += first[at - 1];
        }
        let mut next = first.clone();
        let none = Term { out: 0, a: 0, b: 0 };
        let mut terms = vec![none; product.terms.len()];
        for term in &product.terms {
            let at = &mut next[term.out as usize];
            terms[*at] = *term;
            *at += 1;
        }
        Self { first, terms }
    }

    pub fn of(&self, out: usize) -> &[Term] {
        &self.terms[self.first[out]..self.first[out + 1]]
    }
}
