//! A job, entry by entry, into networks and likelihoods: one case a kind of engine.
//!
//! Entries are walked in order: a start adds a condition, work adds slices, readings fill slots
//! on the newest slice. Must not rank anything.

use std::collections::BTreeMap;

use super::aligned;
use super::item::{Case, Evidence, Item, Remark, Source};
use super::kinds::{age, fitting, kinds};
use super::reading::Scale;
use super::sign::{Says, reliability, says, through};
use crate::job::{
    EntryBody, Fact, Job, PreheatKind, Proof, SeenSign, Start, Sure, Told, Work, finding_proof,
    first_work, shop, verdict,
};
use crate::knowledge::{Knowledge, Per, Scope};
use crate::network::build::{
    BuildError, Builder, Change, Condition, SHOP_CONTEXT, Shape, root_chances,
};
use crate::network::{Seen, Shelf, Slot, VarId};

/// Hours of soak from which the air's temperature is the engine's; common practice, no source.
const SOAKED_SECONDS: f64 = 8.0 * 3600.0;
/// Starts whose temperatures differ by less share their insides, K. Own judgement: less than
/// a thermometer in the engine bay and one in the wind differ by.
const SAME_TEMPERATURE: f64 = 1.5;
const SYSTEM_VOLTS: f64 = 12.0;
/// A stand shorter than this does not let the fuel column fall or air gather; own judgement.
const COLUMN_STANDS_SECONDS: f64 = 4.0 * 3600.0;

/// Why a job cannot be reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EvidenceError {
    /// The network cannot be built.
    #[error(transparent)]
    Build(#[from] BuildError),
}

/// Everything a job says, for each kind of engine it may be about.
///
/// # Errors
/// When a network cannot be built.
pub fn gather(knowledge: &Knowledge, job: &Job) -> Result<Evidence, EvidenceError> {
    let mut remarks = Vec::new();
    if job.engine.cylinders.is_none() {
        remarks.push(Remark::CylindersAssumed(
            knowledge.engines.cylinders_if_unknown,
        ));
    }
    let temperature = match complaint_temperature(job) {
        Some(t) => t,
        None => {
            let t = knowledge.engines.temperature_if_unknown;
            #[expect(
                clippy::cast_possible_truncation,
                reason = "a temperature in whole degrees"
            )]
            remarks.push(Remark::TemperatureAssumed(t as i32));
            t
        }
    };
    let contexts = contexts(knowledge, job);
    let kinds = fitting(knowledge, job, kinds(knowledge, &job.engine));
    if kinds.len() > 1 {
        remarks.push(Remark::KindsMixed(kinds.len()));
    }
    let mut cases = Vec::new();
    let mut by_case = Vec::new();
    for (shape, weight) in kinds {
        let mut found = Vec::new();
        cases.push(
            Gathering::new(knowledge, job, shape, temperature, &contexts)?
                .run(weight, &mut found)?,
        );
        by_case.push(found);
    }
    aligned::align(&mut cases);
    remarks.extend(aligned::remarks(&by_case));
    Ok(Evidence {
        proven: proven(knowledge, job),
        cases,
        remarks,
        temperature,
        contexts,
        shelf: Shelf::none(),
    })
}

/// Findings that a right cold start after their repair stands behind, whatever was typed.
fn proven(knowledge: &Knowledge, job: &Job) -> Vec<usize> {
    let used = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    used.filter(|(_, e)| match &e.body {
        EntryBody::Finding(f) => matches!(
            finding_proof(job, f, knowledge),
            Proof::Shown | Proof::Cured
        ),
        _ => false,
    })
    .map(|(at, _)| at)
    .collect()
}

/// Temperature of the first cold start before any work, degC.
fn complaint_temperature(job: &Job) -> Option<f64> {
    in_order(job)
        .into_iter()
        .map(|at| &job.entries[at])
        .filter(|e| e.is_used())
        .take_while(|e| !matches!(e.body, EntryBody::Work(_)))
        .find_map(|e| match &e.body {
            EntryBody::Start(start) => start_temperature(start),
            _ => None,
        })
}

