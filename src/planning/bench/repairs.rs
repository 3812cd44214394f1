//! The trade's repairs against the faults of an engine.
//!
//! Must not decide which is worth it.

use super::checks::Bench;
use crate::knowledge::{Per, Repair, Scope};

/// A repair that may be offered.
pub(super) struct Mending<'k> {
    pub repair: &'k Repair,
    pub cylinder: Option<u8>,
    /// Chance that it removes each fault.
    pub fix: Vec<f64>,
    /// Minutes, parts included.
    pub minutes: f64,
    pub access: Vec<usize>,
}

impl Mending<'_> {
    /// Name in the problem.
    pub(super) fn name(&self) -> String {
        match self.cylinder {
            Some(c) => format!("{}:{c}", self.repair.id.get_ref()),
            None => self.repair.id.get_ref().clone(),
        }
    }
}

impl<'a> Bench<'a> {
    /// Repairs that remove at least one fault some hypothesis holds.
    pub(super) fn mendings(&self) -> Vec<Mending<'a>> {
        let mut held = vec![0.0; self.hypotheses.faults.len()];
        for (set, weight) in self.hypotheses.sets.iter().zip(&self.hypotheses.weights) {
            set.iter().for_each(|f| held[*f] += weight);
        }
        let mut list = Vec::new();
        for repair in &self.knowledge.repairs {
            if !self.shape.has(&repair.needs) {
                continue;
            }
            let cylinders = match repair.per {
                Per::Engine => vec![None],
                Per::Cylinder => (1..=self.shape.cylinders).map(Some).collect(),
            };
            for cylinder in cylinders {
                let fix = self.fix(repair, cylinder);
                if fix.iter().zip(&held).any(|(f, h)| *f > 0.0 && *h > 0.0) {
                    list.push(Mending {
                        repair,
                        cylinder,
                        fix,
                        minutes: repair.minutes + repair.parts_cost * self.prices.plug,
                        access: self.access(repair.access.iter().map(|a| a.get_ref().as_str())),
                    });
                }
            }
        }
        list
    }

    fn fix(&self, repair: &Repair, cylinder: Option<u8>) -> Vec<f64> {
        self.hypotheses
            .faults
            .iter()
            .map(|fault| {
                let here =
                    fault.cylinder.is_none() || cylinder.is_none() || fault.cylinder == cylinder;
                let whole = self
                    .knowledge
                    .parts
                    .iter()
                    .any(|p| *p.id.get_ref() == fault.part && p.scope == Scope::Engine);
                let name = format!("{}.{}", fault.part, fault.fault);
                let surely = repair
                    .fixes
                    .iter()
                    .find(|f| *f.fault.get_ref() == name)
                    .map_or(0.0, |f| f.surely);
                if here || whole {
                    surely * (1.0 - repair.bad_new)
                } else {
                    0.0
                }
            })
            .collect()
    }
}
