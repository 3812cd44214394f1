//! The noisy-or of the textbooks, through our folds. Must not hold other models.

use super::check::Check;
use crate::network::{
    Contribution, Fold, Lane, Network, Program, Request, Role, Seen, Slot, Step, VarId, Variable,
};

/// Causes of fever and the chance that each fails to cause it.
const INHIBITED: [(&str, f64); 3] = [("cold", 0.6), ("flu", 0.2), ("malaria", 0.1)];

/// P(fever), the causes counted in binary, malaria last; printed to three places.
const FEVER: [f64; 8] = [0.0, 0.9, 0.8, 0.98, 0.4, 0.94, 0.88, 0.988];

const SOURCE: &str = "Russell & Norvig, Artificial Intelligence, chapter 14, after Pearl 1988";

/// The whole printed table.
pub(super) fn checks() -> Vec<Check> {
    FEVER
        .iter()
        .enumerate()
        .map(|(joint, expected)| {
            let present = INHIBITED
                .iter()
                .enumerate()
                .filter(|(n, _)| on(joint, *n))
                .map(|(_, (name, _))| *name)
                .collect::<Vec<_>>();
            let given = if present.is_empty() {
                "no cause".to_owned()
            } else {
                present.join(" ")
            };
            Check {
                name: format!("noisy-or: fever given {given}"),
                source: SOURCE,
                expected: *expected,
                within: 5e-4,
                found: fever(joint).unwrap_or(f64::NAN),
            }
        })
        .collect()
}

fn on(joint: usize, cause: usize) -> bool {
    joint >> (INHIBITED.len() - 1 - cause) & 1 == 1
}

fn fever(joint: usize) -> Option<f64> {
    let mut network = Network::new();
    let variable = |name: &str, local| Variable {
        name: name.to_owned(),
        states: vec!["no".to_owned(), "yes".to_owned()],
        role: Role::Part,
        local,
    };
    let mut from = Vec::new();
    for (name, inhibited) in INHIBITED {
        let local = Fold::table(Vec::new(), vec![0.5, 0.5]);
        let parent: VarId = network.add(variable(name, local)).ok()?;
        from.push(Contribution {
            parent,
            rows: vec![1.0, 0.0, inhibited, 1.0 - inhibited],
        });
    }
    let local = Fold {
        drivers: Vec::new(),
        init: vec![1.0, 0.0],
        step: Step::Worst,
        from,
    };
    let fever = network.add(variable("fever", local)).ok()?;
    let slots = (0..INHIBITED.len())
        .map(|n| Slot {
            scope: vec![VarId(u32::try_from(n).unwrap_or(0))],
            seen: Seen::Hard(usize::from(on(joint, n))),
        })
        .collect();
    let request = Request {
        slots,
        queries: vec![vec![fever]],
        restarts: 0,
    };
    let program = Program::compile(&network, &request).ok()?;
    let bound = program.bind(&network.figures()).ok()?;
    let answer = program.run(&bound, &[Lane::default()]).pop()?.ok()?;
    answer.chances.first()?.get(1).copied()
}
