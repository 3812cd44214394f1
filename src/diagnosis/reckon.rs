//! Chances of all causes from all evidence, over every kind of engine a job may be about.
//!
//! With `w_k` the chance of kind k before any reading,
//! `P(fault | e) = sum_k w_k P(e | k) P(fault | e, k) / sum_k w_k P(e | k)`.
//! Must not word anything.

use std::collections::BTreeMap;

use super::answer::{Cause, Ranking, Standing, SystemChance};
use super::misfit::misfit;
use crate::evidence::{Case, Evidence};
use crate::job::{EntryBody, Job};
use crate::network::build::FaultVariable;
use crate::network::clamp::Clamped;
use crate::network::{CompileError, KernelError, Program, VarId};

/// Tries of the search for an order of the wide programs; more bought nothing on our networks.
const RESTARTS: usize = 4;
/// Causes this close to the first are level with it; common practice, no source.
const LEVEL: f64 = 0.05;
/// Below this a cause is set aside: the scale of words calls it nearly ruled out.
const SET_ASIDE: f64 = 0.05;
/// A chance that moved by less than this factor of its odds was not looked at.
const UNMOVED: f64 = 0.15;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DiagnosisError {
    /// The network is too wide for exact work.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// The kernel refused.
    #[error(transparent)]
    Kernel(#[from] KernelError),
    /// More entries than can be held against each other.
    #[error("{n} entries say something, {most} can be held against each other")]
    TooManyEntries {
        /// Entries.
        n: usize,
        /// The most.
        most: usize,
    },
}

/// What one case says about a set of its items.
#[derive(Debug, Clone)]
pub struct CaseAnswer {
    /// Natural logarithm of P(evidence), complaint included.
    pub log_evidence: f64,
    /// Chance of each state of each part now.
    pub parts: BTreeMap<VarId, Vec<f64>>,
    /// Chance that nothing is wrong.
    pub healthy: f64,
    /// Chance of each system.
    pub systems: BTreeMap<String, f64>,
}

/// Reckons cases for subsets of their items.
#[derive(Debug, Clone, Copy)]
pub struct Reckoner<'a> {
    /// The evidence.
    pub evidence: &'a Evidence,
}

impl<'a> Reckoner<'a> {
    /// Natural logarithm of P(items admitted, complaint) for each case.
    ///
    /// # Errors
    /// When the network is too wide or the items cannot be together.
    pub fn log_evidence(
        &self,
        keep: impl Fn(usize) -> bool + Copy,
    ) -> Result<Vec<f64>, DiagnosisError> {
        self.evidence
            .cases
            .iter()
            .map(|case| {
                let (request, lane) = case.request(Vec::new(), 0, keep);
                let program = Program::compile(&case.model.network, &request)?;
                let bound = program.bind(&case.model.network.figures())?;
                match program.run_upward(&bound, &[lane]).remove(0) {
                    // Ruled out as one kind among several, an error as the only one.
                    Err(KernelError::Impossible) if self.evidence.cases.len() > 1 => {
                        Ok(f64::NEG_INFINITY)
                    }
                    other => Ok(other?),
                }
            })
            .collect()
    }

    /// Chance of some states of some parts, for the items admitted, over all cases.
    ///
    /// # Errors
    /// As [`Reckoner::log_evidence`].
    pub fn chance(
        &self,
        keep: impl Fn(usize) -> bool + Copy,
        wanted: &FaultPlace,
    ) -> Result<f64, DiagnosisError> {
        let mut total = 0.0;
        let mut top = 0.0;
        let mut least = f64::NEG_INFINITY;
        let mut answers = Vec::new();
        for case in &self.evidence.cases {
            let place = wanted.find(case);
            let queries = place.map(|(v, _)| vec![v]).into_iter().collect();
            let (request, lane) = case.request(queries, 0, keep);
            let program = Program::compile(&case.model.network, &request)?;
            let bound = program.bind(&case.model.network.figures())?;
            let answer = match program.run(&bound, &[lane]).remove(0) {
                Err(KernelError::Impossible) if self.evidence.cases.len() > 1 => continue,
                other => other?,
            };
            let chance = place.map_or(0.0, |(_, s)| answer.chances[0][s]);
            least = least.max(answer.log_evidence);
            answers.push((case.weight, answer.log_evidence, chance));
        }
        for (weight, log, chance) in answers {
            let share = weight * (log - least).exp();
            total += share;
            top += share * chance;
        }
        Ok(top / total)
    }

