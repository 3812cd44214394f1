//! A job as a problem of checks and repairs: the hypotheses, what can be done here, the prices.
//!
//! The cold is a group that the proof needs too: warming the engine costs a night.
//!
//! A repair that misses costs `m`: the chance that it is thought to have cured, times what a job
//! costs that comes back. Every job ends right or handed over, so of `n` repairs `n - 1` or `n`
//! miss, and adding `m` to each repair and to handing over counts it once too often, always:
//!
//! ```text
//! m (misses) = m n + m [handed over] - m
//! ```
//!
//! so totals are brought down by `m` ([`Setup::total`]). Must not search or word anything.

use super::answer::Hidden;
use super::checks::{Bench, Offered, functions_of, needs_cold};
use super::clash::clash;
use super::cold::is_cold;
use super::covers::Covers;
use super::hypotheses::Hypotheses;
use super::prices::Prices;
use super::repairs::Mending;
use crate::diagnosis::{DiagnosisError, Reckoner};
use crate::evidence::Evidence;
use crate::evidence::kinds::kinds;
use crate::job::Job;
use crate::knowledge::{Cold, Knowledge, Per};
use crate::network::{CompileError, KernelError};
use crate::planning::{
    Action, Check, Fault, Group, Hypothesis, Outcomes, Problem, ProblemError, Repair,
};

/// Why there is no next move.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NextError {
    /// The network is too wide.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// The kernel refused.
    #[error(transparent)]
    Kernel(#[from] KernelError),
    /// The kinds of engine cannot be told apart.
    #[error(transparent)]
    Diagnosis(DiagnosisError),
    /// The problem does not hold together; a fault of the program, not of the job.
    #[error(transparent)]
    Problem(#[from] ProblemError),
}

impl From<DiagnosisError> for NextError {
    fn from(error: DiagnosisError) -> Self {
        match error {
            DiagnosisError::Compile(error) => error.into(),
            DiagnosisError::Kernel(error) => error.into(),
            other => NextError::Diagnosis(other),
        }
    }
}

/// A job ready to be planned, on its likeliest kind of engine.
pub(super) struct Setup<'s> {
    pub bench: &'s Bench<'s>,
    pub offered: Vec<Offered<'s>>,
    pub hidden: Vec<Hidden>,
    pub mendings: Vec<Mending<'s>>,
    pub cold: bool,
    /// Whether readings clash, so that one of them is to be taken again before all else.
    pub clash: bool,
    pub problem: Problem,
    /// Chance of the kind of engine it is planned on.
    pub share: f64,
}

impl Setup<'_> {
    /// Name of a move.
    pub(super) fn name(&self, action: Action) -> String {
        match action {
            Action::HandOver => "hand_over".to_owned(),
            Action::Repair(i) => self.problem.repairs[i].name.clone(),
            Action::Check(i) => self.problem.checks[i].name.clone(),
        }
    }

    /// The price of the night that is sure to pass from a move to the proof of a repair: only a cold
    /// start proves it, and a warm engine takes a night to be cold.
    pub(super) fn night(&self, action: Action, cold: bool) -> Option<f64> {
        (!cold && action != Action::HandOver).then_some(self.bench.prices.night)
    }

    /// Whether a move has to wait a night for a cold engine; the proof of a repair does so anyway.
    pub(super) fn waits(&self, action: Action) -> bool {
        matches!(action, Action::Check(i) if !self.cold && needs_cold(self.offered[i].check))
    }

    /// Minutes of a job, from those of the problem.
    pub(super) fn total(&self, minutes: f64) -> f64 {
        (minutes - self.bench.prices.missed).max(0.0)
    }
}

/// A job as a stated problem, on its likeliest kind of engine; totals stand [`Prices::missed`]
/// above those of the job.
///
/// # Errors
/// When the network is too wide or nothing explains what was seen.
pub fn problem(
    knowledge: &Knowledge,
    job: &Job,
    evidence: &Evidence,
) -> Result<Problem, NextError> {
    with_setup(knowledge, job, evidence, |setup| Ok(setup.problem.clone()))
}

