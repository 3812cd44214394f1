//! In which order the variables are summed out.
//!
//! Greedy by the size of the table a step makes, with deterministic restarts that break
//! near ties differently; the cheapest whole order wins. Must not look at figures.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Seed of the restarts; any number does, it only has to stay the same.
const SEED: u64 = 1913;
/// Spread of the noise on the logarithm of a step's cost, in the restarts.
const NOISE: f64 = 0.7;

/// Weight of the logarithm of the links that a step makes, beside that of its table, in every
/// other restart; own judgement, after trials on classic networks.
const FILL: f64 = 2.0;

/// Order and its cost in table entries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Order {
    pub variables: Vec<u32>,
    pub entries: f64,
    pub largest: f64,
}

/// Best order over `restarts` tries. `scopes` are the factors, `sizes` the state counts;
/// `first` is an order to begin with, variables it lacks come greedily behind it.
pub(super) fn order(
    scopes: &[Vec<u32>],
    sizes: &[usize],
    restarts: usize,
    first: Option<&[u32]>,
) -> Order {
    let graph = Graph::new(scopes, sizes);
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut best = graph
        .greedy(f64::INFINITY, &[], 0.0, || 0.0)
        .expect("no bound, no stop");
    let mut keep = |tried: Option<Order>| {
        if let Some(tried) = tried.filter(|t| t.entries < best.entries) {
            best = tried;
        }
        best.entries
    };
    let mut bound = f64::INFINITY;
    if let Some(first) = first {
        bound = keep(graph.greedy(bound, first, 0.0, || 0.0));
    }
    bound = keep(graph.greedy(bound, &[], FILL, || 0.0));
    for n in 0..restarts {
        let fill = if n % 2 == 0 { 0.0 } else { FILL };
        bound = keep(graph.greedy(bound, &[], fill, || NOISE * random.random::<f64>()));
    }
    best
}

struct Graph {
    words: usize,
    neighbours: Vec<u64>,
    logs: Vec<f64>,
    present: Vec<bool>,
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

    fn cost(&self, neighbours: &[u64], v: usize) -> f64 {
        let mut sum = 0.0;
        for (w, word) in neighbours[v * self.words..(v + 1) * self.words]
            .iter()
            .enumerate()
        {
            let mut word = *word;
            while word != 0 {
                sum += self.logs[w * 64 + word.trailing_zeros() as usize];
                word &= word - 1;
            }
        }
        sum
    }

    /// Pairs of neighbours of `v` that are not linked yet.
    fn links(&self, neighbours: &[u64], v: usize) -> f64 {
        let row = |v: usize| &neighbours[v * self.words..(v + 1) * self.words];
        let own = row(v);
        let mut missing = 0;
        for (w, word) in own.iter().enumerate() {
            let mut word = *word;
            while word != 0 {
                let u = w * 64 + word.trailing_zeros() as usize;
                let lacks = own.iter().zip(row(u)).map(|(o, n)| (o & !n).count_ones());
                missing += lacks.sum::<u32>();
                word &= word - 1;
            }
        }
        f64::from(missing) / 2.0
    }

    /// One greedy run behind the variables of `first`; `None` as soon as it is dearer than `bound`.
    fn greedy(
        &self,
        bound: f64,
        first: &[u32],
        fill: f64,
        mut noise: impl FnMut() -> f64,
    ) -> Option<Order> {
        let n = self.logs.len();
        let mut neighbours = self.neighbours.clone();
        let mut left = self.present.clone();
        let mut cost = (0..n)
            .map(|v| {
                if left[v] {
                    self.cost(&neighbours, v)
                } else {
                    0.0
                }
            })
            .collect::<Vec<_>>();
        let links = |neighbours: &[u64], v: usize| {
            if fill > 0.0 {
                fill * self.links(neighbours, v).ln_1p()
            } else {
                0.0
            }
        };
        let mut key = (0..n)
            .map(|v| cost[v] + links(&neighbours, v) + noise())
            .collect::<Vec<_>>();
        let mut variables = Vec::new();
        let (mut entries, mut largest) = (0.0, 0.0_f64);
        let mut given = first.iter().map(|v| *v as usize);
        loop {
            let mut next = given.by_ref().find(|v| left[*v]).unwrap_or(usize::MAX);
            let greedy = next == usize::MAX;
            for v in (0..n).filter(|_| greedy) {
                if left[v] && (next == usize::MAX || key[v] < key[next]) {
                    next = v;
                }
            }
            if next == usize::MAX {
                return Some(Order {
                    variables,
                    entries,
                    largest,
                });
            }
            let size = cost[next].exp();
            entries += size;
            largest = largest.max(size);
            if entries > bound {
                return None;
            }
            variables.push(u32::try_from(next).expect("index"));
            left[next] = false;
            let clique = neighbours[next * self.words..(next + 1) * self.words].to_vec();
            for v in 0..n {
                if left[v] && clique[v / 64] >> (v % 64) & 1 == 1 {
                    for (w, word) in clique.iter().enumerate() {
                        neighbours[v * self.words + w] |= word;
                    }
                    neighbours[v * self.words + next / 64] &= !(1 << (next % 64));
                }
            }
            for v in 0..n {
                if left[v] && clique[v / 64] >> (v % 64) & 1 == 1 {
                    cost[v] = self.cost(&neighbours, v);
                    key[v] = cost[v] + links(&neighbours, v) + noise();
                }
            }
        }
    }
}
