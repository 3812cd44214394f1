//! A compiled program: cells, instructions, and where figures, inputs and answers live.
//!
//! Cells are of two kinds. *Fixed* cells do not depend on evidence: figures, and what the
//! prologue makes of them once per set of figures. *Lane* cells hold one value a lane.
//! Must not run anything.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::back::Back;
use super::backward::{self, Backward};
use super::branches::{Maxima, branches};
use super::instruction::Instruction;
use super::lower::Belongs;
use super::stored::whole;
use super::{contract, cut, lower, order};
use crate::network::variable::{Network, VarId};

/// What a run costs beside its operations: as much as so many of them. Measured on one machine, about
/// 13 and 0.8 ns; it only chooses between programs that do the same.
const RUN: u64 = 16;

/// How a slot's evidence comes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Seen {
    /// Exactly this state was seen; the program is made for it and takes no input.
    Hard(usize),
    /// This state rather than the others, which are alike: takes two inputs, the likelihood of
    /// every other state and how much greater that of this state is. What is told, or seen by
    /// somebody unsure; as narrow as a hard slot but for one two-state variable.
    Mostly(usize),
    /// This state was seen, in lanes that give `1, 0`; nothing was seen, in lanes that give
    /// `0, 1`. Exact for these two pairs only, and as narrow as a hard slot.
    Switch(usize),
    /// A likelihood over the joint states of the scope, given with each lane.
    Soft,
    /// Which state it is, given with each lane: one for that state and nought for the others.
    /// Exact for such lanes only. Ties nothing together, so as narrow as a hard slot; one variable
    /// a slot.
    Known,
}

/// Where evidence enters: on one variable, or on the joint states of a few.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Slot {
    /// Variables; a hard slot has exactly one.
    pub scope: Vec<VarId>,
    /// How the evidence comes in.
    pub seen: Seen,
}

/// A class of evidence and what is asked of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub struct Request {
    /// Slots, in the order lanes give their inputs.
    pub slots: Vec<Slot>,
    /// Sets of variables whose joint chances are asked for.
    pub queries: Vec<Vec<VarId>>,
    /// Tries of the search for an order.
    pub restarts: usize,
}

/// Why a network cannot be compiled for a class of evidence.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CompileError {
    /// Exact work would need more table entries than allowed.
    #[error("too wide for exact work: {entries:.3e} table entries, {limit:.3e} allowed")]
    TooWide {
        /// Entries over all steps.
        entries: f64,
        /// The limit.
        limit: f64,
    },
}

/// Entries above which a program is refused: about a gigabyte of working memory a lane.
pub(in crate::network) const ENTRY_LIMIT: f64 = 6e8;

/// What a figure is taken for in a program that many networks share: about the mean of those of rare
/// faults and of signs. One that is smaller only costs range, of which half is spare. Own judgement.
const NOMINAL: f64 = 0.125;

/// Instructions that run together, and the lane cells that are theirs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::network) struct Stretch {
    pub instructions: Range<usize>,
    pub cells: Range<usize>,
}

/// What a sweep does next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::network) enum Turn {
    /// Runs a stretch upward.
    Up(usize),
    /// Adds a cell to P(evidence); whether it is a lane cell.
    Weigh(u32, bool),
    /// Runs a stretch downward: all that hangs on it is done.
    Down(usize),
}

/// The lane instructions and when they run. A stretch is read only between its turns up and down,
/// so stretches whose turns lie apart use the same cells.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(in crate::network) struct Flow {
    #[serde(deserialize_with = "whole")]
    pub upward: Vec<Instruction>,
    pub stretches: Vec<Stretch>,
    pub turns: Vec<Turn>,
}

/// How wide a program is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Width {
    /// Table entries over all elimination steps, without the noughts the order knew of.
    pub entries: f64,
    /// Entries of the largest step.
    pub largest: f64,
    /// Operations done once per set of figures.
    pub prologue: u64,
    /// Operations a lane, upward.
    pub operations: u64,
    /// Lane cells.
    pub cells: u64,
    /// Instructions, each a run of operations.
    pub instructions: u64,
}

