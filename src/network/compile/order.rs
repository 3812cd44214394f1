//! In which order the variables are summed out.
//!
//! Greedy by weighted fill: the variable whose step joins the least that was apart, each new
//! pair weighted by the logarithms of its sizes. Two families of orders are tried: one over all
//! variables at once, and one group by group (cylinder by cylinder), which a greedy rule does
//! not find by itself. Deterministic restarts break near ties differently, every other one by the
//! entries of the step instead of its fill; the cheapest whole order wins.
//!
//! Entries are reckoned without the noughts that a program leaves out: a table in which one of
//! eight cells is not nought makes a step it goes into as much smaller, and what the step leaves
//! behind has at most as many cells that are not nought as the step had. A count over cylinders
//! follows from the count before and the cylinder, so it costs nothing to keep all three.
//! Must not look at figures beyond that.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::anneal::Sums;

/// Seed of the restarts; any number does, it only has to stay the same.
const SEED: u64 = 1913;
/// Entries from which every doubling earns the search as many restarts again: they are cheap
/// beside what a wide program costs.
const WIDE: f64 = 250_000.0;
/// Restarts up to which greedy tries are made of them; further ones buy moves only. Tried: from some
/// ten on greedy tries hardly ever find anything. Own judgement.
const MOST_GREEDY: usize = 20;
/// Restarts for each order that is handed on: how fast a program runs hangs on more than its entries, so
/// one that is to be used much is chosen from a few.
const EACH: usize = 25;
/// Moves tried for each restart that was asked for, in orders that stay wide.
const MOVES: f64 = 2000.0;
/// Entries from which moves are tried, and as many again for every doubling.
const WORTH_MOVES: f64 = 100_000.0;
/// Spread of the noise on a step's fill, as a factor, in the restarts.
const NOISE: f64 = 0.6;

/// Order and its cost in table entries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Order {
    pub variables: Vec<u32>,
    /// Those of them that are not summed out but taken state by state, outermost first.
    pub cut: Vec<u32>,
    pub entries: f64,
    pub largest: f64,
}

/// What an order has to know of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outline {
    pub scope: Vec<u32>,
    /// Logarithm of the share of cells that are not nought.
    pub density: f64,
}

/// By what the next variable is picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rule {
    Fill,
    Entries,
}

/// Best orders over `restarts` tries, about as good as each other: at least one. `tables` are the factors, `sizes` the state counts,
/// `groups` the stage of each variable in the staged orders, nought for the last stage; `stars` are
/// those that stand for running states (see `branches`); `begin` are orders to be beaten.
pub(super) fn order(
    tables: &[Outline],
    sizes: &[usize],
    groups: &[u16],
    stars: &[u32],
    restarts: usize,
    begin: Vec<Vec<u32>>,
) -> Vec<Order> {
    let graph = Graph::new(tables, sizes);
    let staged = groups.iter().any(|g| *g > 0);
    let free = vec![0; groups.len()];
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut best = graph
        .greedy(f64::INFINITY, &free, Rule::Fill, || 1.0)
        .expect("no bound, no stop");
    let mut sums = Sums::new(tables, sizes, stars, best.variables.len());
    for variables in begin {
        let laid = along(&mut sums, variables);
        if laid.entries < best.entries {
            best = laid;
        }
    }
    let mut round = 0;
    #[expect(clippy::cast_precision_loss, reason = "a few dozen at most")]
    let earned =
        |entries: f64| restarts.min(MOST_GREEDY) as f64 * (1.0 + (entries / WIDE).log2().max(0.0));
    #[expect(clippy::cast_precision_loss, reason = "a few dozen at most")]
    while round as f64 <= earned(best.entries) {
        let rule = if round % 2 == 1 {
            Rule::Entries
        } else {
            Rule::Fill
        };
        for stages in [groups, &free[..]] {
            if round == 0_usize && stages == free || !staged && stages != free {
                continue;
            }
            let noise = if round == 0 { 0.0 } else { NOISE };
            let tried = graph.greedy(best.entries, stages, rule, || {
                1.0 + noise * random.random::<f64>()
            });
            if let Some(tried) = tried.filter(|t| t.entries < best.entries) {
                best = tried;
            }
        }
        round += 1;
    }
    let earned = restarts as f64 * MOVES * (best.entries / WORTH_MOVES).log2();
    let moves = if earned > 0.0 { earned as usize } else { 0 };
    let chains = if moves > 0 {
        (restarts / EACH).max(1)
    } else {
        1
    };
    let chain = |chain| {
        let variables = sums.anneal(&best.variables, moves / chains, chain as u64);
        along(&mut sums, variables)
    };
    (0..chains).map(chain).collect()
}

