//! Cases compiled once for all their evidence, and asked about any subset of it.
//!
//! Every item is a switch of the program, so that what was so without a reading, what two
//! entries say together, and what moved a cause are lanes of one program and not programs.
//! Items that tie cylinders together are sums of terms; where the terms of a subset cancel too
//! much, the subset is asked of a second, wider program without terms.
//! With `w_k` the chance of kind k of engine before any reading,
//!
//! ```text
//! P(fault | e) = sum_k w_k P(e | k) P(fault | e, k) / sum_k w_k P(e | k)
//! ```
//! Must not rank or word anything.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use rayon::prelude::*;

use super::error::DiagnosisError;
use crate::evidence::{Case, Evidence, Switched};
use crate::network::build::FaultVariable;
use crate::network::clamp::Clamped;
use crate::network::{Bound, Group, KernelError, Shelf, Summed, VarId};

/// Tries of the search for an order; more bought nothing on our networks.
const RESTARTS: usize = 2;

/// Table entries above which a case is refused: seconds of work, while somebody waits. Own judgement.
const BEARABLE: f64 = 4e7;

/// Error of a sum of terms that is let pass, relative to the chance of the evidence.
const MOST_ERROR: f64 = 1e-9;

/// Which items count, by position.
pub type Subset = Vec<bool>;

/// What one case says.
#[derive(Debug, Clone, Default)]
pub struct CaseAnswer {
    /// Natural logarithm of P(evidence), complaint included; minus infinity when it cannot be.
    pub log_evidence: f64,
    /// Chance of each state of each part that was asked for.
    pub parts: BTreeMap<VarId, Vec<f64>>,
    /// Chance that nothing is wrong.
    pub healthy: f64,
    /// Chance of each system.
    pub systems: BTreeMap<String, f64>,
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
    /// Where a fault is.
    #[must_use]
    pub fn of(fault: &FaultVariable) -> Self {
        Self {
            part: fault.part.clone(),
            fault: fault.fault.clone(),
            cylinder: fault.cylinder,
        }
    }

    /// Variable now and state, where the case has the part.
    #[must_use]
    pub fn find(&self, case: &Case) -> Option<(VarId, usize)> {
        let fault = case.model.faults.iter().find(|f| {
            f.part == self.part && f.fault == self.fault && f.cylinder == self.cylinder
        })?;
        Some((case.model.now_of(fault), fault.state))
    }
}

/// A program for all evidence of a case.
struct Form {
    switched: Switched,
    clamped: Clamped,
    bound: Bound,
}

/// One case with its program.
struct Prepared<'a> {
    shelf: &'a Shelf,
    case: &'a Case,
    narrow: Form,
    /// Without terms; made when terms cancel.
    plain: OnceLock<Result<Form, DiagnosisError>>,
    /// Parts asked for: as they are now, then as they were first where that differs.
    parts: Vec<VarId>,
    /// Systems of each part as it is now.
    systems: BTreeMap<String, BTreeSet<VarId>>,
    /// States of wear of a set, which count as sound.
    worn: BTreeSet<(VarId, usize)>,
}

type Answer = Result<Summed, KernelError>;

/// All cases of a job, ready for any subset of its evidence.
pub struct Reckoner<'a> {
    /// The evidence.
    pub evidence: &'a Evidence,
    prepared: Vec<Prepared<'a>>,
}

impl Form {
    fn new(
        shelf: &Shelf,
        case: &Case,
        parts: &[VarId],
        terms: bool,
    ) -> Result<Self, DiagnosisError> {
        let switched = case.switched(terms);
        let queries = parts.iter().map(|p| vec![*p]).collect();
        let (model, slots) = (&case.model, &switched.slots);
        let clamped = if terms {
            Clamped::compile_within(shelf, model, slots, queries, (RESTARTS, BEARABLE))?
        } else {
            Clamped::compile(shelf, model, slots, queries, RESTARTS)?
        };
        let bound = clamped.bind(&case.model.network)?;
        Ok(Self {
            switched,
            clamped,
            bound,
        })
    }
}

