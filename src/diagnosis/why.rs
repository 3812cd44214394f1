//! What moved a cause: each entry's share of the way from the start to the end, on log-odds.
//!
//! Shares are Shapley values: the average, over orders of the entries, of what an entry moves
//! when it comes; they add up to the whole way exactly. Up to [`EXACT`] entries every subset is
//! reckoned; beyond, a fixed number of orders drawn with a fixed seed, each with its reverse.
//! Must not word anything.

use std::collections::BTreeMap;

use rand::{SeedableRng, seq::SliceRandom};
use rand_chacha::ChaCha8Rng;

use super::reckon::{DiagnosisError, FaultPlace, Reckoner};
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
    let mut subsets = Subsets {
        reckoner: Reckoner { evidence },
        place,
        known: BTreeMap::new(),
    };
    let items = &evidence.cases[0].items;
    let n = items.len();
    if n > MOST {
        return Err(DiagnosisError::TooManyEntries { n, most: MOST });
    }
    let exact = n <= EXACT;
    let mut shares = vec![0.0; n];
    if exact {
        let weights = weights(n);
        for (at, share) in shares.iter_mut().enumerate() {
            for set in (0..1_u128 << n).filter(|s| s >> at & 1 == 0) {
                let gain = subsets.log_odds(set | 1 << at)? - subsets.log_odds(set)?;
                *share += weights[set.count_ones() as usize] * gain;
            }
        }
    } else {
        let mut random = ChaCha8Rng::seed_from_u64(SEED);
        let mut order = (0..n).collect::<Vec<_>>();
        for _ in 0..ORDERS {
            order.shuffle(&mut random);
            for reverse in [false, true] {
                let mut set = 0_u128;
                let mut now = subsets.log_odds(set)?;
                let walk: Vec<usize> = if reverse {
                    order.iter().rev().copied().collect()
                } else {
                    order.clone()
                };
                for at in walk {
                    set |= 1 << at;
                    let then = subsets.log_odds(set)?;
                    #[expect(clippy::cast_precision_loss, reason = "a few orders")]
                    let orders = 2.0 * ORDERS as f64;
                    shares[at] += (then - now) / orders;
                    now = then;
                }
            }
        }
    }
    let all = if n == 0 { 0 } else { u128::MAX >> (MOST - n) };
    let (start, end) = (subsets.log_odds(0)?, subsets.log_odds(all)?);
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

struct Subsets<'a> {
    reckoner: Reckoner<'a>,
    place: &'a FaultPlace,
    known: BTreeMap<u128, f64>,
}

impl Subsets<'_> {
    fn log_odds(&mut self, set: u128) -> Result<f64, DiagnosisError> {
        if let Some(known) = self.known.get(&set) {
            return Ok(*known);
        }
        let chance = self.reckoner.chance(|at| set >> at & 1 == 1, self.place)?;
        let chance = chance.clamp(EDGE, 1.0 - EDGE);
        let value = (chance / (1.0 - chance)).ln();
        self.known.insert(set, value);
        Ok(value)
    }
}