/// Temperature of the engine at a start: its own, or the air's after a soak.
fn start_temperature(start: &Start) -> Option<f64> {
    let air = || {
        let soaked = start
            .soak
            .as_ref()
            .is_none_or(|s| s.value >= SOAKED_SECONDS);
        start.air_temperature.as_ref().filter(|_| soaked)
    };
    start
        .engine_temperature
        .as_ref()
        .or_else(air)
        .map(|q| q.value)
}

/// Contexts of a job, in order; its shop among them where a fitted layer tells shops apart.
fn contexts(knowledge: &Knowledge, job: &Job) -> Vec<String> {
    let mut contexts = age(&job.engine)
        .map(str::to_owned)
        .into_iter()
        .collect::<Vec<_>>();
    for entry in job.entries.iter().filter(|e| e.is_used()) {
        let EntryBody::Told(told) = &entry.body else {
            continue;
        };
        for told in told {
            let Told::Fact { fact, state, .. } = told else {
                continue;
            };
            let context = match (fact, state.as_str()) {
                (Fact::RecentWork, "fuel") => "recent_fuel_work",
                (Fact::RecentWork, "pump_or_belt") => "recent_pump_work",
                (Fact::LaidUp, "yes") => "laid_up",
                (Fact::PlugsRenewed, "yes") => "plugs_renewed",
                _ => continue,
            };
            contexts.push(context.to_owned());
        }
    }
    let shop = shop(job).filter(|s| knowledge.roots.shop.contains_key(*s));
    contexts.extend(shop.map(|s| format!("{SHOP_CONTEXT}{s}")));
    contexts.sort();
    contexts.dedup();
    contexts
}

pub(super) struct Gathering<'a> {
    pub(super) knowledge: &'a Knowledge,
    pub(super) job: &'a Job,
    pub(super) builder: Builder<'a>,
    pub(super) temperature: f64,
    pub(super) items: Vec<Item>,
    condition: usize,
    starts: usize,
    /// The entry of the start after work that has the last word, and whether it was right.
    verdict: Option<(usize, bool)>,
    /// How often a check was read before on the same variables: number of its leaf.
    pub(super) read: BTreeMap<(String, Option<u8>), usize>,
}

impl<'a> Gathering<'a> {
    fn new(
        knowledge: &'a Knowledge,
        job: &'a Job,
        shape: Shape,
        temperature: f64,
        contexts: &[String],
    ) -> Result<Self, BuildError> {
        let roots = root_chances(knowledge, &shape, temperature, contexts);
        let mut builder = Builder::new(knowledge, shape, roots)?;
        builder.condition(Condition {
            temperature,
            primed: false,
        })?;
        builder.complaint()?;
        Ok(Self {
            knowledge,
            job,
            builder,
            temperature,
            items: Vec::new(),
            condition: 0,
            starts: 0,
            verdict: verdict(job, knowledge),
            read: BTreeMap::new(),
        })
    }

    fn run(mut self, weight: f64, remarks: &mut Vec<Remark>) -> Result<Case, EvidenceError> {
        let together = self.together();
        for at in in_order(self.job) {
            let entry = &self.job.entries[at];
            if !entry.is_used() {
                // What was taken back is no news.
                if entry.is_recorded() {
                    remarks.push(Remark::SetAside { entry: at });
                }
                continue;
            }
            match &entry.body {
                EntryBody::Told(told) => {
                    for told in told {
                        if let Told::Sign(sign) = told {
                            let reliability = self.knowledge.starts.told;
                            let source = Source::Told {
                                sign: sign.sign.clone(),
                            };
                            self.sign(at, sign, reliability, source, remarks)?;
                        }
                    }
                }
                EntryBody::Start(start) => self.start(at, start, entry.sure, remarks)?,
                EntryBody::Reading(_) => {
                    if let Some(entries) = together.get(&at) {
                        self.readings(entries, remarks)?;
                    }
                }
                EntryBody::Work(work) => self.work(work)?,
                _ => {}
            }
        }
        let shape = self.builder.shape().clone();
        Ok(Case {
            chamber: shape.chamber,
            preheat: shape.preheat,
            weight,
            model: self.builder.finish(),
            items: self.items,
        })
    }