    /// Everything about one case.
    fn case(
        &self,
        case: &Case,
        keep: impl Fn(usize) -> bool + Copy,
    ) -> Result<CaseAnswer, DiagnosisError> {
        let (request, lane) = case.request(Vec::new(), RESTARTS, keep);
        let (slots, inputs, log_scale) = (request.slots, lane.inputs, lane.log_scale);
        let parts = case.model.parts_now();
        let queries = parts.iter().map(|p| vec![*p]).collect();
        let clamped = Clamped::compile(&case.model, &slots, queries, RESTARTS)?;
        let bound = clamped.bind(&case.model.network)?;
        let program = clamped.program();
        let main = clamped.lane(&inputs, |_, _| true);
        let answer = program.run(&bound, &[main]).remove(0)?;
        let mut systems = case
            .model
            .faults
            .iter()
            .map(|f| f.system.clone())
            .collect::<Vec<_>>();
        systems.sort();
        systems.dedup();
        let mut lanes = vec![clamped.lane(&inputs, |v, s| sound(case, v, s))];
        for system in &systems {
            lanes.push(clamped.lane(&inputs, |v, s| {
                sound(case, v, s) || !in_system(case, v, system)
            }));
        }
        let weights = clamped.log_weights(&bound, &lanes)?;
        let share = |w: f64| (w - answer.log_evidence).exp();
        Ok(CaseAnswer {
            log_evidence: answer.log_evidence + log_scale,
            parts: parts.into_iter().zip(answer.chances).collect(),
            healthy: share(weights[0]),
            systems: systems
                .into_iter()
                .zip(&weights[1..])
                .map(|(s, w)| (s, (1.0 - share(*w)).max(0.0)))
                .collect(),
        })
    }

    /// All cases, with the chance of each kind of engine.
    fn all(
        &self,
        keep: impl Fn(usize) -> bool + Copy,
    ) -> Result<Vec<(f64, CaseAnswer)>, DiagnosisError> {
        let mut answers = Vec::new();
        for case in &self.evidence.cases {
            match self.case(case, keep) {
                Ok(answer) => answers.push((case.weight, answer)),
                // A kind of engine on which this cannot be seen is ruled out, the others are not.
                // It keeps its place, for answers stand beside their cases.
                Err(DiagnosisError::Kernel(KernelError::Impossible)) => answers.push((
                    0.0,
                    CaseAnswer {
                        log_evidence: f64::NEG_INFINITY,
                        parts: BTreeMap::new(),
                        healthy: 0.0,
                        systems: BTreeMap::new(),
                    },
                )),
                Err(error) => return Err(error),
            }
        }
        if answers.iter().all(|(w, _)| *w == 0.0) {
            return Err(KernelError::Impossible.into());
        }
        let most = answers
            .iter()
            .map(|(_, a)| a.log_evidence)
            .fold(f64::NEG_INFINITY, f64::max);
        for (weight, answer) in &mut answers {
            *weight *= (answer.log_evidence - most).exp();
        }
        let total: f64 = answers.iter().map(|(w, _)| w).sum();
        answers.iter_mut().for_each(|(w, _)| *w /= total);
        Ok(answers)
    }
}

/// A fault to be found in the network of any case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultPlace {
    /// Part.
    pub part: String,
    /// Fault.
    pub fault: String,
    /// Cylinder.
    pub cylinder: Option<u8>,
}

