//! The plan as a tree: the best move, what may be found, and the best move then.
//!
//! Data for a printed plan; must not word anything.

use super::advice::Action;
use super::planner::Planner;
use super::situation::Situation;

/// The best move of a situation and what follows.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanNode {
    /// What to do.
    pub action: Action,
    /// Expected minutes from here to the end of the job.
    pub expected_total: f64,
    /// What may be found; empty for handing over and where the tree is cut off.
    pub branches: Vec<Branch>,
}

/// One finding of a move.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// For a check: index of its outcome. For a repair: 0 right, 1 not right.
    pub outcome: usize,
    /// Chance of it given the way here, 0 to 1.
    pub chance: f64,
    /// What to do then; `None` when the job is done or the tree is cut off here.
    pub then: Option<PlanNode>,
}

impl PlanNode {
    /// The plan from `situation`, `moves` moves deep (at least one).
    pub fn grow(planner: &Planner, situation: &Situation, moves: usize) -> PlanNode {
        PlanNode::grow_likely(planner, situation, moves, 0.0)
    }

    /// As [`PlanNode::grow`], cut off where the way there is less likely than `least`.
    pub fn grow_likely(
        planner: &Planner,
        situation: &Situation,
        moves: usize,
        least: f64,
    ) -> PlanNode {
        let advice = planner.advise(situation);
        let first = advice.moves.first();
        let first = first.map_or((Action::HandOver, 0.0), |m| (m.action, m.expected_total));
        PlanNode::grow_from(planner, situation, first, moves, least)
    }

    /// As [`PlanNode::grow_likely`], with the first move given, and its expected total.
    pub fn grow_from(
        planner: &Planner,
        situation: &Situation,
        (action, expected_total): (Action, f64),
        moves: usize,
        least: f64,
    ) -> PlanNode {
        let t = planner.tables();
        // What is least likely here is so much likelier once the finding is there.
        let deeper = |next: &Situation, chance: f64| {
            (moves > 1 && chance >= least)
                .then(|| PlanNode::grow_likely(planner, next, moves - 1, least / chance))
        };
        let mut branches = Vec::new();
        match action {
            Action::HandOver => {}
            Action::Repair(r) => {
                let (right, next) = situation.after_repair(t, r);
                branches.push(Branch {
                    outcome: 0,
                    chance: right,
                    then: None,
                });
                if let Some(next) = next {
                    let chance = 1.0 - right;
                    branches.push(Branch {
                        outcome: 1,
                        chance,
                        then: deeper(&next, chance),
                    });
                }
            }
            Action::Check(c) => {
                for outcome in 0..t.outcomes[c] {
                    if let Some((chance, next)) = situation.after_check(t, c, outcome) {
                        branches.push(Branch {
                            outcome,
                            chance,
                            then: deeper(&next, chance),
                        });
                    }
                }
            }
        }
        PlanNode {
            action,
            expected_total,
            branches,
        }
    }
}
