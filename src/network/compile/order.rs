//! In which order the variables are summed out.
//!
//! Greedy by weighted fill: the variable whose step joins the least that was apart, each new
//! pair weighted by the logarithms of its sizes. Two families of orders are tried: one over all
//! variables at once, and one group by group (cylinder by cylinder), which a greedy rule does
//! not find by itself. Deterministic restarts break near ties differently; the cheapest whole
//! order wins. Must not look at figures.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Seed of the restarts; any number does, it only has to stay the same.
const SEED: u64 = 1913;
/// Entries from which every doubling earns the search as many restarts again: they are cheap
/// beside what a wide program costs.
const WIDE: f64 = 250_000.0;
/// Spread of the noise on a step's fill, as a factor, in the restarts.
const NOISE: f64 = 0.6;

/// Order and its cost in table entries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Order {
    pub variables: Vec<u32>,
    pub entries: f64,
    pub largest: f64,
}

/// Best order over `restarts` tries. `scopes` are the factors, `sizes` the state counts,
/// `groups` the stage of each variable in the staged orders, nought for the last stage.
pub(super) fn order(
    scopes: &[Vec<u32>],
    sizes: &[usize],
    groups: &[u16],
    restarts: usize,
) -> Order {
    let graph = Graph::new(scopes, sizes);
    let staged = groups.iter().any(|g| *g > 0);
    let free = vec![0; groups.len()];
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut best = graph
        .greedy(f64::INFINITY, &free, || 1.0)
        .expect("no bound, no stop");
    let mut round = 0;
    #[expect(clippy::cast_precision_loss, reason = "a few dozen at most")]
    let earned = |entries: f64| restarts as f64 * (1.0 + (entries / WIDE).log2().max(0.0));
    #[expect(clippy::cast_precision_loss, reason = "a few dozen at most")]
    while round as f64 <= earned(best.entries) {
        for stages in [groups, &free[..]] {
            if round == 0_usize && stages == free || !staged && stages != free {
                continue;
            }
            let noise = if round == 0 { 0.0 } else { NOISE };
            let tried = graph.greedy(best.entries, stages, || {
                1.0 + noise * random.random::<f64>()
            });
            if let Some(tried) = tried.filter(|t| t.entries < best.entries) {
                best = tried;
            }
        }
        round += 1;
    }
    best
}

struct Graph {
    words: usize,
    neighbours: Vec<u64>,
    logs: Vec<f64>,
    present: Vec<bool>,
}

/// Members of a set of bits.
fn members(set: &[u64]) -> impl Iterator<Item = usize> + '_ {
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
    fn new(scopes: &[Vec<u32>], sizes: &[usize]) -> Self {
        let n = sizes.len();
        let words = n.div_ceil(64);
        let mut neighbours = vec![0_u64; n * words];
        let mut present = vec![false; n];
        for scope in scopes {
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
        }
    }

    fn row<'a>(&self, neighbours: &'a [u64], v: usize) -> &'a [u64] {
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

    /// One greedy run; `None` as soon as it is dearer than `bound`.
    fn greedy(&self, bound: f64, groups: &[u16], mut noise: impl FnMut() -> f64) -> Option<Order> {
        let n = self.logs.len();
        let mut neighbours = self.neighbours.clone();
        let mut left = self.present.clone();
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
                        cost[v] = log_entries;
                        key[v] = fill * noise();
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
                for v in members(&clique).filter(|v| *v != next) {
                    for (w, word) in clique.iter().enumerate() {
                        neighbours[v * self.words + w] |= word;
                    }
                    neighbours[v * self.words + next / 64] &= !(1 << (next % 64));
                }
                for v in members(&clique).filter(|v| *v != next) {
                    for u in members(self.row(&neighbours, v)) {
                        stale[u] = true;
                    }
                }
            }
        }
        Some(Order {
            variables,
            entries,
            largest,
        })
    }
}
