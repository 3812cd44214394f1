//! What a fit moves, and what the starter figures say of it beforehand.
//!
//! The share of a fault among complaints, with the strength behind it, is a pseudo-count: so many
//! jobs that the spread of its log-odds is `1/(np + 1/2) + 1/(n(1-p) + 1/2)`, as ranges have it.
//! Must not see jobs.

use std::collections::BTreeMap;

use crate::job::Proof;
use crate::knowledge::{FittedLayer, Knowledge};
use crate::learning::labels::{confirmed, reliability};
use crate::network::build::counted_share;

/// Jobs a starting chance of being confirmed is worth; own judgement.
const CONFIRMED_WORTH: f64 = 20.0;
/// Jobs a starting reliability of a proof is worth; own judgement.
const WRONG_WORTH: f64 = 50.0;
/// Half a case, as in the spread of ranges.
const HALF: f64 = 0.5;
/// Share of a fault that the trade has no share for.
const UNSHARED: f64 = 0.01;
/// Confirmation chances are held this far from nought and one.
pub(super) const EDGE: f64 = 1e-3;

/// What is fitted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Moved {
    /// Log-weight of each fault, `part.fault`.
    pub shift: BTreeMap<String, f64>,
    /// Log-odds of each system's faults in each shop.
    pub shop: BTreeMap<String, BTreeMap<String, f64>>,
    /// Spread of those between shops; nought keeps shops alike.
    pub shops_differ: f64,
    /// Chance that a fault that is there is found and written down.
    pub confirmed: BTreeMap<String, f64>,
    /// Chance that a finding names the wrong fault, by proof.
    pub wrong: BTreeMap<String, f64>,
}

/// A starter figure as pseudo-counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pseudo {
    /// Chance.
    pub p: f64,
    /// Cases it is worth.
    pub n: f64,
}

impl Pseudo {
    /// Log density of a chance, up to a constant: nought at the starter figure.
    #[must_use]
    pub fn log(self, chance: f64) -> f64 {
        let one = |a: f64, now: f64, then: f64| {
            if a > 0.0 {
                a * (now.max(f64::MIN_POSITIVE) / then).ln()
            } else {
                0.0
            }
        };
        one(self.n * self.p, chance, self.p)
            + one(self.n * (1.0 - self.p), 1.0 - chance, 1.0 - self.p)
    }

    /// The share whose log-odds are moved by `z`.
    #[must_use]
    pub fn at(self, z: f64) -> f64 {
        let odds = self.p / (1.0 - self.p) * z.exp();
        odds / (1.0 + odds)
    }
}

/// What the starter figures say of everything that is fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Starter {
    /// Faults in reading order, with their shares of complaints.
    pub faults: Vec<(String, Pseudo)>,
    /// System of each fault.
    pub system: BTreeMap<String, String>,
    /// Chance of being confirmed; none for faults that no repair removes.
    pub confirmed: BTreeMap<String, Pseudo>,
    /// Chance of naming the wrong fault, by proof.
    pub wrong: BTreeMap<String, Pseudo>,
}

/// Proofs whose reliability is fitted.
const PROOFS: [Proof; 5] = [
    Proof::Shown,
    Proof::Cured,
    Proof::CuredShared,
    Proof::Believed,
    Proof::Guess,
];

impl Starter {
    /// Of these figures; `weight` multiplies every strength (a half and two show how much the
    /// starter figures still decide).
    #[must_use]
    pub fn of(knowledge: &Knowledge, weight: f64) -> Self {
        let mut starter = Self {
            faults: Vec::new(),
            system: BTreeMap::new(),
            confirmed: BTreeMap::new(),
            wrong: BTreeMap::new(),
        };
        for part in &knowledge.parts {
            let defaults = &knowledge.defaults[part.file];
            let n = defaults.origin(None, None).strength;
            for fault in &part.fault {
                let id = format!("{}.{}", part.id.get_ref(), fault.id.get_ref());
                let share = counted_share(knowledge, fault);
                let p = share.unwrap_or(UNSHARED).clamp(EDGE, 1.0 - EDGE);
                let variance = 1.0 / (n * p + HALF) + 1.0 / (n * (1.0 - p) + HALF);
                let worth = weight / (variance * p * (1.0 - p));
                starter.faults.push((id.clone(), Pseudo { p, n: worth }));
                starter.system.insert(id.clone(), part.system.clone());
                let found = confirmed(knowledge, part.id.get_ref(), fault.id.get_ref());
                if found > 0.0 && !fault.wear_only {
                    let p = found.clamp(EDGE, 1.0 - EDGE);
                    let n = weight * CONFIRMED_WORTH;
                    starter.confirmed.insert(id, Pseudo { p, n });
                }
            }
        }
        for proof in PROOFS {
            let p = 1.0 - reliability(proof);
            let n = weight * WRONG_WORTH;
            starter.wrong.insert(proof.id().to_owned(), Pseudo { p, n });
        }
        starter
    }