    /// Readings of one check between two pieces of work are judged together, at the last of them.
    fn together(&self) -> BTreeMap<usize, Vec<usize>> {
        let mut open: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        let mut closed = Vec::new();
        let entries = self.job.entries.iter().enumerate();
        for (at, entry) in entries.filter(|(_, e)| e.is_used()) {
            match &entry.body {
                EntryBody::Reading(reading) => {
                    open.entry(&reading.check).or_default().push(at);
                }
                EntryBody::Work(_) => closed.extend(std::mem::take(&mut open).into_values()),
                _ => {}
            }
        }
        closed.extend(open.into_values());
        closed
            .into_iter()
            .map(|list| (list[list.len() - 1], list))
            .collect()
    }

    fn start(
        &mut self,
        at: usize,
        start: &Start,
        sure: Option<Sure>,
        remarks: &mut Vec<Remark>,
    ) -> Result<(), EvidenceError> {
        self.starts += 1;
        let mut temperature = start_temperature(start).unwrap_or(self.temperature);
        // A start at nearly the temperature of an earlier one shows the same insides.
        if (temperature - self.temperature).abs() < SAME_TEMPERATURE {
            temperature = self.temperature;
        }
        let short = start
            .soak
            .as_ref()
            .is_some_and(|s| s.value < COLUMN_STANDS_SECONDS);
        self.condition = self.builder.condition(Condition {
            temperature,
            primed: start.primed || short,
        })?;
        let reliability = reliability(self.knowledge, sure);
        for sign in &start.signs {
            let source = Source::Seen {
                sign: sign.sign.clone(),
                start: self.starts,
            };
            self.sign(at, sign, reliability, source, remarks)?;
        }
        self.verdict(at, start, reliability)
    }

    /// Whether a start after work was right, as somebody says: the complaint is still there or gone.
    fn verdict(&mut self, at: usize, start: &Start, reliability: f64) -> Result<(), EvidenceError> {
        let last = self.verdict.filter(|(entry, _)| *entry == at);
        let (Some(result), Some((_, right))) = (start.result, last) else {
            return Ok(());
        };
        let state = usize::from(!right);
        let (seen, values) = match through(state, 2, reliability) {
            Says::Mostly(state, values) => (Seen::Mostly(state), values.to_vec()),
            _ => (Seen::Hard(state), Vec::new()),
        };
        let variable = self.builder.verdict(self.condition, self.starts)?;
        self.items.push(Item {
            entry: at,
            source: Source::Verdict {
                result,
                start: self.starts,
            },
            typed: result.id().to_owned(),
            slots: vec![(
                Slot {
                    scope: vec![variable],
                    seen,
                },
                values,
            )],
            shared: None,
            log_scale: 0.0,
        });
        Ok(())
    }

    fn sign(
        &mut self,
        at: usize,
        seen: &SeenSign,
        reliability: f64,
        source: Source,
        remarks: &mut Vec<Remark>,
    ) -> Result<(), EvidenceError> {
        if let Some(why) = &seen.suspect {
            remarks.push(Remark::Suspect {
                entry: at,
                id: seen.sign.clone(),
                why: why.clone(),
            });
            return Ok(());
        }
        let Some(sign) = self
            .knowledge
            .signs
            .iter()
            .find(|s| *s.id.get_ref() == seen.sign)
        else {
            return Ok(());
        };
        let (seen_as, values) = match says(sign, &seen.value, reliability) {
            Says::Nothing => return Ok(()),
            Says::Exactly(state) => (Seen::Hard(state), Vec::new()),
            Says::Mostly(state, values) => (Seen::Mostly(state), values.to_vec()),
            Says::About(values) => (Seen::Soft, values),
        };
        // Told signs belong to the complaint; a second telling is a leaf of its own.
        let (condition, number) = match &source {
            Source::Seen { start, .. } => (self.condition, *start),
            _ => (0, 0),
        };
        let variable = self.builder.sign(&seen.sign, condition, number)?;
        self.items.push(Item {
            entry: at,
            source,
            typed: seen.typed.clone(),
            slots: vec![(
                Slot {
                    scope: vec![variable],
                    seen: seen_as,
                },
                values,
            )],
            shared: None,
            log_scale: 0.0,
        });
        Ok(())
    }