/// Sets a job up and plans on it.
///
/// # Errors
/// When the network is too wide or nothing explains what was seen.
pub(super) fn with_setup<T>(
    knowledge: &Knowledge,
    job: &Job,
    evidence: &Evidence,
    plan: impl FnOnce(&Setup<'_>) -> Result<T, NextError>,
) -> Result<T, NextError> {
    let shares = shares(evidence)?;
    let best = (0..shares.len())
        .max_by(|a, b| shares[*a].total_cmp(&shares[*b]))
        .unwrap_or(0);
    let case = &evidence.cases[best];
    let shape = kinds(knowledge, &job.engine)
        .into_iter()
        .map(|(s, _)| s)
        .find(|s| s.chamber == case.chamber && s.preheat == case.preheat)
        .expect("the case was made from one of these kinds");
    let hypotheses = Hypotheses::read(&evidence.shelf, case, &functions_of(knowledge, &shape))?;
    let bench = Bench {
        knowledge,
        job,
        case,
        shape: &shape,
        hypotheses: &hypotheses,
        temperature: evidence.temperature,
        prices: Prices::of(&job.bench),
    };
    let (mut offered, hidden) = bench.offered();
    let repeats = bench.repeats();
    let clash = clash(evidence, &repeats.entries, repeats.doubt);
    offered.extend(repeats.offered);
    let mendings = bench.mendings();
    let cold = is_cold(knowledge, job);
    let problem = stated(&bench, &offered, &mendings, cold);
    plan(&Setup {
        bench: &bench,
        offered,
        hidden,
        mendings,
        cold,
        clash,
        problem,
        share: shares[best],
    })
}

pub(super) fn preheats(evidence: &Evidence) -> usize {
    let mut names = evidence
        .cases
        .iter()
        .map(|c| c.preheat.as_str())
        .collect::<Vec<_>>();
    names.sort_unstable();
    names.dedup();
    names.len()
}

/// Chance of each kind of engine, given everything.
fn shares(evidence: &Evidence) -> Result<Vec<f64>, NextError> {
    if evidence.cases.len() == 1 {
        return Ok(vec![1.0]);
    }
    let all = vec![true; evidence.cases[0].items.len()];
    let answers = Reckoner::new(evidence)?.answers(&[all])?;
    Ok(answers[0].iter().map(|(share, _)| *share).collect())
}

fn stated(
    bench: &Bench<'_>,
    offered: &[Offered<'_>],
    mendings: &[Mending<'_>],
    cold: bool,
) -> Problem {
    let prices = &bench.prices;
    let cylinders = bench.shape.cylinders;
    let mut covers = Covers::of(&bench.knowledge.access, cylinders, prices);
    let soak = covers.groups.len();
    covers.groups.push(Group {
        name: "cold".to_owned(),
        open_minutes: prices.night,
        stays_open: false,
    });
    let hypotheses = bench.hypotheses;
    Problem {
        faults: hypotheses
            .faults
            .iter()
            .map(|f| Fault { name: f.id() })
            .collect(),
        hypotheses: crate::planning::Hypotheses::Listed(
            hypotheses
                .sets
                .iter()
                .zip(&hypotheses.weights)
                .map(|(faults, weight)| Hypothesis {
                    faults: faults.clone(),
                    weight: *weight,
                })
                .collect(),
        ),
        checks: offered
            .iter()
            .map(|o| {
                let mut access = covers.open(&o.access, &o.cylinders(cylinders));
                if needs_cold(o.check) {
                    access.push(soak);
                }
                let risk = places(bench, o) * prices.damage(o.check.risk.as_ref());
                Check {
                    name: o.name(),
                    minutes: o.minutes,
                    access,
                    closes: if o.check.cold == Cold::UsesUp {
                        vec![soak]
                    } else {
                        Vec::new()
                    },
                    outcomes: Outcomes::Table {
                        outcomes: o.names.len(),
                        chances: o.chances.clone(),
                    },
                    outcome_names: o.names.clone(),
                    risk: vec![risk; hypotheses.sets.len()],
                    max_times: 1,
                    persist: o.check.copies,
                    repeat_minutes: o.minutes,
                }
            })
            .collect(),
        repairs: mendings
            .iter()
            .map(|m| Repair {
                name: m.name(),
                minutes: m.minutes,
                access: covers.open(&m.access, m.cylinder.as_slice()),
                fix: m.fix.clone(),
            })
            .collect(),
        groups: covers.groups,
        verify_minutes: prices.proof + prices.missed,
        verify_access: vec![soak],
        open_now: if cold { vec![soak] } else { Vec::new() },
        hand_over_minutes: prices.hand_over + prices.missed,
    }
}

/// Places a check is done at, each with its own risk.
fn places(bench: &Bench<'_>, offered: &Offered<'_>) -> f64 {
    match (offered.check.per, offered.cylinder) {
        (Per::Cylinder, None) => f64::from(bench.shape.cylinders),
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use crate::planning::{Situation, Tables, problem_from_json, solve_exact};

    /// By hand: mend for 10; half the time it misses, which costs 4, and is handed over for 30:
    /// 10 + 0.5 (4 + 30) = 27, less than the 30 of handing over at once.
    #[test]
    fn a_missed_repair_counts_once() {
        let missed = 4.0;
        let text = format!(
            r#"{{"model": "single", "faults": [{{"name": "a", "prior": 1}}], "tests": [],
                "repairs": [{{"name": "r", "cost": 10, "fix": [0.5]}}], "groups": [],
                "verify_cost": {missed}, "call_cost": {}}}"#,
            30.0 + missed
        );
        let tables = Tables::new(&problem_from_json(&text).unwrap()).unwrap();
        let least = solve_exact(&tables, &Situation::start(&tables), 100).unwrap();
        assert!((least.minutes - missed - 27.0).abs() < 1e-9);
    }
}
