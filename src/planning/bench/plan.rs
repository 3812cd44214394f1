//! The next few moves of a job as a tree: what to do, what may be found, what to do then.
//!
//! Must not word or draw anything.

use super::answer::MoveKind;
use super::cold::is_cold;
use super::next::{describe, lead, over};
use super::setup::{NextError, Setup, with_setup};
use crate::evidence::Evidence;
use crate::job::{Job, JobState, Repeat};
use crate::knowledge::Knowledge;
use crate::planning::{Action, Leaf, PlanNode, Planner, Settings, Situation, Tables};

/// Moves deep.
const DEPTH: usize = 3;
/// Findings less likely than this on the whole way are not followed further; own judgement.
const LEAST: f64 = 0.02;

/// A step of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanStep {
    /// Kind.
    pub kind: MoveKind,
    /// Check or repair.
    pub id: String,
    /// Cylinder, where it is done at one.
    pub cylinder: Option<u8>,
    /// How it repeats a reading.
    pub repeat: Option<Repeat>,
    /// Minutes of the move itself, access not counted.
    pub minutes: f64,
    /// Expected minutes from here to a repair proven by a cold start.
    pub expected_total: f64,
    /// What of these minutes is the price of a night that is sure to pass before the proof; `None`
    /// where the engine is cold, or nothing is mended.
    pub night: Option<f64>,
    /// Whether it has to wait a night for a cold engine.
    pub waits_for_cold: bool,
    /// Whether the engine is cold before it and warm after it.
    pub uses_up_cold: bool,
    /// Cautions, by identifier, said before it.
    pub hazards: Vec<String>,
    /// What may be found, in the order of the check's outcomes.
    pub branches: Vec<PlanBranch>,
}

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanBranch {
    /// Outcome by name; `right` or `not_right` after a repair.
    pub state: String,
    /// Chance given the way here, a fraction.
    pub chance: f64,
    /// What to do then; `None` where the job is done or the plan ends.
    pub then: Option<PlanStep>,
}

/// The plan of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Whether the engine is cold now.
    pub cold: bool,
    /// The state of a job that is over: nothing remains to be done, and there are no steps.
    pub over: Option<JobState>,
    /// The first step.
    pub first: Option<PlanStep>,
}

/// The plan of a job, three moves deep.
///
/// # Errors
/// When the network is too wide or nothing explains what was seen.
pub fn plan(knowledge: &Knowledge, job: &Job, evidence: &Evidence) -> Result<Plan, NextError> {
    if let Some(state) = over(knowledge, job) {
        return Ok(Plan {
            cold: is_cold(knowledge, job),
            over: Some(state),
            first: None,
        });
    }
    with_setup(knowledge, job, evidence, |setup| {
        let tables = Tables::new(&setup.problem)?;
        let planner = Planner::new(&tables, Settings::default(), Leaf::default());
        let start = Situation::start(&tables);
        let advice = planner.advise(&start);
        let lead = &advice.moves[lead(&advice, |a| setup.waits(a))];
        let first = (lead.action, lead.expected_total);
        let tree = PlanNode::grow_from(&planner, &start, first, DEPTH, LEAST);
        Ok(Plan {
            cold: setup.cold,
            over: None,
            first: Some(step(setup, &tree, setup.cold)),
        })
    })
}

fn step(setup: &Setup<'_>, node: &PlanNode, cold: bool) -> PlanStep {
    let made = describe(setup, node.action);
    let (needs, warms) = match node.action {
        Action::Check(_) => (made.cold != "keeps", made.cold == "uses_up"),
        // The proof is a cold start.
        Action::Repair(_) => (true, true),
        Action::HandOver => (false, false),
    };
    let after = (cold || needs) && !warms;
    let state = |outcome: usize| match node.action {
        Action::Check(_) => made.outcomes.get(outcome).map(|f| f.state.clone()),
        _ => Some(if outcome == 0 { "right" } else { "not_right" }.to_owned()),
    };
    PlanStep {
        kind: made.kind,
        minutes: made.minutes,
        expected_total: setup.total(node.expected_total),
        night: setup.night(node.action, cold),
        waits_for_cold: needs && !cold,
        uses_up_cold: warms,
        branches: node
            .branches
            .iter()
            .map(|b| PlanBranch {
                state: state(b.outcome).unwrap_or_default(),
                chance: b.chance,
                then: b.then.as_ref().map(|then| step(setup, then, after)),
            })
            .collect(),
        id: made.id,
        cylinder: made.cylinder,
        repeat: made.repeat,
        hazards: made.hazards,
    }
}