/// A program for one network and one class of evidence.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Program {
    pub(in crate::network) request: Request,
    /// Number of fixed cells, lane cells, inputs, query cells.
    pub(in crate::network) fixed: usize,
    pub(in crate::network) lanes: usize,
    pub(in crate::network) inputs: usize,
    /// Figure of each fixed cell that is one: (cell, figure).
    pub(in crate::network) figures: Vec<(u32, u32)>,
    /// Fixed cell of each query cell.
    pub(in crate::network) query_cells: Vec<u32>,
    /// First query cell of each query.
    pub(in crate::network) query_first: Vec<usize>,
    /// Figures folded away, with the value they must keep.
    pub(in crate::network) folded: Vec<(u32, f64)>,
    #[serde(deserialize_with = "whole")]
    pub(in crate::network) prologue: Vec<Instruction>,
    pub(in crate::network) flow: Flow,
    /// Cells of the powers of two, and whether they are lane cells.
    pub(in crate::network) scales: Vec<(u32, bool)>,
    pub(in crate::network) backward: Backward,
    width: Width,
}

/// Factors and orders for them. Seen maxima join their parents as a good order of the stars they
/// stand for has it, and that order is where the search for one with running states begins.
fn narrow(network: &Network, request: &Request) -> (lower::Lowered, Vec<order::Order>) {
    let search = |lowered: &lower::Lowered, begin: Vec<Vec<u32>>| {
        let tables = lowered.factors.iter().map(lower::Factor::outline);
        let tables = tables.collect::<Vec<_>>();
        let (sizes, groups) = (&lowered.sizes, &lowered.groups);
        let stars = lowered.stars.iter().map(|star| star.variable);
        let stars = stars.collect::<Vec<_>>();
        let orders = order::order(&tables, sizes, groups, &stars, request.restarts, begin);
        (orders, tables)
    };
    let cut = |(mut orders, tables): (Vec<order::Order>, Vec<order::Outline>), sizes: &[usize]| {
        for order in &mut orders {
            order.cut = cut::cut(&tables, sizes, order);
        }
        orders
    };
    let stars = lower::lower(network, request, Maxima::Stars);
    let found = search(&stars, Vec::new());
    if stars.stars.is_empty() {
        // Nothing hung on the order, so this is what there is to sum.
        let orders = cut(found, &stars.sizes);
        return (stars, orders);
    }
    let order = order::narrowest(&found.0).variables.clone();
    let branches = branches(&stars, &order);
    let mut rank = vec![usize::MAX; stars.sizes.len()];
    for (place, v) in order.iter().enumerate() {
        rank[*v as usize] = place;
    }
    let lowered = lower::lower(network, request, Maxima::Along(&branches));
    let known = stars.belongs.iter().copied().zip(rank.iter().copied());
    let known = known.collect::<BTreeMap<_, _>>();
    let there = lowered.factors.iter().flat_map(|f| f.scope.iter().copied());
    let there = there.collect::<BTreeSet<_>>();
    // A variable is summed out before the running states it speaks to, or behind them.
    let begin = [0, 2].map(|running| {
        let place = |v: &u32| match lowered.belongs[*v as usize] {
            Belongs::Step(step) => (step, running),
            own => (known.get(&own).copied().unwrap_or(usize::MAX), 1),
        };
        let mut begin = there.iter().copied().collect::<Vec<_>>();
        begin.sort_by_key(place);
        begin
    });
    let orders = cut(search(&lowered, begin.to_vec()), &lowered.sizes);
    (lowered, orders)
}

/// One way to do the work: instructions upward and downward.
struct Laid {
    order: order::Order,
    made: contract::Made,
    backward: Backward,
}

impl Laid {
    /// What a sweep costs, in operations of eight lanes.
    fn cost(&self) -> u64 {
        let ups = self.made.flow.upward.iter().map(|i| RUN + i.operations());
        let downs = self.backward.list.iter().map(|b| RUN + b.operations());
        ups.chain(downs).sum()
    }
}

impl Program {
    /// Compiles a network for a class of evidence.
    ///
    /// # Errors
    /// When exact work would be too wide, with the size.
    pub fn compile(network: &Network, request: &Request) -> Result<Self, CompileError> {
        Self::compile_within(network, request, ENTRY_LIMIT)
    }