/// What is asked of a case: which items count, the complaint apart, and which states can be.
struct Ask<'s> {
    complaint: bool,
    subset: &'s Subset,
    /// Whether a state of a part can be; all can where there is none.
    allowed: Option<&'s dyn Fn(VarId, usize) -> bool>,
}

impl<'s> Ask<'s> {
    fn open(subset: &'s Subset) -> Self {
        Self {
            complaint: true,
            subset,
            allowed: None,
        }
    }

    fn group(&self, form: &Form) -> Group {
        let evidence = form.switched.group(self.complaint, |at| self.subset[at]);
        form.clamped
            .group(&evidence, |v, s| self.allowed.is_none_or(|a| a(v, s)))
    }
}

impl<'a> Prepared<'a> {
    fn new(shelf: &'a Shelf, case: &'a Case) -> Result<Self, DiagnosisError> {
        let mut parts = case.model.parts_now();
        let mut systems: BTreeMap<String, BTreeSet<VarId>> = BTreeMap::new();
        let mut worn = BTreeSet::new();
        for fault in &case.model.faults {
            let now = case.model.now_of(fault);
            if !parts.contains(&fault.variable) {
                parts.push(fault.variable);
            }
            systems.entry(fault.system.clone()).or_default().insert(now);
            if fault.wear_only {
                worn.insert((now, fault.state));
            }
        }
        Ok(Self {
            shelf,
            case,
            narrow: Form::new(shelf, case, &parts, true)?,
            plain: OnceLock::new(),
            parts,
            systems,
            worn,
        })
    }

    /// Answers, with the chances of the parts if `queries`. What cannot be is `Impossible`.
    fn run(&self, asks: &[Ask<'_>], queries: bool) -> Result<Vec<Answer>, DiagnosisError> {
        let form = &self.narrow;
        let groups = asks.iter().map(|a| a.group(form)).collect::<Vec<_>>();
        let program = form.clamped.program();
        let mut answers = program.run_groups(&form.bound, &groups, queries);
        // A share of a total may be as good as nought, the total itself may not be lost.
        let lost = |ask: &Ask<'_>, answer: &Answer| {
            ask.allowed.is_none()
                && form.switched.signed()
                && answer.as_ref().map_or(true, |a| a.error > MOST_ERROR)
        };
        let again = (0..asks.len())
            .filter(|at| lost(&asks[*at], &answers[*at]))
            .collect::<Vec<_>>();
        if !again.is_empty() {
            let plain = self
                .plain
                .get_or_init(|| Form::new(self.shelf, self.case, &self.parts, false));
            let plain = plain.as_ref().map_err(Clone::clone)?;
            let groups = again.iter().map(|at| asks[*at].group(plain));
            let groups = groups.collect::<Vec<_>>();
            let program = plain.clamped.program();
            let found = program.run_groups(&plain.bound, &groups, queries);
            for (at, answer) in again.into_iter().zip(found) {
                answers[at] = answer;
            }
        }
        Ok(answers)
    }

