//! The next move of a job.
//!
//! Expected minutes to a repair proven by a cold start, over checks, repairs and handing over.
//! The cold is a group that the proof needs too: warming the engine costs a night. Must not word
//! anything.

use super::answer::{ColdState, Found, Hidden, MoveKind, Next, NextMove};
use super::checks::{Bench, Offered, cold_name, functions_of, needs_cold, predicted};
use super::hypotheses::Hypotheses;
use super::repairs::Mending;
use crate::evidence::Evidence;
use crate::evidence::kinds::kinds;
use crate::job::{EntryBody, Job};
use crate::knowledge::{Cold, Knowledge};
use crate::network::{CompileError, KernelError, Program};
use crate::planning::{
    Action, Check, Fault, Group, Hypothesis, Leaf, Outcomes, Planner, Problem, ProblemError,
    Repair, Settings, Situation, Tables,
};

/// Minutes a night's wait is worth when the bench does not say; own judgement.
const NIGHT_MINUTES: f64 = 60.0;
/// Minutes handing the job over is worth when the bench does not say; own judgement.
const HAND_OVER_MINUTES: f64 = 1000.0;
/// Minutes of a watched cold start that proves a repair; common practice, no source.
const PROOF_MINUTES: f64 = 10.0;
/// Chance of one kind of engine above which nobody need be asked what is fitted.
const KIND_KNOWN: f64 = 0.95;
/// Minutes to look what is fitted; own judgement.
const ASK_MINUTES: f64 = 1.0;

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
    /// The problem does not hold together; a fault of the program, not of the job.
    #[error(transparent)]
    Problem(#[from] ProblemError),
}

/// What to do next on a job.
///
/// # Errors
/// When the network is too wide or nothing explains what was seen.
pub fn next(knowledge: &Knowledge, job: &Job, evidence: &Evidence) -> Result<Next, NextError> {
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
    let hypotheses = Hypotheses::read(case, &functions_of(knowledge, &shape))?;
    let bench = Bench {
        knowledge,
        job,
        case,
        shape: &shape,
        hypotheses: &hypotheses,
        temperature: evidence.temperature,
    };
    let (offered, hidden) = bench.offered();
    let mendings = bench.mendings();
    let cold = is_cold(knowledge, job);
    let problem = problem(&bench, &offered, &mendings, cold);
    let tables = Tables::new(&problem)?;
    let planner = Planner::new(&tables, Settings::default(), Leaf::default());
    let advice = planner.advise(&Situation::start(&tables));
    let label = |action: Action| match action {
        Action::HandOver => "hand_over".to_owned(),
        Action::Repair(i) => problem.repairs[i].name.clone(),
        Action::Check(i) => problem.checks[i].name.clone(),
    };
    let mut moves = Vec::new();
    for m in &advice.moves {
        let mut made = match m.action {
            Action::HandOver => plain(MoveKind::HandOver, "hand_over"),
            Action::Repair(i) => mend(knowledge, &mendings[i]),
            Action::Check(i) => check(knowledge, &offered[i], &hypotheses.weights),
        };
        made.expected_total = m.expected_total;
        made.saves = m.saves;
        made.changes_next = m.changes_next;
        made.risk = m.risk;
        made.tied = m.tied;
        for (found, leads) in made.outcomes.iter_mut().zip(&m.outcomes) {
            found.leads_to = leads.leads_to.map(label);
        }
        moves.push(made);
    }
    if shares[best] < KIND_KNOWN && shares.len() > 1 && preheats(evidence) > 1 {
        let mut ask = plain(MoveKind::Ask, "what_preheat_is_fitted");
        ask.minutes = ASK_MINUTES;
        ask.expected_total = moves.first().map_or(0.0, |m| m.expected_total);
        moves.insert(0, ask);
    }
    let worth = offered.iter().any(|o| needs_cold(o.check));
    Ok(Next {
        stop: advice.stop,
        wants_checks: mendings
            .iter()
            .filter(|m| m.repair.wants_checks > 0)
            .map(|m| (m.repair.id.get_ref().clone(), m.repair.wants_checks))
            .collect(),
        moves,
        hidden: hidden.into_iter().filter(told_of).collect(),
        cold: ColdState {
            cold,
            worth_keeping: cold && worth,
        },
    })
}

/// What this engine does not have is no news.
fn told_of(hidden: &Hidden) -> bool {
    hidden.why != "not_on_engine"
}

fn preheats(evidence: &Evidence) -> usize {
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
    let mut logs = Vec::new();
    for case in &evidence.cases {
        if evidence.cases.len() == 1 {
            return Ok(vec![1.0]);
        }
        let (request, lane) = case.request(Vec::new(), 0, |_| true);
        let program = Program::compile(&case.model.network, &request)?;
        let bound = program.bind(&case.model.network.figures())?;
        let log = match program.run_upward(&bound, &[lane]).remove(0) {
            Err(KernelError::Impossible) => f64::NEG_INFINITY,
            other => other?,
        };
        logs.push(case.weight.ln() + log);
    }
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = logs.iter().map(|l| (l - most).exp()).sum();
    Ok(logs.iter().map(|l| (l - most).exp() / total).collect())
}

