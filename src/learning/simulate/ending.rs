//! How a job ends: what is mended, the cold start after it, and what is written down as found.
//!
//! A cause that is heavy work to reach is confirmed less often, and a finding may name the wrong
//! fault. Must not draw readings.

use super::looks::{degrees, typed};
use super::luck::Luck;
use super::settings::SimulationSettings;
use super::shop::Shop;
use super::world::World;
use crate::job::{Entry, EntryBody, Finding, Mark, Proof, Start, StartResult, Work};
use crate::knowledge::{Knowledge, Per, Repair};
use crate::learning::labels::{confirmed, reliability};
use crate::network::build::FaultVariable;
use crate::units::Dimension;

/// Chance that something is tried first that does not help; own judgement.
const TRIED_IN_VAIN: f64 = 0.12;
/// Degrees by which the morning after may be colder; own judgement.
const COLDER: f64 = 3.0;

/// What a job is ended with.
pub(super) struct Ending<'a> {
    pub knowledge: &'a Knowledge,
    pub shop: &'a Shop,
    pub settings: &'a SimulationSettings,
    pub temperature: f64,
}

impl Ending<'_> {
    /// Work, starts, findings and the mark.
    pub(super) fn entries(&self, world: &World<'_>, luck: &mut Luck) -> Vec<Entry> {
        let mut entries = Vec::new();
        if luck.happens(TRIED_IN_VAIN) {
            self.in_vain(world, luck, &mut entries);
        }
        let faults = &world.kind.model.faults;
        let there = |f: &&FaultVariable| !f.wear_only && world.states[f.variable.at()] == f.state;
        let mut found = Vec::new();
        for fault in faults.iter().filter(there) {
            let surely = confirmed(self.knowledge, &fault.part, &fault.fault);
            if luck.happens(surely) {
                found.push(fault);
            }
        }
        let level = luck.position(&self.shop.proof);
        let level = [Proof::Shown, Proof::Cured, Proof::Believed, Proof::Guess][level];
        let proof = match level {
            Proof::Shown | Proof::Cured if found.len() > 1 => Proof::CuredShared,
            other => other,
        };
        let wrong = self
            .settings
            .wrong_labels
            .unwrap_or(1.0 - reliability(proof));
        let mut named: Vec<&FaultVariable> = Vec::new();
        for fault in found {
            let name = if luck.happens(wrong) {
                other(world, fault, luck)
            } else {
                fault
            };
            if !named.contains(&name) {
                named.push(name);
            }
        }
        if proof != Proof::Guess {
            entries.extend(named.iter().filter_map(|f| self.work(f)));
            let cold = matches!(proof, Proof::Shown | Proof::Cured | Proof::CuredShared);
            if cold && !named.is_empty() {
                entries.push(self.start(StartResult::Right, luck));
            }
        }
        entries.extend(named.iter().map(|f| finding(f, proof)));
        let mark = if named.is_empty() {
            Mark::Parked
        } else {
            Mark::Done
        };
        entries.push(Entry::new(EntryBody::Mark(mark)));
        entries
    }

    /// Something that is sound is renewed first, and the next start is as before.
    fn in_vain(&self, world: &World<'_>, luck: &mut Luck, entries: &mut Vec<Entry>) {
        let faults = &world.kind.model.faults;
        let sound = |f: &&FaultVariable| world.states[f.variable.at()] == 0 && !f.wear_only;
        let sound = faults.iter().filter(sound).collect::<Vec<_>>();
        let weights = sound.iter().map(|f| base(world, f)).collect::<Vec<_>>();
        if let Some(fault) = sound.get(luck.position(&weights))
            && let Some(work) = self.work(fault)
        {
            entries.extend([
                work,
                self.start(StartResult::Same, luck),
                finding(fault, Proof::Refuted),
            ]);
        }
    }

    fn work(&self, fault: &FaultVariable) -> Option<Entry> {
        let repair = quickest(self.knowledge, &fault.part, &fault.fault)?;
        Some(Entry::new(EntryBody::Work(Work {
            repair: repair.id.get_ref().clone(),
            cylinder: fault.cylinder.filter(|_| repair.per == Per::Cylinder),
            minutes: Some(repair.minutes),
            parts_cost: None,
        })))
    }

    fn start(&self, result: StartResult, luck: &mut Luck) -> Entry {
        let temperature = self.temperature - (luck.share() * COLDER).floor();
        Entry::new(EntryBody::Start(Start {
            engine_temperature: degrees(temperature),
            soak: typed("12 h", Dimension::Time).map(|p| p.quantity),
            after_work: Some(true),
            result: Some(result),
            ..Start::default()
        }))
    }
}

fn finding(fault: &FaultVariable, proof: Proof) -> Entry {
    Entry::new(EntryBody::Finding(Finding {
        fault: format!("{}.{}", fault.part, fault.fault),
        cylinder: fault.cylinder,
        proof: Some(proof),
    }))
}

/// The quickest repair that removes a fault.
#[must_use]
pub fn quickest<'k>(knowledge: &'k Knowledge, part: &str, fault: &str) -> Option<&'k Repair> {
    let id = format!("{part}.{fault}");
    let removes = |r: &&Repair| r.fixes.iter().any(|f| *f.fault.get_ref() == id);
    let repairs = knowledge.repairs.iter().filter(removes);
    repairs.min_by(|a, b| a.minutes.total_cmp(&b.minutes))
}

/// Standing chance of a fault on this engine.
fn base(world: &World<'_>, fault: &FaultVariable) -> f64 {
    world.kind.model.network.variable(fault.variable).local.init[fault.state]
}

/// Another fault, as often as it is met: what is blamed wrongly is what is common.
fn other<'w>(world: &World<'w>, fault: &FaultVariable, luck: &mut Luck) -> &'w FaultVariable {
    let faults = &world.kind.model.faults;
    let weights = faults
        .iter()
        .map(|f| {
            if f.wear_only || f == fault {
                0.0
            } else {
                base(world, f)
            }
        })
        .collect::<Vec<_>>();
    &faults[luck.position(&weights)]
}
