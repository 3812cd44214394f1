//! Expectation-maximisation on any network: figures from rows in which some variables were not
//! seen (Dempster, Laird and Rubin 1977; Lauritzen 1995 for networks).
//!
//! Rows of tables may be tied: what one group of them is worth is learnt once. For a group with
//! pseudo-counts `a`,
//!
//! ```text
//! E:  n_s = sum over rows of evidence and tied table rows of P(parents there, V = s | evidence)
//! M:  figure_s = (n_s + a_s) / sum (n + a)
//! ```
//! and `sum log P(evidence) + sum a ln figure` never falls. Every row of evidence is one lane of
//! one program; figures are inputs of it, so nothing is compiled again. Must not know parts.

use std::collections::BTreeMap;

use crate::network::{
    CompileError, KernelError, Lane, Network, NetworkError, Program, Request, Seen, Slot, Tally,
    VarId,
};

/// Tries of the search for an order.
const RESTARTS: usize = 10;
/// Learnt figures are held this far from nought, where a program folds.
const LEAST: f64 = 1e-12;

/// A row of a variable's first table: joint state of its drivers, last fastest.
pub type TableRow = (VarId, usize);

/// Table rows that are one and the same unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The rows; all of variables with equally many states and no contributions.
    pub rows: Vec<TableRow>,
    /// Pseudo-counts by state; empty for none.
    pub pseudo: Vec<f64>,
}

/// Evidence: a variable and its state, `None` for what was not seen, for each observed variable.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// States in the order of [`EmProblem::observed`].
    pub states: Vec<Option<usize>>,
    /// How often the row stands in the data.
    pub times: f64,
}

/// What is to be learnt from what.
#[derive(Debug, Clone)]
pub struct EmProblem {
    /// The network with the figures to start from.
    pub network: Network,
    /// What is learnt; table rows in no group stay.
    pub groups: Vec<Group>,
    /// Variables that may be seen.
    pub observed: Vec<VarId>,
    /// The rows.
    pub rows: Vec<Row>,
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmSettings {
    /// Iterations at most.
    pub most: usize,
    /// Stop when the objective gains less than this.
    pub enough: f64,
}

/// What was learnt.
#[derive(Debug, Clone)]
pub struct EmFit {
    /// The network with the learnt figures.
    pub network: Network,
    /// Log likelihood before each iteration and at the end.
    pub log_likelihood: Vec<f64>,
    /// Log likelihood plus the logarithm of what the pseudo-counts say; never falls.
    pub objective: Vec<f64>,
    /// Expected counts of each group at the last iteration, by state.
    pub counts: Vec<Vec<f64>>,
}

/// Why nothing is learnt.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EmError {
    /// The network is too wide.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// A row cannot be, or is too unlikely.
    #[error(transparent)]
    Kernel(#[from] KernelError),
    /// Learnt figures do not make a table.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// A variable with contributions cannot be in a group.
    #[error("`{0}` is no plain table")]
    NotATable(String),
}

/// A problem with its program, ready to iterate.
pub struct Em {
    problem: EmProblem,
    program: Program,
    tally: Tally,
    lanes: Vec<Lane>,
    times: Vec<f64>,
    /// Query of each variable that has tied rows.
    queries: BTreeMap<VarId, usize>,
}

impl Em {
    /// Compiles the program.
    ///
    /// # Errors
    /// When the network is too wide or a group holds a variable that is no plain table.
    pub fn new(problem: EmProblem) -> Result<Self, EmError> {
        let network = &problem.network;
        let mut queries = BTreeMap::new();
        let mut asked = Vec::new();
        for (variable, _) in problem.groups.iter().flat_map(|g| &g.rows) {
            let local = &network.variable(*variable).local;
            if !local.from.is_empty() {
                return Err(EmError::NotATable(network.variable(*variable).name.clone()));
            }
            queries.entry(*variable).or_insert_with(|| {
                let family = local.drivers.iter().copied().chain([*variable]);
                asked.push(family.collect());
                asked.len() - 1
            });
        }
        let slot = |v: &VarId| Slot {
            scope: vec![*v],
            seen: Seen::Soft,
        };
        let request = Request {
            slots: problem.observed.iter().map(slot).collect(),
            queries: asked,
            restarts: RESTARTS,
        };
        let program = Program::compile(network, &request)?;
        let lane = |row: &Row| {
            let mut inputs = Vec::with_capacity(program.inputs());
            for (variable, state) in problem.observed.iter().zip(&row.states) {
                let size = network.size(*variable);
                inputs.extend((0..size).map(|s| f64::from(state.is_none_or(|x| x == s))));
            }
            Lane {
                inputs,
                log_scale: 0.0,
            }
        };
        let lanes = problem.rows.iter().map(lane).collect();
        Ok(Self {
            times: problem.rows.iter().map(|r| r.times).collect(),
            tally: program.tally(),
            problem,
            program,
            lanes,
            queries,
        })
    }