/// Cold until a start or a check that warms the engine.
fn is_cold(knowledge: &Knowledge, job: &Job) -> bool {
    let mut recorded = job.entries.iter().filter(|e| e.is_recorded());
    !recorded.any(|entry| match &entry.body {
        EntryBody::Start(_) => true,
        EntryBody::Reading(r) => knowledge
            .checks
            .iter()
            .any(|c| *c.id.get_ref() == r.check && c.cold == Cold::UsesUp),
        _ => false,
    })
}

fn problem(
    bench: &Bench<'_>,
    offered: &[Offered<'_>],
    mendings: &[Mending<'_>],
    cold: bool,
) -> Problem {
    let knowledge = bench.knowledge;
    let soak = knowledge.access.len();
    let settings = &bench.job.bench;
    let mut groups = knowledge
        .access
        .iter()
        .map(|a| Group {
            name: a.id.get_ref().clone(),
            open_minutes: a.minutes + a.risk.as_ref().map_or(0.0, |r| r.chance * r.minutes),
            stays_open: a.stays_open,
        })
        .collect::<Vec<_>>();
    groups.push(Group {
        name: "cold".to_owned(),
        open_minutes: settings.night_minutes.unwrap_or(NIGHT_MINUTES),
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
                let mut access = o.access.clone();
                if needs_cold(o.check) {
                    access.push(soak);
                }
                let risk = o.check.risk.as_ref().map_or(0.0, |r| r.chance * r.minutes);
                Check {
                    name: o.check.id.get_ref().clone(),
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
                name: match m.cylinder {
                    Some(c) => format!("{}:{c}", m.repair.id.get_ref()),
                    None => m.repair.id.get_ref().clone(),
                },
                minutes: m.minutes,
                access: m.access.clone(),
                fix: m.fix.clone(),
            })
            .collect(),
        groups,
        verify_minutes: PROOF_MINUTES,
        verify_access: vec![soak],
        open_now: if cold { vec![soak] } else { Vec::new() },
        hand_over_minutes: settings.hand_over_minutes.unwrap_or(HAND_OVER_MINUTES),
    }
}

fn plain(kind: MoveKind, id: &str) -> NextMove {
    NextMove {
        kind,
        id: id.to_owned(),
        cylinder: None,
        minutes: 0.0,
        access: Vec::new(),
        cold: "keeps",
        expected_total: 0.0,
        saves: 0.0,
        changes_next: 0.0,
        risk: 0.0,
        outcomes: Vec::new(),
        hazards: Vec::new(),
        tied: false,
    }
}

fn access_names(knowledge: &Knowledge, access: &[usize]) -> Vec<String> {
    access
        .iter()
        .map(|a| knowledge.access[*a].id.get_ref().clone())
        .collect()
}

/// Cautions of the access groups first, then the move's own, each once.
fn hazards<'h>(
    knowledge: &'h Knowledge,
    access: &[usize],
    own: impl Iterator<Item = &'h str>,
) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    let opening = access.iter().flat_map(|a| {
        knowledge.access[*a]
            .hazards
            .iter()
            .map(|h| h.get_ref().as_str())
    });
    for hazard in opening.chain(own) {
        if !list.iter().any(|h| h == hazard) {
            list.push(hazard.to_owned());
        }
    }
    list
}

fn mend(knowledge: &Knowledge, mending: &Mending<'_>) -> NextMove {
    let repair = mending.repair;
    NextMove {
        cylinder: mending.cylinder,
        minutes: repair.minutes,
        access: access_names(knowledge, &mending.access),
        hazards: hazards(
            knowledge,
            &mending.access,
            repair.hazards.iter().map(|h| h.get_ref().as_str()),
        ),
        ..plain(MoveKind::Repair, repair.id.get_ref())
    }
}

fn check(knowledge: &Knowledge, offered: &Offered<'_>, weights: &[f64]) -> NextMove {
    let chances = predicted(&offered.chances, weights, offered.names.len());
    NextMove {
        minutes: offered.minutes,
        access: access_names(knowledge, &offered.access),
        cold: cold_name(offered.check.cold),
        outcomes: offered
            .names
            .iter()
            .zip(chances)
            .map(|(state, chance)| Found {
                state: state.clone(),
                chance,
                leads_to: None,
            })
            .collect(),
        hazards: hazards(
            knowledge,
            &offered.access,
            offered.check.hazards.iter().map(|h| h.get_ref().as_str()),
        ),
        ..plain(MoveKind::Check, offered.check.id.get_ref())
    }
}