/// The one with the fewest entries.
pub(super) fn narrowest(orders: &[Order]) -> &Order {
    let least = orders.iter().min_by(|a, b| a.entries.total_cmp(&b.entries));
    least.expect("at least one order")
}

/// What a given order costs.
fn along(sums: &mut Sums, variables: Vec<u32>) -> Order {
    let (entries, largest) = sums.lay(&variables);
    Order {
        variables,
        cut: Vec::new(),
        entries,
        largest,
    }
}

pub(super) struct Graph {
    pub words: usize,
    pub neighbours: Vec<u64>,
    pub logs: Vec<f64>,
    present: Vec<bool>,
    /// Tables with noughts: members, and logarithm of the share that is not nought.
    sparse: Vec<(Vec<u64>, f64)>,
}

/// Members of a set of bits.
pub(super) fn members(set: &[u64]) -> impl Iterator<Item = usize> + '_ {
    set.iter().enumerate().flat_map(|(w, word)| {
        let mut word = *word;
        std::iter::from_fn(move || {
            (word != 0).then(|| {
                let at = w * 64 + word.trailing_zeros() as usize;
                word &= word - 1;
                at
            })
        })
    })
}

impl Graph {
    pub fn new(tables: &[Outline], sizes: &[usize]) -> Self {
        let n = sizes.len();
        let words = n.div_ceil(64);
        let mut neighbours = vec![0_u64; n * words];
        let mut present = vec![false; n];
        let mut sparse = Vec::new();
        for Outline { scope, density } in tables {
            if *density < 0.0 {
                let mut set = vec![0_u64; words];
                scope
                    .iter()
                    .for_each(|v| set[*v as usize / 64] |= 1 << (v % 64));
                sparse.push((set, *density));
            }
            for &a in scope {
                present[a as usize] = true;
                for &b in scope {
                    neighbours[a as usize * words + b as usize / 64] |= 1 << (b % 64);
                }
            }
        }
        #[expect(clippy::cast_precision_loss, reason = "state counts are small")]
        let logs = sizes.iter().map(|s| (*s as f64).ln()).collect();
        Self {
            words,
            neighbours,
            logs,
            present,
            sparse,
        }
    }

