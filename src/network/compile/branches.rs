//! Along which tree a seen maximum joins its parents.
//!
//! A maximum does not mind in which order its parents speak, nor whether they are first gathered in
//! groups: of two groups that were looked at apart, one of them has to have spoken,
//!
//! ```text
//! open, open --> open      open, spoken --> spoken      spoken, any --> spoken
//! ```
//! An order found for *stars* (one variable tied to every parent) says which groups are apart: where
//! two partial sums that hold the star come together, so do their running states, and where a parent
//! is summed out it joins the running state that is there. So the program is as narrow as the star's
//! order was, but for the two states before and after. A chain through all parents would tie partial
//! sums together that have nothing else in common.
//! Must not choose the order or make factors.

use std::collections::{BTreeMap, BTreeSet};

use super::lower::Lowered;

/// A seen maximum as one variable tied to every parent.
#[derive(Debug, Clone)]
pub(super) struct Star {
    /// The maximum, a variable of the network.
    pub leaf: usize,
    pub variable: u32,
    /// Number of each parent that can say the seen state, and the factor that ties it.
    pub links: Vec<(usize, usize)>,
}

/// How observed noisy maxima are lowered.
#[derive(Debug, Clone, Copy)]
pub(super) enum Maxima<'a> {
    /// As stars: only the scopes mean anything. A good order for the stars says how the parents
    /// should come together.
    Stars,
    /// As running states that join the parents along a tree.
    Along(&'a Branches),
}

/// One running state: how it comes about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Made {
    /// The parent of this number speaks after a running state, or first.
    Spoken {
        parent: usize,
        before: Option<usize>,
    },
    /// Two running states meet.
    Met(usize, usize),
}

/// A running state of a seen maximum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Running {
    pub made: Made,
    /// Step of the stars' order in which it is summed out.
    pub place: usize,
    /// Stage of the variable that step sums out.
    pub group: u16,
}

/// The running states of each seen maximum, by its variable in the network; a state is made of
/// earlier ones, and the last is what the parents say together.
pub(super) type Branches = BTreeMap<usize, Vec<Running>>;

/// What a partial sum knows of a star.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Carried {
    /// A running state.
    State(usize),
    /// A parent that has not spoken.
    Parent(usize),
}

/// A factor, or what is left of some when variables were summed out.
#[derive(Debug, Default)]
struct Partial {
    scope: BTreeSet<u32>,
    /// By the number of the star.
    carried: BTreeMap<usize, Vec<Carried>>,
}

/// Follows the order of the stars.
pub(super) fn branches(stars: &Lowered, order: &[u32]) -> Branches {
    let mut partials = stars.factors.iter().map(|factor| Partial {
        scope: factor.scope.iter().copied().collect(),
        carried: BTreeMap::new(),
    });
    let mut partials = partials.by_ref().collect::<Vec<_>>();
    for (number, star) in stars.stars.iter().enumerate() {
        for (parent, factor) in &star.links {
            let carried = &mut partials[*factor].carried;
            carried.insert(number, vec![Carried::Parent(*parent)]);
        }
    }
    let mut made = vec![Vec::new(); stars.stars.len()];
    for (place, variable) in order.iter().enumerate() {
        let group = stars.groups[*variable as usize];
        let (with, rest) = partials
            .into_iter()
            .partition::<Vec<_>, _>(|p| p.scope.contains(variable));
        partials = rest;
        let mut joined = Partial::default();
        for partial in with {
            joined.scope.extend(partial.scope);
            for (star, carried) in partial.carried {
                joined.carried.entry(star).or_default().extend(carried);
            }
        }
        joined.scope.remove(variable);
        for (number, carried) in &mut joined.carried {
            let ends = stars.stars[*number].variable == *variable;
            join(&mut made[*number], carried, place, group, ends);
        }
        let over = |star: &Star| star.variable == *variable;
        joined.carried.retain(|n, _| !over(&stars.stars[*n]));
        partials.push(joined);
    }
    let leaves = stars.stars.iter().map(|star| star.leaf);
    leaves.zip(made).collect()
}

/// Joins what came together in a step to one running state, which is summed out there if the star
/// `ends` with it.
fn join(made: &mut Vec<Running>, carried: &mut Vec<Carried>, place: usize, group: u16, ends: bool) {
    // Running states first, so that they meet before a parent speaks.
    carried.sort_unstable();
    let mut now = None;
    for one in std::mem::take(carried) {
        let mut used = |state: usize| (made[state].place, made[state].group) = (place, group);
        let how = match (one, now) {
            (Carried::State(state), None) => {
                now = Some(state);
                continue;
            }
            (Carried::State(state), Some(other)) => {
                used(state);
                used(other);
                Made::Met(other, state)
            }
            (Carried::Parent(parent), before) => {
                before.into_iter().for_each(used);
                Made::Spoken { parent, before }
            }
        };
        now = Some(made.len());
        made.push(Running {
            made: how,
            place: usize::MAX,
            group: 0,
        });
    }
    if let Some(state) = now {
        if ends {
            (made[state].place, made[state].group) = (place, group);
        }
        carried.push(Carried::State(state));
    }
}
