//! Which sets of faults are worth listing: from nothing wrong, fault by fault, the likeliest sets
//! first, until what is left weighs little.
//!
//! Sets are weighed by the caller. Must not know parts.

use std::collections::{BTreeMap, BTreeSet};

/// Rounds in which the likeliest sets get every fault added, and sets a round.
const ROUNDS: usize = 6;
const WHOLLY: usize = 12;
/// Share of all that was found from which a set gets every fault added.
const LIKELY: f64 = 0.01;
/// Single faults that get every other added, whatever their share.
const PAIRED: usize = 24;
/// Sets that get the commonest faults added after that, and how many faults are common.
const PARTLY: usize = 40;
const COMMON: usize = 14;
/// Share from which a set gets these.
const UNLIKELY: f64 = 1e-3;
/// Most faults at once, but for sets that are proposed and one fault more than those.
const AT_ONCE: usize = 6;
/// Share of what was found that is listed.
const LISTED: f64 = 0.998;
/// Sets after which no more are listed.
const MOST: usize = 360;
/// Sets that a set brings along, itself included, from which it is not listed.
const TOO_MANY: usize = 512;

/// A set of faults, ascending, with its weight.
pub(super) type Weighed = (Vec<usize>, f64);

/// Shares nearer to each other than this are one: cylinders that nothing tells apart stay alike.
const TIE: f64 = 1e-6;

/// The sets to list with their weights, the empty one and every set a repair leads to included;
/// weights add to one, and are not numbers where nothing can be.
///
/// `logs` gives the logarithm of the weight of each set, `apart` whether two faults exclude each
/// other, `proposed` are sets to look at besides.
pub(super) fn grow<E>(
    faults: usize,
    proposed: &[Vec<usize>],
    apart: impl Fn(usize, usize) -> bool,
    mut logs: impl FnMut(&[Vec<usize>]) -> Result<Vec<f64>, E>,
) -> Result<Vec<Weighed>, E> {
    let mut found = Found::default();
    let mut first = vec![Vec::new()];
    first.extend_from_slice(proposed);
    found.weigh(first.clone(), &mut logs)?;
    let all = (0..faults).collect::<Vec<_>>();
    let more = |seeds: &[Vec<usize>], added: &[usize]| -> Vec<Vec<usize>> {
        let with = |set: &Vec<usize>| {
            let fits = |f: &&usize| set.iter().all(|g| g != *f && !apart(*g, **f));
            let sets = added.iter().filter(fits).map(|f| {
                let mut more = set.clone();
                more.push(*f);
                more.sort_unstable();
                more
            });
            sets.collect::<Vec<_>>()
        };
        seeds.iter().flat_map(with).collect()
    };
    let mut grown: BTreeSet<Vec<usize>> = BTreeSet::new();
    let mut seeds = first;
    for round in 0..ROUNDS {
        found.weigh(more(&seeds, &all), &mut logs)?;
        // Where no single fault can be, every one of them may be half of what is.
        let none = found.logs.values().all(|l| *l == f64::NEG_INFINITY);
        let singles = found.logs.keys().filter(|s| none && s.len() == 1);
        let singles = singles.cloned().collect::<Vec<_>>();
        grown.extend(seeds);
        // One of two dead plugs may explain next to nothing alone.
        seeds = match round {
            0 => found.best(&grown, PAIRED, 0.0),
            _ => found.best(&grown, WHOLLY, LIKELY),
        };
        seeds.extend(singles.into_iter().filter(|s| !grown.contains(s)));
    }
    seeds = found.best(&grown, PARTLY, UNLIKELY);
    let common = found.commonest(faults);
    found.weigh(more(&seeds, &common), &mut logs)?;
    Ok(found.listed())
}

/// Everything weighed so far.
#[derive(Default)]
struct Found {
    logs: BTreeMap<Vec<usize>, f64>,
}

