//! The ranking: all causes with their chances, how each stands, and what does not fit.
//!
//! Must not word anything.

use std::collections::BTreeMap;

use super::answer::{Cause, Ranking, Standing, SystemChance};
use super::error::DiagnosisError;
use super::misfit::misfit;
use super::reckoner::{CaseAnswer, FaultPlace, Reckoner};
use crate::evidence::Evidence;
use crate::job::{EntryBody, Job};
use crate::network::build::FaultVariable;

/// Causes this close to the first are level with it, a difference of chances. Own judgement.
const LEVEL: f64 = 0.05;
/// Below this a cause is set aside: the scale of words calls it nearly ruled out.
const SET_ASIDE: f64 = 0.05;
/// A chance whose natural log-odds moved by less than this was not looked at. Own judgement.
const UNMOVED: f64 = 0.15;

/// The ranking of all causes of a job.
///
/// # Errors
/// When the network is too wide, or when nothing explains what was seen.
pub fn causes(evidence: &Evidence, job: &Job) -> Result<Ranking, DiagnosisError> {
    let reckoner = Reckoner::new(evidence)?;
    let mut subsets = vec![vec![true; reckoner.items()]];
    let last = evidence
        .cases
        .iter()
        .flat_map(|c| c.items.iter().map(|i| i.entry))
        .max();
    if let Some(last) = last {
        let items = &evidence.cases[0].items;
        subsets.push(items.iter().map(|i| i.entry < last).collect());
    }
    let mut answers = reckoner.answers(&subsets)?.into_iter();
    let (answers, before) = (answers.next().unwrap_or_default(), answers.next());
    let faults = distinct(evidence);
    let bases = reckoner.bases()?;
    let mut causes = Vec::new();
    for fault in &faults {
        let chance = mixed(evidence, &answers, &FaultPlace::of(fault));
        causes.push(Cause {
            cause: fault.id(),
            part: fault.part.clone(),
            fault: fault.fault.clone(),
            cylinder: fault.cylinder,
            label: fault.label.clone(),
            system: fault.system.clone(),
            chance,
            low: None,
            high: None,
            base: mixed(evidence, &bases, &FaultPlace::of(fault)),
            standing: Standing::InTheRunning,
            before: before
                .as_ref()
                .map(|b| mixed(evidence, b, &FaultPlace::of(fault))),
        });
    }
    causes.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    stand(&mut causes, job, &evidence.proven);
    let log_evidence = reckoner.mixed(answers.iter().map(|(_, a)| a.log_evidence));
    let healthy = answers.iter().map(|(w, a)| w * a.healthy).sum();
    let kinds = match &answers[..] {
        [_] => Vec::new(),
        _ => answers
            .iter()
            .zip(&evidence.cases)
            .map(|((w, _), c)| (c.chamber.clone(), c.preheat.clone(), *w))
            .collect(),
    };
    Ok(Ranking {
        log_evidence,
        healthy,
        causes,
        systems: systems(&answers),
        misfit: misfit(&reckoner)?,
        kinds,
    })
}

fn systems(answers: &[(f64, CaseAnswer)]) -> Vec<SystemChance> {
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for (weight, answer) in answers {
        for (system, chance) in &answer.systems {
            *sums.entry(system.clone()).or_insert(0.0) += weight * chance;
        }
    }
    let mut list = sums
        .into_iter()
        .map(|(system, chance)| SystemChance { system, chance })
        .collect::<Vec<_>>();
    list.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    list
}

/// Faults of all cases, each once, in reading order; wear of a set is not a cause.
fn distinct(evidence: &Evidence) -> Vec<FaultVariable> {
    let mut faults: Vec<FaultVariable> = Vec::new();
    for case in &evidence.cases {
        for fault in case.model.faults.iter().filter(|f| !f.wear_only) {
            if !faults.iter().any(|f| f.id() == fault.id()) {
                faults.push(fault.clone());
            }
        }
    }
    faults
}

/// Chance of a fault in engines like this one before the complaint and any entry, a fraction.
pub(super) fn base(
    evidence: &Evidence,
    reckoner: &Reckoner<'_>,
    place: &FaultPlace,
) -> Result<f64, DiagnosisError> {
    Ok(mixed(evidence, &reckoner.bases()?, place))
}

fn mixed(evidence: &Evidence, answers: &[(f64, CaseAnswer)], place: &FaultPlace) -> f64 {
    answers
        .iter()
        .zip(&evidence.cases)
        .map(|((weight, answer), case)| {
            place.find(case).map_or(0.0, |(v, s)| {
                weight * answer.parts.get(&v).map_or(0.0, |p| p[s])
            })
        })
        .sum()
}

fn stand(causes: &mut [Cause], job: &Job, proven: &[usize]) {
    let top = causes.first().map_or(0.0, |c| c.chance);
    for cause in causes.iter_mut() {
        let odds = |p: f64| p / (1.0 - p);
        let far = |from: f64| (odds(cause.chance) / odds(from)).ln().abs() > UNMOVED;
        let moved = far(cause.base);
        let last = cause.before.is_some_and(far);
        let name = format!("{}.{}", cause.part, cause.fault);
        let proven = proven.iter().any(|at| match &job.entries[*at].body {
            EntryBody::Finding(f) => f.fault == name && f.cylinder == cause.cylinder,
            _ => false,
        });
        cause.standing = if proven {
            Standing::Proven
        } else if cause.chance >= top - LEVEL && top >= SET_ASIDE {
            Standing::Leading
        } else if cause.chance >= SET_ASIDE || (moved && cause.chance > cause.base) {
            Standing::InTheRunning
        } else if moved || last {
            Standing::SetAside
        } else {
            Standing::NotLookedAt
        };
    }
}
