//! The next move of a job.
//!
//! Expected minutes to a repair proven by a cold start, over checks, repairs and handing over.
//! Must not word anything.

use super::answer::{ColdState, Found, Hidden, MoveKind, Next, NextMove};
use super::checks::{Offered, cold_name, needs_cold, predicted};
use super::cold::is_cold;
use super::repairs::Mending;
use super::setup::{NextError, Setup, preheats, with_setup};
use super::split::split;
use crate::evidence::Evidence;
use crate::job::{Job, JobState, state};
use crate::knowledge::Knowledge;
use crate::planning::{Action, Advice, Leaf, Move, Planner, Settings, Situation, Tables};

/// Chance of one kind of engine above which nobody need be asked what is fitted.
const KIND_KNOWN: f64 = 0.95;
/// Share of the least total within which checks are level: about what the lookahead misses of the
/// optimum on single problems (`tests/planning_properties.rs`).
const LEVEL: f64 = 0.01;
/// Share of the least total a move may cost more that comes next whatever the first one shows. Own
/// judgement: the minutes are no better known than that.
const NEXT_ANYWAY: f64 = 0.04;
/// Share of the least total a move may cost more that can be done today where the best one waits a
/// night. Own judgement: no mechanic puts the plug in hand away for a night to look at a filter.
const TODAY: f64 = 0.04;
/// Chance below which a check seldom changes what is done first; own judgement.
const SELDOM: f64 = 0.05;
/// Minutes to look what is fitted; own judgement.
const ASK_MINUTES: f64 = 1.0;

/// The state of a job on which nothing remains to be done: proven, handed back, left as it is.
pub(super) fn over(knowledge: &Knowledge, job: &Job) -> Option<JobState> {
    let state = state(job, knowledge);
    let over = [
        JobState::DoneProven,
        JobState::DoneNotProven,
        JobState::LeftAsIs,
    ];
    over.contains(&state).then_some(state)
}

/// What to do next on a job.
///
/// # Errors
/// When the network is too wide or nothing explains what was seen.
pub fn next(knowledge: &Knowledge, job: &Job, evidence: &Evidence) -> Result<Next, NextError> {
    if let Some(state) = over(knowledge, job) {
        return Ok(Next {
            stop: true,
            over: Some(state),
            settle_first: false,
            moves: Vec::new(),
            hidden: Vec::new(),
            cold: ColdState {
                cold: is_cold(knowledge, job),
                worth_keeping: false,
            },
            wants_checks: Vec::new(),
        });
    }
    with_setup(knowledge, job, evidence, |setup| {
        let ask = setup.share < KIND_KNOWN && evidence.cases.len() > 1 && preheats(evidence) > 1;
        advise(setup, ask)
    })
}

/// Position of the move that comes first.
///
/// A check that leads to one and the same other move whatever it shows decides nothing yet: that
/// other one comes first, and this one when its turn comes. Of checks that are level with the best,
/// the one likeliest to change what is done next leads: two checks that are both to be done cost
/// the same in either order but for what the lookahead leaves out. What `waits` a night for a cold
/// engine and seldom changes anything comes behind what can be done today and is hardly dearer.
pub(super) fn lead(advice: &Advice, waits: impl Fn(Action) -> bool) -> usize {
    let is_check = |m: &Move| matches!(m.action, Action::Check(_));
    let can_wait = |m: &Move| waits(m.action) && m.changes_next < SELDOM;
    let first = today(advice, can_wait).unwrap_or(0);
    let Some(best) = advice.moves.get(first).filter(|m| is_check(m)) else {
        return first;
    };
    if let Some(at) = next_anyway(advice, best)
        && !can_wait(&advice.moves[at])
    {
        return at;
    }
    let level = |m: &&Move| {
        let near = m.expected_total <= best.expected_total * (1.0 + LEVEL);
        is_check(m) && near && !can_wait(m)
    };
    let likest = advice.moves.iter().filter(level).map(|m| m.changes_next);
    let likest = likest.fold(0.0, f64::max);
    let leads = |m: &Move| level(&m) && m.changes_next >= likest;
    advice.moves.iter().position(leads).unwrap_or(first)
}