impl Found {
    fn weigh<E>(
        &mut self,
        mut sets: Vec<Vec<usize>>,
        logs: &mut impl FnMut(&[Vec<usize>]) -> Result<Vec<f64>, E>,
    ) -> Result<(), E> {
        sets.sort_unstable();
        sets.dedup();
        sets.retain(|s| !self.logs.contains_key(s));
        let found = logs(&sets)?;
        self.logs.extend(sets.into_iter().zip(found));
        Ok(())
    }

    /// Weights of all sets, adding to one.
    fn weights(&self) -> impl Iterator<Item = (&Vec<usize>, f64)> {
        let logs = self.logs.values().copied();
        let most = logs.clone().fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.map(|l| (l - most).exp()).sum();
        self.logs
            .iter()
            .map(move |(s, l)| (s, (l - most).exp() / total))
    }

    /// The likeliest sets that have not grown yet, each with at least some share of the whole.
    fn best(&self, grown: &BTreeSet<Vec<usize>>, count: usize, least: f64) -> Vec<Vec<usize>> {
        let young = self
            .weights()
            .filter(|(set, share)| *share >= least && set.len() < AT_ONCE && !grown.contains(*set));
        let mut young = young.collect::<Vec<_>>();
        young.sort_by(|a, b| b.1.total_cmp(&a.1));
        young.truncate(with_ties(young.iter().map(|y| y.1), count));
        young.into_iter().map(|(set, _)| set.clone()).collect()
    }

    /// The faults that the likeliest sets hold.
    fn commonest(&self, faults: usize) -> Vec<usize> {
        let mut held = vec![0.0; faults];
        for (set, weight) in self.weights() {
            set.iter().for_each(|f| held[*f] += weight);
        }
        let mut order = (0..faults).collect::<Vec<_>>();
        order.sort_by(|a, b| held[*b].total_cmp(&held[*a]));
        order.truncate(COMMON);
        order
    }

    fn listed(self) -> Vec<Weighed> {
        let mut order = self.weights().collect::<Vec<_>>();
        order.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut last = 0.0;
        let weight: BTreeMap<&[usize], f64> =
            order.iter().map(|(s, w)| (s.as_slice(), *w)).collect();
        let mut listed = BTreeSet::from([Vec::new()]);
        let mut covered = 0.0;
        for (set, share) in &order {
            let alike = *share >= last * (1.0 - TIE);
            if !alike && (covered >= LISTED || listed.len() >= MOST) {
                break;
            }
            last = *share;
            if 1 << set.len() >= TOO_MANY {
                continue;
            }
            covered += share;
            let mut waiting = vec![(*set).clone()];
            while let Some(set) = waiting.pop() {
                let less = (0..set.len()).map(|gone| without(&set, gone));
                let less = less.collect::<Vec<_>>();
                if listed.insert(set) {
                    waiting.extend(less);
                }
            }
        }
        // What is not listed counts with the listed set it comes nearest to, a rare fault less: so
        // two dead plugs, in many pairs with a little of everything else, do not lose
        // against one cause that few sets say. What was never found, and what comes nearest to
        // nothing wrong, is shared out as the rest is: it is no sign of anything on no list.
        let of = |set: &[usize]| weight.get(set).copied().unwrap_or(0.0);
        let place: BTreeMap<&[usize], usize> = listed
            .iter()
            .zip(0..)
            .map(|(s, i)| (s.as_slice(), i))
            .collect();
        let mut shares: Vec<f64> = listed.iter().map(|set| of(set)).collect();
        for (set, share) in order.iter().filter(|(_, share)| *share > 0.0) {
            let mut now = (*set).clone();
            while !place.contains_key(now.as_slice()) {
                let less = (0..now.len()).map(|gone| without(&now, gone));
                let likest = less.max_by(|a, b| of(a).total_cmp(&of(b)));
                now = likest.unwrap_or_default();
            }
            if now.len() < set.len() && !now.is_empty() {
                shares[place[now.as_slice()]] += share;
            }
        }
        let total: f64 = shares.iter().sum();
        shares.iter_mut().for_each(|s| *s /= total);
        listed.into_iter().zip(shares).collect()
    }
}

