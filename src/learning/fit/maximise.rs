//! Counts into figures: the maximisation of a round.
//!
//! For a part with log-weights `z`, contexts k with starting chances `p_k` and uses `N_k`, cases
//! `n` and the starter's pseudo-counts,
//!
//! ```text
//! Q(z) = sum_f n_f z_f - sum_k N_k ln(1 - sum_f p_kf + sum_f p_kf e^{z_f + b_k}) + ln starter(z)
//! ```
//! is concave; Newton steps along one log-weight at a time, halved until Q gains, climb it. The
//! log-odds `b` of a shop and system follow in the same way under a normal distribution between
//! shops. Must not see jobs.

use std::collections::BTreeMap;

use super::counts::{Counts, context};
use super::moved::{EDGE, Moved, Pseudo, Starter};
use crate::knowledge::Knowledge;
use crate::learning::shrink::pooled;
use crate::network::build::RootContext;

/// Passes over the log-weights of a part; Newton's steps need few.
const PASSES: usize = 30;
/// Steps smaller than this change nothing worth having.
const SMALL: f64 = 1e-10;
/// Longest step, so that the curvature it rests on still holds.
const LONGEST: f64 = 1.0;
/// Farthest a log-weight goes: odds of a thousand to one.
const FARTHEST: f64 = 6.9;
/// Fewer shops say nothing of how shops differ.
const LEAST_SHOPS: usize = 3;
/// A shop that says less of a system than one case does is not counted.
const LEAST_INFORMATION: f64 = 1.0;

/// One context of one part.
struct Row<'c> {
    shop: &'c str,
    uses: f64,
    /// Starting chances before anything is moved.
    chances: Vec<f64>,
}

/// A part with its rows.
struct PartRows<'c> {
    system: &'c str,
    faults: Vec<String>,
    rows: Vec<Row<'c>>,
}

impl PartRows<'_> {
    /// Chances in a row with log-weights moved.
    fn moved(row: &Row<'_>, z: &[f64], b: f64) -> Vec<f64> {
        let by = z.iter().map(|z| z + b).collect::<Vec<_>>();
        crate::network::build::moved_row(&row.chances, &by)
    }

    /// The part of Q that rows give.
    fn log_rows(&self, z: &[f64], b: impl Fn(&str) -> f64) -> f64 {
        let log = |row: &Row<'_>| {
            let sound = (1.0 - row.chances.iter().sum::<f64>()).max(0.0);
            let b = b(row.shop);
            let faults = row.chances.iter().zip(z).map(|(p, z)| p * (z + b).exp());
            row.uses * (sound + faults.sum::<f64>()).ln()
        };
        -self.rows.iter().map(log).sum::<f64>()
    }
}

/// All parts with their rows, from counts.
fn rows<'c>(knowledge: &'c Knowledge, counts: &'c Counts) -> Vec<PartRows<'c>> {
    let mut known: BTreeMap<&str, Option<(RootContext, crate::network::build::RootChances)>> =
        BTreeMap::new();
    for contexts in counts.uses.values() {
        for key in contexts.keys() {
            known.entry(key).or_insert_with(|| {
                context(key).map(|c| {
                    let chances = c.unmoved(knowledge);
                    (c, chances)
                })
            });
        }
    }
    let part = |part: &'c crate::knowledge::Part| {
        let id = part.id.get_ref();
        let faults = part
            .fault
            .iter()
            .map(|f| format!("{id}.{}", f.id.get_ref()));
        let faults = faults.collect::<Vec<_>>();
        let mut rows = Vec::new();
        for (shop, contexts) in &counts.uses {
            for (key, parts) in contexts {
                let chances = known.get(key.as_str()).and_then(Option::as_ref);
                if let (Some(uses), Some((_, chances))) = (parts.get(id), chances) {
                    let chances = faults.iter().map(|f| chances.get(f)).collect();
                    rows.push(Row {
                        shop,
                        uses: uses.value().max(0.0),
                        chances,
                    });
                }
            }
        }
        PartRows {
            system: &part.system,
            faults,
            rows,
        }
    };
    knowledge.parts.iter().map(part).collect()
}

/// Figures that follow from counts; shops move only where `moved.shops_differ` is above nought.
#[must_use]
pub fn maximise(knowledge: &Knowledge, starter: &Starter, moved: &Moved, counts: &Counts) -> Moved {
    let mut next = moved.clone();
    let parts = rows(knowledge, counts);
    let cases = |shop: Option<&str>, fault: &str| -> f64 {
        let shops = counts
            .cases
            .iter()
            .filter(|(s, _)| shop.is_none_or(|w| w == s.as_str()));
        shops
            .filter_map(|(_, c)| c.get(fault))
            .map(|n| n.value())
            .sum()
    };
    let offset = |moved: &Moved, shop: &str, system: &str| {
        if moved.shops_differ <= 0.0 {
            return 0.0;
        }
        moved
            .shop
            .get(shop)
            .and_then(|s| s.get(system))
            .copied()
            .unwrap_or(0.0)
    };
    for part in &parts {
        let pseudo = part.faults.iter().map(|f| {
            let known = starter.faults.iter().find(|s| s.0 == *f);
            known.map_or(Pseudo { p: 0.5, n: 0.0 }, |s| s.1)
        });
        let pseudo = pseudo.collect::<Vec<_>>();
        let n = part
            .faults
            .iter()
            .map(|f| cases(None, f))
            .collect::<Vec<_>>();
        let b = |shop: &str| offset(&next, shop, part.system);
        let mut z = part
            .faults
            .iter()
            .map(|f| next.shift.get(f).copied().unwrap_or(0.0));
        let mut z = z.by_ref().collect::<Vec<_>>();
        climb(part, &pseudo, &n, &mut z, &b);
        next.shift.extend(part.faults.iter().cloned().zip(z));
    }
    if next.shops_differ > 0.0 {
        shops(&parts, &cases, counts, &mut next);
    }
    let chance = |pseudo: &Pseudo, hit: f64, miss: f64| {
        let (a, b) = (pseudo.n * pseudo.p, pseudo.n * (1.0 - pseudo.p));
        ((hit + a) / (hit + miss + a + b)).clamp(EDGE, 1.0 - EDGE)
    };
    for (id, pseudo) in &starter.confirmed {
        let [hit, miss] = counts.found.get(id).copied().unwrap_or_default();
        next.confirmed
            .insert(id.clone(), chance(pseudo, hit.value(), miss.value()));
    }
    for (id, pseudo) in &starter.wrong {
        let [hit, miss] = counts.wrong.get(id).copied().unwrap_or_default();
        next.wrong
            .insert(id.clone(), chance(pseudo, hit.value(), miss.value()));
    }
    next
}