    /// Log density of what is fitted under the starter figures, nought at them.
    #[must_use]
    pub fn log(&self, moved: &Moved) -> f64 {
        let of = |list: &BTreeMap<String, f64>, id: &String| list.get(id).copied();
        let faults = self
            .faults
            .iter()
            .map(|(id, pseudo)| pseudo.log(pseudo.at(of(&moved.shift, id).unwrap_or(0.0))));
        let labels = |known: &BTreeMap<String, Pseudo>, now: &BTreeMap<String, f64>| {
            let logs = known
                .iter()
                .map(|(id, pseudo)| of(now, id).map_or(0.0, |p| pseudo.log(p)));
            logs.sum::<f64>()
        };
        let variance = moved.shops_differ * moved.shops_differ;
        let shops = moved.shop.values().flat_map(BTreeMap::values);
        let shops = shops.map(|b| {
            if variance > 0.0 {
                -0.5 * b * b / variance
            } else {
                0.0
            }
        });
        faults.sum::<f64>()
            + labels(&self.confirmed, &moved.confirmed)
            + labels(&self.wrong, &moved.wrong)
            + shops.sum::<f64>()
    }

    /// Nothing moved yet.
    #[must_use]
    pub fn unmoved(&self) -> Moved {
        let chance = |list: &BTreeMap<String, Pseudo>| {
            list.iter()
                .map(|(id, pseudo)| (id.clone(), pseudo.p))
                .collect()
        };
        Moved {
            shift: self
                .faults
                .iter()
                .map(|(id, _)| (id.clone(), 0.0))
                .collect(),
            shop: BTreeMap::new(),
            shops_differ: 0.0,
            confirmed: chance(&self.confirmed),
            wrong: chance(&self.wrong),
        }
    }
}

impl Moved {
    /// What an earlier fit moved, to go on from.
    #[must_use]
    pub fn of_layer(starter: &Starter, layer: &FittedLayer) -> Self {
        let mut moved = starter.unmoved();
        for root in &layer.root {
            moved.shift.insert(root.fault.get_ref().clone(), root.shift);
        }
        moved.shop.clone_from(&layer.shop);
        moved.shops_differ = layer.fitted.shops_differ;
        moved.confirmed.extend(layer.confirmed.clone());
        moved.wrong.extend(layer.wrong.clone());
        moved
    }

    /// The starter figures with this over them.
    #[must_use]
    pub fn over(&self, knowledge: &Knowledge, starter: &Starter) -> Knowledge {
        let mut own = knowledge.clone();
        own.roots.shift.clone_from(&self.shift);
        own.roots.shop.clear();
        if self.shops_differ > 0.0 {
            for (shop, systems) in &self.shop {
                let by = starter.system.iter().map(|(fault, system)| {
                    (fault.clone(), systems.get(system).copied().unwrap_or(0.0))
                });
                own.roots.shop.insert(shop.clone(), by.collect());
            }
        }
        own
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: the formula of the ranges by hand, and nothing gained at the starter figure.
    #[test]
    fn a_share_is_worth_what_its_range_says() {
        let (n, p) = (10.0, 0.2);
        let variance = 1.0 / (n * p + 0.5) + 1.0 / (n * (1.0 - p) + 0.5);
        let pseudo = Pseudo {
            p,
            n: 1.0 / (variance * p * (1.0 - p)),
        };
        assert!(pseudo.log(p).abs() < 1e-15);
        // Curvature by log-odds is n p (1 - p), the inverse variance.
        let h = 1e-3;
        let curvature = (pseudo.log(pseudo.at(h)) + pseudo.log(pseudo.at(-h))) / (h * h);
        assert!((curvature + 1.0 / variance).abs() < 1e-5, "{curvature}");
    }
}