fn without(set: &[usize], gone: usize) -> Vec<usize> {
    let mut less = set.to_vec();
    less.remove(gone);
    less
}

/// How many of falling shares to take so that none is left out that equals one taken; at most
/// three times as many as wanted.
fn with_ties(shares: impl Iterator<Item = f64> + Clone, wanted: usize) -> usize {
    let Some(last) = shares.clone().take(wanted).last() else {
        return 0;
    };
    let alike = shares.take(3 * wanted);
    alike.take_while(|s| *s >= last * (1.0 - TIE)).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weights of independent faults, each with its own odds; closed form.
    fn independent(odds: &[f64]) -> impl Fn(&[Vec<usize>]) -> Result<Vec<f64>, ()> + '_ {
        |sets| {
            let log = |s: &Vec<usize>| s.iter().map(|f| odds[*f].ln()).sum();
            Ok(sets.iter().map(log).collect())
        }
    }

    /// Of five faults with odds of one to one all 32 sets weigh the same, and each fault has its
    /// half.
    #[test]
    fn many_faults_at_once_are_grown_into() {
        let odds = [1.0; 5];
        let sets = grow(5, &[], |_, _| false, independent(&odds)).unwrap();
        assert_eq!(sets.len(), 32);
        let held: f64 = sets.iter().filter(|s| s.0.contains(&2)).map(|s| s.1).sum();
        assert!((held - 0.5).abs() < 1e-12);
    }

    /// What nothing less explains is found where it is proposed, with one fault more.
    #[test]
    fn a_proposed_set_grows_too() {
        let logs = |sets: &[Vec<usize>]| -> Result<Vec<f64>, ()> {
            let log = |s: &Vec<usize>| match s.as_slice() {
                [0, 1, 2, 3, 4, 5, 6] => 0.0,
                [0, 1, 2, 3, 4, 5, 6, 8] => 3.0_f64.ln(),
                _ => f64::NEG_INFINITY,
            };
            Ok(sets.iter().map(log).collect())
        };
        let proposed = [(0..7).collect::<Vec<_>>()];
        let sets = grow(9, &proposed, |_, _| false, logs).unwrap();
        assert_eq!(sets.len(), 256);
        let held: f64 = sets.iter().filter(|s| s.0.contains(&8)).map(|s| s.1).sum();
        assert!((held - 0.75).abs() < 1e-12);
    }

    #[test]
    fn what_excludes_each_other_is_never_together() {
        let odds = [0.5, 0.5, 0.2];
        let sets = grow(3, &[], |a, b| a + b == 1, independent(&odds)).unwrap();
        assert!(
            sets.iter()
                .all(|(s, _)| !(s.contains(&0) && s.contains(&1)))
        );
    }

    /// Three faults that only together explain what was seen: every set a repair leads to is
    /// listed, with no weight.
    #[test]
    fn what_a_repair_leads_to_is_listed_too() {
        let logs = |sets: &[Vec<usize>]| -> Result<Vec<f64>, ()> {
            let log = |s: &Vec<usize>| if s.len() == 3 { 0.0 } else { f64::NEG_INFINITY };
            Ok(sets.iter().map(log).collect())
        };
        let sets = grow(4, &[vec![0, 1, 3]], |_, _| false, logs).unwrap();
        let listed = sets.iter().map(|s| s.0.as_slice()).collect::<Vec<_>>();
        let wanted: [&[usize]; 8] = [&[], &[0], &[0, 1], &[0, 1, 3], &[0, 3], &[1], &[1, 3], &[3]];
        assert_eq!(listed, wanted);
        assert_eq!(sets[3].1, 1.0);
    }
}