/// Climbs Q along the log-weights of one part.
fn climb(
    part: &PartRows<'_>,
    pseudo: &[Pseudo],
    n: &[f64],
    z: &mut [f64],
    b: &impl Fn(&str) -> f64,
) {
    let value = |z: &[f64]| {
        let linear: f64 = n.iter().zip(z).map(|(n, z)| n * z).sum();
        let starter: f64 = pseudo.iter().zip(z).map(|(p, z)| p.log(p.at(*z))).sum();
        linear + starter + part.log_rows(z, b)
    };
    let mut now = value(z);
    for _ in 0..PASSES {
        let mut longest = 0.0_f64;
        for f in 0..z.len() {
            let (mut slope, mut curve) = (n[f], 0.0);
            for row in &part.rows {
                let p = PartRows::moved(row, z, b(row.shop))[f];
                slope -= row.uses * p;
                curve += row.uses * p * (1.0 - p);
            }
            let share = pseudo[f].at(z[f]);
            slope += pseudo[f].n * (pseudo[f].p - share);
            curve += pseudo[f].n * share * (1.0 - share);
            if curve <= 0.0 {
                continue;
            }
            let mut step = (slope / curve).clamp(-LONGEST, LONGEST);
            let from = z[f];
            while step.abs() > SMALL {
                z[f] = (from + step).clamp(-FARTHEST, FARTHEST);
                let then = value(z);
                if then >= now {
                    now = then;
                    longest = longest.max(step.abs());
                    break;
                }
                z[f] = from;
                step *= 0.5;
            }
        }
        if longest < SMALL.sqrt() {
            break;
        }
    }
}

/// Climbs Q along the log-odds of every shop and system.
fn shops(
    parts: &[PartRows<'_>],
    cases: &impl Fn(Option<&str>, &str) -> f64,
    counts: &Counts,
    next: &mut Moved,
) {
    let variance = next.shops_differ * next.shops_differ;
    let mut systems = parts.iter().map(|p| p.system).collect::<Vec<_>>();
    systems.sort_unstable();
    systems.dedup();
    for shop in counts.uses.keys().filter(|s| !s.is_empty()) {
        for system in &systems {
            let own = parts
                .iter()
                .filter(|p| p.system == *system)
                .collect::<Vec<_>>();
            let zs = own.iter().map(|p| {
                let z = p
                    .faults
                    .iter()
                    .map(|f| next.shift.get(f).copied().unwrap_or(0.0));
                z.collect::<Vec<_>>()
            });
            let zs = zs.collect::<Vec<_>>();
            let faults = own.iter().flat_map(|p| &p.faults);
            let n: f64 = faults.map(|f| cases(Some(shop), f)).sum();
            let entry = next.shop.entry(shop.clone()).or_default();
            let b = entry.entry((*system).to_owned()).or_insert(0.0);
            for _ in 0..PASSES {
                let (mut slope, mut curve) = (n - *b / variance, 1.0 / variance);
                for (part, z) in own.iter().zip(&zs) {
                    for row in part.rows.iter().filter(|r| r.shop == shop) {
                        let p: f64 = PartRows::moved(row, z, *b).iter().sum();
                        slope -= row.uses * p;
                        curve += row.uses * p * (1.0 - p);
                    }
                }
                // Curvature falls away from nought: short steps keep Q climbing.
                let step = (slope / curve).clamp(-LONGEST / 2.0, LONGEST / 2.0);
                *b += step;
                if step.abs() < SMALL.sqrt() {
                    break;
                }
            }
        }
    }
}

/// How far shops differ, by the method of moments (DerSimonian and Laird 1986) over all systems
/// together: what is left of the spread of the shops' own estimates after that of counting.
/// Nought with fewer than three shops.
#[must_use]
pub fn shops_differ(counts: &Counts) -> f64 {
    let named = counts
        .shop_slopes
        .iter()
        .filter(|(shop, _)| !shop.is_empty());
    let mut systems: BTreeMap<&str, Vec<(f64, f64)>> = BTreeMap::new();
    for (system, [slope, square]) in named.flat_map(|(_, s)| s) {
        let information = square.value();
        if information > LEAST_INFORMATION {
            let estimate = (slope.value() / information, 1.0 / information);
            systems.entry(system).or_default().push(estimate);
        }
    }
    let (mut beyond, mut c) = (0.0, 0.0);
    for estimates in systems.values().filter(|e| e.len() >= LEAST_SHOPS) {
        if let Some(found) = pooled(estimates) {
            beyond += found.q - found.freedom;
            c += found.c;
        }
    }
    if c > 0.0 {
        (beyond / c).max(0.0).sqrt()
    } else {
        0.0
    }
}