    /// Log likelihood and expected counts of each group under the present figures.
    ///
    /// # Errors
    /// When a row cannot be.
    pub fn expect(&self) -> Result<(f64, Vec<Vec<f64>>), EmError> {
        let network = &self.problem.network;
        let bound = self.program.bind(&network.figures())?;
        let (tally, lanes, times) = (&self.tally, &self.lanes, &self.times);
        let total = self.program.total(tally, &bound, lanes, times)?;
        let families = total.chances;
        let counts = self.problem.groups.iter().map(|group| {
            let own = group.rows.first().map_or(0, |r| network.size(r.0));
            let mut counts = vec![0.0; own];
            for (variable, row) in &group.rows {
                let family = &families[self.queries[variable]];
                for (state, count) in counts.iter_mut().enumerate() {
                    *count += family[row * own + state];
                }
            }
            counts
        });
        Ok((total.log_evidence, counts.collect()))
    }

    /// Log of what the pseudo-counts say of the present figures.
    #[must_use]
    pub fn log_pseudo(&self) -> f64 {
        let figure = |group: &Group, state: usize| {
            let (variable, row) = group.rows[0];
            let own = self.problem.network.size(variable);
            self.problem.network.variable(variable).local.init[row * own + state]
        };
        let groups = self.problem.groups.iter().filter(|g| !g.rows.is_empty());
        groups
            .flat_map(|g| {
                let states = g.pseudo.iter().enumerate().filter(|(_, a)| **a > 0.0);
                states.map(move |(s, a)| a * figure(g, s).ln())
            })
            .sum()
    }

    /// Puts figures in that follow from counts.
    ///
    /// # Errors
    /// When they make no table.
    pub fn maximise(&mut self, counts: &[Vec<f64>]) -> Result<(), EmError> {
        let mut tables: BTreeMap<VarId, Vec<f64>> = BTreeMap::new();
        for (group, counts) in self.problem.groups.iter().zip(counts) {
            let pseudo = |s: usize| group.pseudo.get(s).copied().unwrap_or(0.0);
            let sums = counts.iter().enumerate().map(|(s, n)| n + pseudo(s));
            let sums = sums.collect::<Vec<_>>();
            let total: f64 = sums.iter().sum();
            if total <= 0.0 {
                continue;
            }
            let figures = sums
                .iter()
                .map(|s| (s / total).max(LEAST))
                .collect::<Vec<_>>();
            for (variable, row) in &group.rows {
                let local = &self.problem.network.variable(*variable).local;
                let table = tables
                    .entry(*variable)
                    .or_insert_with(|| local.init.clone());
                let own = figures.len();
                table[row * own..(row + 1) * own].copy_from_slice(&figures);
            }
        }
        for (variable, table) in tables {
            self.problem.network.set_init(variable, table)?;
        }
        Ok(())
    }

    /// Iterates.
    ///
    /// # Errors
    /// As its parts.
    pub fn run(mut self, settings: EmSettings) -> Result<EmFit, EmError> {
        let mut logs = Vec::new();
        let mut objective: Vec<f64> = Vec::new();
        let (mut log, mut counts) = self.expect()?;
        for _ in 0..settings.most {
            logs.push(log);
            objective.push(log + self.log_pseudo());
            self.maximise(&counts)?;
            (log, counts) = self.expect()?;
            let now = log + self.log_pseudo();
            if objective
                .last()
                .is_some_and(|before| now - before < settings.enough)
            {
                break;
            }
        }
        logs.push(log);
        objective.push(log + self.log_pseudo());
        Ok(EmFit {
            network: self.problem.network,
            log_likelihood: logs,
            objective,
            counts,
        })
    }
}

impl std::fmt::Debug for Em {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Em")
            .field("rows", &self.problem.rows.len())
            .finish_non_exhaustive()
    }
}