/// Where the best move can wait: the first that can be done today.
fn today(advice: &Advice, can_wait: impl Fn(&Move) -> bool) -> Option<usize> {
    let best = advice.moves.first().filter(|m| can_wait(m))?;
    let most = best.expected_total * (1.0 + TODAY);
    let here = |m: &Move| m.action != Action::HandOver && !can_wait(m) && m.expected_total <= most;
    advice.moves.iter().position(here)
}

/// The move that follows the best check whatever that shows.
fn next_anyway(advice: &Advice, best: &Move) -> Option<usize> {
    let mut then = best.outcomes.iter().map(|o| o.leads_to);
    let first = then.next()??;
    if first == Action::HandOver || then.any(|t| t != Some(first)) {
        return None;
    }
    let most = best.expected_total * (1.0 + NEXT_ANYWAY);
    let here = |m: &Move| m.action == first && m.expected_total <= most;
    advice.moves.iter().position(here)
}

fn advise(setup: &Setup<'_>, ask: bool) -> Result<Next, NextError> {
    let tables = Tables::new(&setup.problem)?;
    let planner = Planner::new(&tables, Settings::default(), Leaf::default());
    let mut advice = planner.advise(&Situation::start(&tables));
    let first = advice.moves.remove(lead(&advice, |a| setup.waits(a)));
    advice.moves.insert(0, first);
    let mut moves = Vec::new();
    for m in &advice.moves {
        let mut made = describe(setup, m.action);
        made.expected_total = setup.total(m.expected_total);
        made.night = setup.night(m.action, setup.cold);
        made.saves = m.saves;
        made.changes_next = m.changes_next;
        made.risk = m.risk;
        made.tied = m.tied;
        let mut led = Vec::new();
        for found in &m.outcomes {
            led.push((found.outcome, found.leads_to));
        }
        for (outcome, leads) in led {
            if let Some(found) = made.outcomes.get_mut(outcome) {
                found.leads_to = leads.map(|a| setup.name(a));
            }
        }
        moves.push(made);
    }
    if let (Some(Action::Check(i)), Some(made)) =
        (advice.moves.first().map(|m| m.action), moves.first_mut())
    {
        made.split = split(setup.bench.hypotheses, &setup.offered[i]);
    }
    let settle = moves.iter().position(|m| m.repeat.is_some());
    let settle = settle.filter(|_| setup.clash);
    if let Some(at) = settle {
        let first = moves.remove(at);
        moves.insert(0, first);
    }
    if ask {
        let mut ask = plain(MoveKind::Ask, "what_preheat_is_fitted");
        ask.minutes = ASK_MINUTES;
        ask.expected_total = moves.first().map_or(0.0, |m| m.expected_total);
        moves.insert(0, ask);
    }
    let worth = setup.offered.iter().any(|o| needs_cold(o.check));
    Ok(Next {
        stop: advice.stop && settle.is_none(),
        over: None,
        settle_first: settle.is_some(),
        wants_checks: setup
            .mendings
            .iter()
            .filter(|m| m.repair.wants_checks > 0)
            .map(|m| (m.repair.id.get_ref().clone(), m.repair.wants_checks))
            .collect(),
        moves,
        hidden: setup
            .hidden
            .iter()
            .filter(|h| told_of(h))
            .cloned()
            .collect(),
        cold: ColdState {
            cold: setup.cold,
            worth_keeping: setup.cold && worth,
        },
    })
}

/// What this engine does not have is no news.
fn told_of(hidden: &Hidden) -> bool {
    hidden.why != "not_on_engine"
}

/// A move with all that does not depend on the search.
pub(super) fn describe(setup: &Setup<'_>, action: Action) -> NextMove {
    let knowledge = setup.bench.knowledge;
    match action {
        Action::HandOver => plain(MoveKind::HandOver, "hand_over"),
        Action::Repair(i) => mend(knowledge, &setup.mendings[i]),
        Action::Check(i) => check(
            knowledge,
            &setup.offered[i],
            &setup.bench.hypotheses.weights,
        ),
    }
}

fn plain(kind: MoveKind, id: &str) -> NextMove {
    NextMove {
        kind,
        id: id.to_owned(),
        cylinder: None,
        repeat: None,
        minutes: 0.0,
        access: Vec::new(),
        cold: "keeps",
        expected_total: 0.0,
        night: None,
        saves: 0.0,
        changes_next: 0.0,
        risk: 0.0,
        outcomes: Vec::new(),
        split: None,
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
        cylinder: offered.cylinder,
        repeat: offered.repeat,
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