    fn work(&mut self, work: &Work) -> Result<(), EvidenceError> {
        let changes = changes(
            self.knowledge,
            self.builder.shape(),
            &work.repair,
            work.cylinder,
        );
        self.read.clear();
        Ok(self.builder.work(&changes)?)
    }

    pub(super) fn scale(&self) -> Scale {
        Scale {
            nominal: 1.0,
            temperature: self.temperature,
            system_volts: self.job.engine.system_volts.unwrap_or(SYSTEM_VOLTS),
        }
    }

    /// What the job states as the plugs' rated value, in amperes or ohms by `quantity`.
    pub(super) fn rated(&self, quantity: &str) -> Option<f64> {
        let plugs = matches!(
            self.job.engine.preheat,
            PreheatKind::Plugs | PreheatKind::Unknown
        );
        match quantity {
            "current" if plugs => self.job.engine.plug_rated_amps,
            "resistance" if plugs => self.job.engine.plug_rated_ohms,
            _ => None,
        }
    }

    pub(super) fn looked_at(
        &mut self,
        names: &[&str],
        cylinder: Option<u8>,
    ) -> Result<Vec<(String, VarId)>, BuildError> {
        let mut found = Vec::new();
        for name in names {
            match self.builder.looked_at(name, cylinder) {
                Ok(id) => found.push(((*name).to_owned(), id)),
                Err(BuildError::NoVariable(_)) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(found)
    }

    pub(super) fn now(&self) -> usize {
        self.condition
    }
}

/// What a repair does to the parts of an engine.
#[must_use]
pub fn changes(
    knowledge: &Knowledge,
    shape: &Shape,
    repair: &str,
    cylinder: Option<u8>,
) -> Vec<Change> {
    let Some(repair) = knowledge.repairs.iter().find(|r| r.id.get_ref() == repair) else {
        return Vec::new();
    };
    let mut changes: BTreeMap<String, Change> = BTreeMap::new();
    for fix in &repair.fixes {
        let Some((part, fault)) = fix.fault.get_ref().split_once('.') else {
            continue;
        };
        let Some(known) = knowledge.parts.iter().find(|p| p.id.get_ref() == part) else {
            continue;
        };
        if !shape.has(&known.needs) {
            continue;
        }
        let names = match (known.scope, repair.per, cylinder) {
            (Scope::Engine, _, _) => vec![part.to_owned()],
            (Scope::Cylinder, Per::Cylinder, Some(c)) => vec![format!("{part}:{c}")],
            (Scope::Cylinder, _, _) => (1..=shape.cylinders)
                .map(|c| format!("{part}:{c}"))
                .collect(),
        };
        for name in names {
            let change = changes.entry(name.clone()).or_insert_with(|| Change {
                part: name,
                removes: Vec::new(),
                bad_new: repair.bad_new,
            });
            change.removes.push((fault.to_owned(), fix.surely));
        }
    }
    changes.into_values().collect()
}

/// The entries in the order in which they were so: a start written down after the work as one from
/// before it shows the engine as it was then.
fn in_order(job: &Job) -> Vec<usize> {
    let Some(work) = first_work(job) else {
        return (0..job.entries.len()).collect();
    };
    let is_late = |at: &usize| matches!(&job.entries[*at].body, EntryBody::Start(s) if s.after_work == Some(false));
    let (late, rest): (Vec<usize>, Vec<usize>) = (work..job.entries.len()).partition(is_late);
    (0..work).chain(late).chain(rest).collect()
}