impl FaultPlace {
    /// Variable now and state, where the case has the part.
    #[must_use]
    pub fn find(&self, case: &Case) -> Option<(VarId, usize)> {
        let fault = case.model.faults.iter().find(|f| {
            f.part == self.part && f.fault == self.fault && f.cylinder == self.cylinder
        })?;
        Some((case.model.now_of(fault), fault.state))
    }
}

fn in_system(case: &Case, variable: VarId, system: &str) -> bool {
    case.model
        .faults
        .iter()
        .any(|f| f.system == system && case.model.now_of(f) == variable)
}

/// Whether a state is sound, wear of a set included.
fn sound(case: &Case, variable: VarId, state: usize) -> bool {
    state == 0
        || case
            .model
            .faults
            .iter()
            .any(|f| f.wear_only && f.state == state && case.model.now_of(f) == variable)
}

/// The ranking of all causes of a job.
///
/// # Errors
/// When the network is too wide, or when nothing explains what was seen.
pub fn causes(evidence: &Evidence, job: &Job) -> Result<Ranking, DiagnosisError> {
    let reckoner = Reckoner { evidence };
    let answers = reckoner.all(|_| true)?;
    let last = evidence
        .cases
        .iter()
        .flat_map(|c| c.items.iter().map(|i| i.entry))
        .max();
    let before = match last {
        None => None,
        Some(last) => {
            let items = &evidence.cases[0].items;
            Some(reckoner.all(|at| items.get(at).is_some_and(|i| i.entry < last))?)
        }
    };
    let faults = distinct(evidence);
    let bases = bases(evidence)?;
    let mut causes = Vec::new();
    for fault in &faults {
        let chance = mixed(evidence, &answers, fault);
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
            base: mixed(evidence, &bases, fault),
            standing: Standing::InTheRunning,
            before: before.as_ref().map(|b| mixed(evidence, b, fault)),
        });
    }
    causes.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    stand(&mut causes, job, &evidence.proven);
    let log_evidence = total_log_evidence(evidence, &answers);
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

fn total_log_evidence(evidence: &Evidence, answers: &[(f64, CaseAnswer)]) -> f64 {
    let most = answers
        .iter()
        .map(|(_, a)| a.log_evidence)
        .fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = answers
        .iter()
        .zip(&evidence.cases)
        .map(|((_, a), c)| c.weight * (a.log_evidence - most).exp())
        .sum();
    most + sum.ln()
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

fn mixed(evidence: &Evidence, answers: &[(f64, CaseAnswer)], fault: &FaultVariable) -> f64 {
    let place = FaultPlace {
        part: fault.part.clone(),
        fault: fault.fault.clone(),
        cylinder: fault.cylinder,
    };
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

/// Chances in engines like this before any complaint.
fn bases(evidence: &Evidence) -> Result<Vec<(f64, CaseAnswer)>, DiagnosisError> {
    evidence
        .cases
        .iter()
        .map(|case| {
            let firsts = case
                .model
                .faults
                .iter()
                .map(|f| f.variable)
                .collect::<std::collections::BTreeSet<_>>();
            let request = crate::network::Request {
                slots: Vec::new(),
                queries: firsts.iter().map(|v| vec![*v]).collect(),
                restarts: 0,
            };
            let program = Program::compile(&case.model.network, &request)?;
            let bound = program.bind(&case.model.network.figures())?;
            let answer = program
                .run(&bound, &[crate::network::Lane::default()])
                .remove(0)?;
            // Keyed by the newest slice, as the other answers are.
            let mut parts = BTreeMap::new();
            for (variable, chances) in firsts.into_iter().zip(answer.chances) {
                let fault = case.model.faults.iter().find(|f| f.variable == variable);
                if let Some(fault) = fault {
                    parts.insert(case.model.now_of(fault), chances);
                }
            }
            let none = CaseAnswer {
                log_evidence: 0.0,
                parts,
                healthy: 0.0,
                systems: BTreeMap::new(),
            };
            Ok((case.weight, none))
        })
        .collect()
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