    pub fn row<'a>(&self, neighbours: &'a [u64], v: usize) -> &'a [u64] {
        &neighbours[v * self.words..(v + 1) * self.words]
    }

    /// Logarithm of the entries of a step, and its weighted fill.
    fn step(&self, neighbours: &[u64], v: usize) -> (f64, f64) {
        let clique = self.row(neighbours, v);
        let (mut entries, mut fill) = (0.0, 0.0);
        for a in members(clique) {
            entries += self.logs[a];
            if a == v {
                continue;
            }
            let known = self.row(neighbours, a);
            let mut missing = 0.0;
            for (w, word) in clique.iter().enumerate() {
                let mut apart = word & !known[w];
                while apart != 0 {
                    missing += self.logs[w * 64 + apart.trailing_zeros() as usize];
                    apart &= apart - 1;
                }
            }
            fill += self.logs[a] * missing;
        }
        (entries, fill)
    }

    /// Joins the rest of a step to each other.
    pub fn join(&self, neighbours: &mut [u64], v: usize, clique: &[u64]) {
        for u in members(clique).filter(|u| *u != v) {
            for (w, word) in clique.iter().enumerate() {
                neighbours[u * self.words + w] |= word;
            }
            neighbours[u * self.words + v / 64] &= !(1 << (v % 64));
        }
    }

    /// One greedy run; `None` as soon as it is dearer than `bound`.
    fn greedy(
        &self,
        bound: f64,
        groups: &[u16],
        rule: Rule,
        mut noise: impl FnMut() -> f64,
    ) -> Option<Order> {
        let n = self.logs.len();
        let mut neighbours = self.neighbours.clone();
        let mut left = self.present.clone();
        let mut noughts = Noughts::new(self);
        let mut cost = vec![0.0; n];
        let mut key = vec![0.0; n];
        let mut stale = left.clone();
        let mut variables = Vec::new();
        let (mut entries, mut largest) = (0.0, 0.0_f64);
        let mut stages = groups.to_vec();
        stages.sort_unstable();
        stages.dedup();
        let last = usize::from(stages.first() == Some(&0));
        stages.rotate_left(last);
        for stage in stages {
            loop {
                let mut next = usize::MAX;
                for v in 0..n {
                    if !left[v] || groups[v] != stage {
                        continue;
                    }
                    if stale[v] {
                        let (log_entries, fill) = self.step(&neighbours, v);
                        cost[v] = log_entries + noughts.density[v];
                        key[v] = noise()
                            * match rule {
                                Rule::Fill => fill,
                                Rule::Entries => cost[v].exp(),
                            };
                        stale[v] = false;
                    }
                    let better = |u: usize| (key[v], cost[v]) < (key[u], cost[u]);
                    if next == usize::MAX || better(next) {
                        next = v;
                    }
                }
                if next == usize::MAX {
                    break;
                }
                let size = cost[next].exp();
                entries += size;
                largest = largest.max(size);
                if entries > bound {
                    return None;
                }
                variables.push(u32::try_from(next).expect("index"));
                left[next] = false;
                let clique = self.row(&neighbours, next).to_vec();
                noughts.sum_out(next, &clique, self.logs[next]);
                self.join(&mut neighbours, next, &clique);
                for v in members(&clique).filter(|v| *v != next) {
                    for u in members(self.row(&neighbours, v)) {
                        stale[u] = true;
                    }
                }
            }
        }
        Some(Order {
            variables,
            cut: Vec::new(),
            entries,
            largest,
        })
    }
}

/// Tables with noughts while variables are summed out.
pub(super) struct Noughts {
    tables: Vec<(Vec<u64>, f64)>,
    /// Tables each variable is in; those that are gone have an empty scope.
    of: Vec<Vec<u32>>,
    /// Sum of the densities of each variable's tables.
    pub density: Vec<f64>,
}

impl Noughts {
    pub fn new(graph: &Graph) -> Self {
        let n = graph.logs.len();
        let mut made = Self {
            tables: Vec::with_capacity(graph.sparse.len() * 2),
            of: vec![Vec::new(); n],
            density: vec![0.0; n],
        };
        for (set, density) in &graph.sparse {
            made.add(set.clone(), *density);
        }
        made
    }

    fn add(&mut self, set: Vec<u64>, density: f64) {
        let index = u32::try_from(self.tables.len()).expect("index");
        for v in members(&set) {
            self.of[v].push(index);
            self.density[v] += density;
        }
        self.tables.push((set, density));
    }

    /// The tables of `v` become one over the rest of its step.
    pub fn sum_out(&mut self, v: usize, clique: &[u64], log_size: f64) {
        let mut density = log_size;
        for index in std::mem::take(&mut self.of[v]) {
            let (set, share) = std::mem::take(&mut self.tables[index as usize]);
            for u in members(&set) {
                self.density[u] -= share;
            }
            density += share;
        }
        if density < 0.0 {
            let mut set = clique.to_vec();
            set[v / 64] &= !(1 << (v % 64));
            self.add(set, density);
        }
    }
}