    /// As [`Program::compile`], refusing earlier: where more than `limit` table entries would be
    /// needed. For many jobs at a time, whose memory adds up.
    ///
    /// # Errors
    /// When exact work would be too wide, with the size.
    pub fn compile_within(
        network: &Network,
        request: &Request,
        limit: f64,
    ) -> Result<Self, CompileError> {
        Self::laid_out(network, request, limit, &network.figures())
    }

    /// As [`Program::compile_within`], the same program for every network of this structure: how
    /// small the figures are decides nothing, for each is taken as [`NOMINAL`] where the program is
    /// to be kept in range.
    ///
    /// # Errors
    /// When exact work would be too wide, with the size.
    pub fn compile_alike(
        network: &Network,
        request: &Request,
        limit: f64,
    ) -> Result<Self, CompileError> {
        let figures = network.figures().into_iter();
        let nominal = |f: f64| if f == 0.0 || f == 1.0 { f } else { NOMINAL };
        Self::laid_out(
            network,
            request,
            limit,
            &figures.map(nominal).collect::<Vec<_>>(),
        )
    }

    /// Lays a program out for figures about as small as these, noughts and ones as they are.
    fn laid_out(
        network: &Network,
        request: &Request,
        limit: f64,
        figures: &[f64],
    ) -> Result<Self, CompileError> {
        let (lowered, orders) = narrow(network, request);
        let entries = order::narrowest(&orders).entries;
        let mut refused = CompileError::TooWide { entries, limit };
        let mut fastest: Option<Laid> = None;
        for order in orders.into_iter().filter(|order| order.entries <= limit) {
            match contract::contract(&lowered, &order, figures, limit) {
                Ok(made) => {
                    let backward = backward::backward(&made);
                    let laid = Laid {
                        order,
                        made,
                        backward,
                    };
                    if fastest.as_ref().is_none_or(|f| laid.cost() < f.cost()) {
                        fastest = Some(laid);
                    }
                }
                Err(entries) => refused = CompileError::TooWide { entries, limit },
            }
        }
        let Laid {
            order,
            made,
            backward,
        } = fastest.ok_or(refused)?;
        let folded = lowered
            .folded
            .iter()
            .map(|f| (*f, figures[*f as usize]))
            .collect();
        let mut query_first = Vec::new();
        let mut next = 0;
        for query in &request.queries {
            query_first.push(next);
            next += query.iter().map(|v| network.size(*v)).product::<usize>();
        }
        let operations = |list: &[Instruction]| list.iter().map(Instruction::operations).sum();
        let width = Width {
            entries: order.entries,
            largest: order.largest,
            prologue: operations(&made.prologue),
            operations: operations(&made.flow.upward),
            cells: made.lanes as u64,
            instructions: (made.prologue.len() + made.flow.upward.len()) as u64,
        };
        Ok(Self {
            request: request.clone(),
            fixed: made.fixed,
            lanes: made.lanes,
            inputs: lowered.inputs as usize,
            figures: made.figures,
            query_cells: made.query_cells,
            query_first,
            folded,
            prologue: made.prologue,
            flow: made.flow,
            scales: made.scales,
            backward,
            width,
        })
    }

    /// How wide it is.
    #[must_use]
    pub fn width(&self) -> Width {
        self.width
    }

    /// Bytes it holds, nearly.
    #[must_use]
    pub fn bytes(&self) -> usize {
        let ups = self.prologue.len() + self.flow.upward.len();
        ups * size_of::<Instruction>()
            + self.backward.list.len() * size_of::<Back>()
            + self.figures.len() * size_of::<(u32, u32)>()
            + self.folded.len() * size_of::<(u32, f64)>()
            + self.fixed * size_of::<f64>()
    }

    /// The class of evidence it was made for.
    #[must_use]
    pub fn request(&self) -> &Request {
        &self.request
    }

    /// Number of inputs a lane gives: the soft slots' likelihoods, one after another.
    #[must_use]
    pub fn inputs(&self) -> usize {
        self.inputs
    }
}
