//! A stated problem solved, for people: the moves in order of what they cost in the end.
//!
//! Must not solve.

use super::page::{Layout, Page};
use crate::planning::{Policy, Problem, move_id};

/// The page.
#[must_use]
pub fn policy(policy: &Policy, problem: &Problem, layout: Layout) -> String {
    let mut page = Page::new(layout);
    page.say(&format!(
        "Following the planner to the end costs {:.2} on average.",
        policy.policy_cost
    ));
    page.say(&match policy.optimum {
        Some(least) => format!("No plan costs less than {least:.2} on average."),
        None => "The least of all plans is too much to work out exactly.".to_owned(),
    });
    page.gap();
    page.say("First move, and what it comes to in the end");
    for (action, total) in &policy.moves {
        page.hang(&format!("{total:>12.2}  "), &move_id(problem, *action));
    }
    page.finish()
}
