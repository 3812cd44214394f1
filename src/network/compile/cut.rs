//! Which variables of a wide program are taken state by state instead of being summed out.
//!
//! The values and derivatives of all cells of a wide program do not fit into the cache, and moving
//! them costs more than the arithmetic. A step that holds a cut variable falls apart into one step
//! a state, of the same work in all; as these run one after another in the same memory,
//!
//! ```text
//! sum over x of ( up to P(evidence, x), then down )
//! ```
//! only the cells of one state are in use at a time. Cut variables are nested: steps that hold the
//! outer ones only are made once for each of their states. A cut changes the order a little; one
//! that costs much more work is not made.
//! Must not sum anything.

use super::order::{Graph, Noughts, Order, Outline, members};

/// Cells in use at a time that are narrow enough: values and derivatives of eight lanes in some four
/// megabytes of cache. Measured: cutting further costs more in instructions than it saves in memory.
const NARROW: f64 = 30_000.0;
/// Entries below which a program is left as it is.
const WORTH: f64 = 20_000.0;
/// Work a cut may cost, as a factor.
const MOST_WORK: f64 = 1.2;
/// Each cut variable has to bring the cells in use down to this share.
const MUST_GAIN: f64 = 0.85;
/// Variables cut at most.
const MOST_CUT: usize = 10;

/// Outermost first; none where it is not worth it.
pub(super) fn cut(tables: &[Outline], sizes: &[usize], order: &Order) -> Vec<u32> {
    let mut cut = Vec::new();
    if order.entries < WORTH {
        return cut;
    }
    let graph = Graph::new(tables, sizes);
    let mut best = weigh(&graph, &order.variables, &cut);
    let most = best.work * MOST_WORK;
    while best.cells > NARROW && cut.len() < MOST_CUT {
        let mut found = None;
        for candidate in &best.widest {
            cut.push(*candidate);
            let tried = weigh(&graph, &order.variables, &cut);
            cut.pop();
            let least = found
                .as_ref()
                .map_or(best.cells * MUST_GAIN, |(_, f): &(u32, Weighed)| f.cells);
            if tried.work <= most && tried.cells < least {
                found = Some((*candidate, tried));
            }
        }
        let Some((candidate, tried)) = found else {
            break;
        };
        cut.push(candidate);
        best = tried;
    }
    cut
}

/// What an order costs under a cut.
struct Weighed {
    /// Entries of all steps, each as often as it is made.
    work: f64,
    /// Entries in use at a time.
    cells: f64,
    /// Variables of the largest step of the innermost level, the cut apart.
    widest: Vec<u32>,
}

/// Goes through the levels as `contract` does.
fn weigh(graph: &Graph, order: &[u32], cut: &[u32]) -> Weighed {
    let mut neighbours = graph.neighbours.clone();
    let mut noughts = Noughts::new(graph);
    let mut left = order.to_vec();
    left.retain(|v| !cut.contains(v));
    let (mut work, mut cells, mut times) = (0.0, 0.0, 1.0);
    let mut widest = (0.0, Vec::new());
    for level in 0..=cut.len() {
        widest = (0.0, Vec::new());
        let mut waiting = vec![0_u64; graph.words];
        if let Some(next) = cut.get(level) {
            waiting[*next as usize / 64] |= 1 << (next % 64);
        }
        let mut put_off = Vec::new();
        for v in left.iter().map(|v| *v as usize) {
            let clique = graph.row(&neighbours, v).to_vec();
            if clique.iter().zip(&waiting).any(|(c, w)| c & w != 0) {
                waiting[v / 64] |= 1 << (v % 64);
                put_off.push(u32::try_from(v).expect("index"));
                continue;
            }
            let logs: f64 = members(&clique).map(|u| graph.logs[u]).sum();
            let size = (logs + noughts.density[v]).exp();
            work += times * size;
            cells += size;
            if size > widest.0 {
                widest = (size, clique.clone());
            }
            noughts.sum_out(v, &clique, graph.logs[v]);
            graph.join(&mut neighbours, v, &clique);
        }
        left = put_off;
        if let Some(next) = cut.get(level).map(|v| *v as usize) {
            times *= graph.logs[next].exp();
            let clique = graph.row(&neighbours, next).to_vec();
            for u in members(&clique) {
                neighbours[u * graph.words + next / 64] &= !(1 << (next % 64));
            }
        }
    }
    let widest = members(&widest.1).map(|v| u32::try_from(v).expect("index"));
    Weighed {
        work,
        cells,
        widest: widest.collect(),
    }
}