    /// Log P(evidence) of each; minus infinity where it cannot be.
    fn logs(&self, asks: &[Ask<'_>]) -> Result<Vec<f64>, DiagnosisError> {
        let log = |answer: Answer| match answer {
            Err(KernelError::Impossible) => Ok(f64::NEG_INFINITY),
            other => Ok(other?.answers.log_evidence),
        };
        self.run(asks, false)?.into_iter().map(log).collect()
    }

    /// Everything about each: its chance, and the chances of the parts.
    fn parts(&self, asks: &[Ask<'_>]) -> Result<Vec<CaseAnswer>, DiagnosisError> {
        let answer = |answer: Answer| match answer {
            // A kind of engine on which this cannot be seen is ruled out, the others are not.
            Err(KernelError::Impossible) => Ok(CaseAnswer {
                log_evidence: f64::NEG_INFINITY,
                ..CaseAnswer::default()
            }),
            other => other.map_err(DiagnosisError::from).map(|a| CaseAnswer {
                log_evidence: a.answers.log_evidence,
                parts: self.parts.iter().copied().zip(a.answers.chances).collect(),
                ..CaseAnswer::default()
            }),
        };
        self.run(asks, true)?.into_iter().map(answer).collect()
    }

    /// Fills in what groups of parts say, for the lane that counts everything.
    fn groups(&self, all: &Subset, answer: &mut CaseAnswer) -> Result<(), DiagnosisError> {
        if answer.log_evidence == f64::NEG_INFINITY {
            return Ok(());
        }
        // Wear of a set counts as sound.
        let sound = |v: VarId, s: usize| s == 0 || self.worn.contains(&(v, s));
        let but = self
            .systems
            .values()
            .map(|parts| move |v: VarId, s: usize| sound(v, s) || !parts.contains(&v));
        let but = but.collect::<Vec<_>>();
        let ask = |allowed| Ask {
            allowed: Some(allowed),
            ..Ask::open(all)
        };
        let mut asks = vec![ask(&sound)];
        for allowed in &but {
            asks.push(ask(allowed));
        }
        let weights = self.logs(&asks)?;
        let share = |w: f64| (w - answer.log_evidence).exp();
        answer.healthy = share(weights[0]);
        answer.systems = self
            .systems
            .keys()
            .zip(&weights[1..])
            .map(|(s, w)| (s.clone(), (1.0 - share(*w)).max(0.0)))
            .collect();
        Ok(())
    }
}

impl<'a> Reckoner<'a> {
    /// Compiles all cases.
    ///
    /// # Errors
    /// When a network is too wide.
    pub fn new(evidence: &'a Evidence) -> Result<Self, DiagnosisError> {
        let prepare = |case| Prepared::new(&evidence.shelf, case);
        let prepared = evidence.cases.par_iter().map(prepare);
        Ok(Self {
            evidence,
            prepared: prepared.collect::<Result<_, _>>()?,
        })
    }

    /// Number of items.
    #[must_use]
    pub fn items(&self) -> usize {
        self.evidence.cases[0].items.len()
    }

    /// Natural logarithm of P(items that count, complaint), over all kinds of engine, for each
    /// subset.
    ///
    /// # Errors
    /// When the kernel refuses.
    pub fn log_evidence(&self, subsets: &[Subset]) -> Result<Vec<f64>, DiagnosisError> {
        let asks = subsets.iter().map(Ask::open).collect::<Vec<_>>();
        let by_case = self
            .prepared
            .iter()
            .map(|p| p.logs(&asks))
            .collect::<Result<Vec<_>, _>>()?;
        Ok((0..subsets.len())
            .map(|at| self.mixed(by_case.iter().map(|logs| logs[at])))
            .collect())
    }

    /// Chance of some state of some part, over all kinds of engine, for each subset.
    ///
    /// # Errors
    /// When the kernel refuses, or a subset cannot be seen on any kind of engine.
    pub fn chances(
        &self,
        subsets: &[Subset],
        wanted: &FaultPlace,
    ) -> Result<Vec<f64>, DiagnosisError> {
        let (mut with, mut all) = (Vec::new(), Vec::new());
        for prepared in &self.prepared {
            let place = wanted.find(prepared.case);
            let held =
                |v: VarId, s: usize| place.is_some_and(|(var, state)| v != var || s == state);
            let asks = subsets.iter().flat_map(|subset| {
                let held = Ask {
                    allowed: Some(&held),
                    ..Ask::open(subset)
                };
                [Ask::open(subset), held]
            });
            let logs = prepared.logs(&asks.collect::<Vec<_>>())?;
            all.push(logs.iter().step_by(2).copied().collect::<Vec<_>>());
            with.push(logs.iter().skip(1).step_by(2).copied().collect::<Vec<_>>());
        }
        (0..subsets.len())
            .map(|at| {
                let total = self.mixed(all.iter().map(|logs| logs[at]));
                if total == f64::NEG_INFINITY {
                    return Err(KernelError::Impossible.into());
                }
                let part = self.mixed(with.iter().map(|logs| logs[at]));
                Ok((part - total).exp())
            })
            .collect()
    }

    /// What each case says to each subset, and the chance of each kind of engine: `[subset][case]`
    /// as (chance of the kind, answer). Healthy and systems are filled in for the first subset.
    ///
    /// # Errors
    /// When the kernel refuses, or a subset cannot be seen on any kind of engine.
    pub fn answers(
        &self,
        subsets: &[Subset],
    ) -> Result<Vec<Vec<(f64, CaseAnswer)>>, DiagnosisError> {
        let mut out = vec![Vec::new(); subsets.len()];
        for prepared in &self.prepared {
            let asks = subsets.iter().map(Ask::open).collect::<Vec<_>>();
            let mut answers = prepared.parts(&asks)?;
            if let (Some(subset), Some(answer)) = (subsets.first(), answers.first_mut()) {
                prepared.groups(subset, answer)?;
            }
            for (list, answer) in out.iter_mut().zip(answers) {
                list.push((prepared.case.weight, answer));
            }
        }
        for list in &mut out {
            self.weigh(list)?;
        }
        Ok(out)
    }

    /// What each case says to one subset, the chance of each kind of engine beside it; without
    /// systems, which cost as much again.
    ///
    /// # Errors
    /// As [`Reckoner::answers`].
    pub fn parts(&self, subset: &Subset) -> Result<Vec<(f64, CaseAnswer)>, DiagnosisError> {
        let mut list = Vec::new();
        for prepared in &self.prepared {
            let mut answers = prepared.parts(&[Ask::open(subset)])?;
            list.push((prepared.case.weight, answers.remove(0)));
        }
        self.weigh(&mut list)?;
        Ok(list)
    }

    /// Weights before anything was read into chances of the kinds.
    fn weigh(&self, list: &mut [(f64, CaseAnswer)]) -> Result<(), DiagnosisError> {
        let most = self.most(list.iter().map(|(_, a)| a.log_evidence));
        if most == f64::NEG_INFINITY {
            return Err(KernelError::Impossible.into());
        }
        for (weight, answer) in list.iter_mut() {
            *weight *= (answer.log_evidence - most).exp();
        }
        let total: f64 = list.iter().map(|(w, _)| w).sum();
        list.iter_mut().for_each(|(w, _)| *w /= total);
        Ok(())
    }

    /// Chances of the parts in engines like this before any complaint, by case.
    ///
    /// # Errors
    /// When the kernel refuses.
    pub fn bases(&self) -> Result<Vec<(f64, CaseAnswer)>, DiagnosisError> {
        let none = vec![false; self.items()];
        self.prepared
            .iter()
            .map(|prepared| {
                let ask = Ask {
                    complaint: false,
                    ..Ask::open(&none)
                };
                let mut answer = prepared.parts(&[ask])?.remove(0);
                // Keyed by the newest slice, as the other answers are.
                for fault in &prepared.case.model.faults {
                    if let Some(first) = answer.parts.get(&fault.variable).cloned() {
                        answer
                            .parts
                            .insert(prepared.case.model.now_of(fault), first);
                    }
                }
                Ok((prepared.case.weight, answer))
            })
            .collect()
    }

    /// Logarithm of the sum of `weight * exp(log)` over cases.
    pub(super) fn mixed(&self, logs: impl Iterator<Item = f64> + Clone) -> f64 {
        let most = self.most(logs.clone());
        if most == f64::NEG_INFINITY {
            return most;
        }
        let weights = self.evidence.cases.iter().map(|c| c.weight);
        let sum: f64 = logs.zip(weights).map(|(l, w)| w * (l - most).exp()).sum();
        most + sum.ln()
    }

    fn most(&self, logs: impl Iterator<Item = f64>) -> f64 {
        logs.fold(f64::NEG_INFINITY, f64::max)
    }
}
