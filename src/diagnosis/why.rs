//! What moved a cause: each entry's share of the way from the start to the end, on log-odds.
//!
//! Shares are Shapley values: the average, over orders of the entries, of what an entry moves
//! when it comes; they add up to the whole way exactly. Up to [`EXACT`] entries every subset is
//! reckoned; beyond, a fixed number of orders drawn with a fixed seed, each with its reverse.
//! Must not word anything.

use std::collections::BTreeMap;

use rand::{SeedableRng, seq::SliceRandom};
use rand_chacha::ChaCha8Rng;

use super::error::DiagnosisError;
use super::ranking::base;
use super::reckoner::{FaultPlace, Reckoner};
use crate::evidence::{Evidence, Source};

/// Entries up to which every subset is reckoned.
const EXACT: usize = 6;
/// Most entries that can be told apart; a set of them is kept as bits.
const MOST: usize = 128;
/// Pairs of an order and its reverse, beyond.
const ORDERS: usize = 12;
const SEED: u64 = 1892;
/// Chances are held this far from nought and one before log-odds are taken.
const EDGE: f64 = 1e-12;

/// What one entry moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Position of the entry in the job.
    pub entry: usize,
    /// Where it comes from.
    pub source: Source,
    /// What was typed.
    pub typed: String,
    /// Natural log-odds moved, positive towards the cause.
    pub log_odds: f64,
}

/// What moved a cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// Chance in engines like this one before the complaint, a fraction.
    pub base: f64,
    /// Chance given the complaint alone, a fraction.
    pub start: f64,
    /// Chance now.
    pub end: f64,
    /// Entries, greatest move first.
    pub moved: Vec<Moved>,
    /// Whether every subset was reckoned.
    pub exact: bool,
    /// What was left over after rounding, natural log-odds.
    pub rest: f64,
}

/// What moved a cause.
///
/// # Errors
/// When the network is too wide or the evidence impossible.
pub fn why(evidence: &Evidence, place: &FaultPlace) -> Result<Why, DiagnosisError> {
    let items = &evidence.cases[0].items;
    let n = items.len();
    if n > MOST {
        return Err(DiagnosisError::TooManyEntries { n, most: MOST });
    }
    let exact = n <= EXACT;
    let walks = if exact { Vec::new() } else { walks(n) };
    let sets = if exact {
        (0..1_u128 << n).collect()
    } else {
        let mut sets = walks.iter().flat_map(|w| passed(w)).collect::<Vec<_>>();
        sets.sort_unstable();
        sets.dedup();
        sets
    };
    let reckoner = Reckoner::new(evidence)?;
    let known = log_odds(&reckoner, place, &sets, n)?;
    let mut shares = vec![0.0; n];
    if exact {
        let weights = weights(n);
        for (at, share) in shares.iter_mut().enumerate() {
            for set in (0..1_u128 << n).filter(|s| s >> at & 1 == 0) {
                let gain = known[&(set | 1 << at)] - known[&set];
                *share += weights[set.count_ones() as usize] * gain;
            }
        }
    } else {
        for walk in &walks {
            let sets = passed(walk);
            for (at, step) in walk.iter().zip(sets.windows(2)) {
                #[expect(clippy::cast_precision_loss, reason = "a few orders")]
                let orders = walks.len() as f64;
                shares[*at] += (known[&step[1]] - known[&step[0]]) / orders;
            }
        }
    }
    let all = if n == 0 { 0 } else { u128::MAX >> (MOST - n) };
    let (start, end) = (known[&0], known[&all]);
    let mut moved = items
        .iter()
        .zip(&shares)
        .map(|(item, share)| Moved {
            entry: item.entry,
            source: item.source.clone(),
            typed: item.typed.clone(),
            log_odds: *share,
        })
        .collect::<Vec<_>>();
    moved.sort_by(|a, b| b.log_odds.abs().total_cmp(&a.log_odds.abs()));
    let chance = |l: f64| 1.0 / (1.0 + (-l).exp());
    Ok(Why {
        base: base(evidence, &reckoner, place)?,
        start: chance(start),
        end: chance(end),
        moved,
        exact,
        rest: end - start - shares.iter().sum::<f64>(),
    })
}

/// Shapley weights by size of the set an entry joins: `k! (n - 1 - k)! / n!`.
fn weights(n: usize) -> Vec<f64> {
    #[expect(clippy::cast_precision_loss, reason = "small factorials")]
    let factorial = |k: usize| (1..=k).map(|i| i as f64).product::<f64>();
    (0..n)
        .map(|k| factorial(k) * factorial(n - 1 - k) / factorial(n))
        .collect()
}

/// Orders of the entries, each with its reverse.
fn walks(n: usize) -> Vec<Vec<usize>> {
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut order = (0..n).collect::<Vec<_>>();
    let mut walks = Vec::new();
    for _ in 0..ORDERS {
        order.shuffle(&mut random);
        walks.push(order.clone());
        walks.push(order.iter().rev().copied().collect());
    }
    walks
}

/// The sets of entries a walk passes, the empty one first.
fn passed(walk: &[usize]) -> Vec<u128> {
    let mut set = 0;
    let then = walk.iter().map(|at| {
        set |= 1 << at;
        set
    });
    std::iter::once(0).chain(then).collect()
}

/// Log-odds of a cause for each set of entries.
fn log_odds(
    reckoner: &Reckoner<'_>,
    place: &FaultPlace,
    sets: &[u128],
    n: usize,
) -> Result<BTreeMap<u128, f64>, DiagnosisError> {
    let subsets = sets
        .iter()
        .map(|set| (0..n).map(|at| set >> at & 1 == 1).collect())
        .collect::<Vec<_>>();
    let chances = reckoner.chances(&subsets, place)?;
    let odds = chances.into_iter().map(|chance| {
        let chance = chance.clamp(EDGE, 1.0 - EDGE);
        (chance / (1.0 - chance)).ln()
    });
    Ok(sets.iter().copied().zip(odds).collect())
}
