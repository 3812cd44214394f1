//! Random problems of the size and shape of a real job, from a seed: listed hypotheses
//! (nothing wrong, single faults, pairs, something not listed), checks of two to six
//! outcomes, nested covers, a soak that some checks use up.
//!
//! Too large to solve exactly; for timing, and for properties that hold at any size. Must
//! stay stable: the same seed and size give the same problem.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::problem::{Check, Fault, Group, Hypotheses, Hypothesis, Outcomes, Problem, Repair};

/// How large the problem is.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedSize {
    /// Listed faults, at least 2; one more stands for something not listed.
    pub faults: usize,
    /// Pairs of faults among the hypotheses.
    pub pairs: usize,
    /// Checks.
    pub checks: usize,
}

/// Share of hypotheses that a check tells apart from the rest (own judgement).
const SHOWN: f64 = 0.15;

/// A random problem with `1 + faults + 1 + pairs` hypotheses and `faults` repairs.
pub fn random_listed_problem(seed: u64, size: &ListedSize) -> Problem {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let rng = &mut rng;
    let n = size.faults.max(2);
    let mut list = vec![Hypothesis {
        faults: vec![],
        weight: 0.02,
    }];
    // Squaring makes a few common faults and a long tail.
    list.extend((0..=n).map(|f| Hypothesis {
        faults: vec![f],
        weight: rng.random_range(0.05f64..1.0).powi(2),
    }));
    let all: Vec<(usize, usize)> = (0..n)
        .flat_map(|a| (a + 1..n).map(move |b| (a, b)))
        .collect();
    let step = (all.len() / size.pairs.max(1)).max(1);
    for &(a, b) in all.iter().step_by(step).take(size.pairs) {
        let weight = list[a + 1].weight * list[b + 1].weight * 0.1;
        list.push(Hypothesis {
            faults: vec![a, b],
            weight,
        });
    }
    let group = |name: &str, open_minutes, stays_open| Group {
        name: name.to_owned(),
        open_minutes,
        stays_open,
    };
    let groups = vec![
        group("cold", 120.0, false),
        group("cover", 25.0, true),
        group("plugs out", 40.0, false),
        group("under the truck", 15.0, true),
    ];
    let checks = (0..size.checks).map(|c| check(rng, c, n, &list)).collect();
    let repairs = (0..n)
        .map(|f| {
            let mut fix = vec![0.0; n + 1];
            fix[f] = if rng.random_bool(0.5) {
                1.0
            } else {
                rng.random_range(0.6..0.97)
            };
            if rng.random_bool(0.2) {
                fix[rng.random_range(0..n)] = 0.9;
            }
            let minutes = f64::from(rng.random_range(5..150));
            Repair {
                name: format!("repair {f}"),
                minutes,
                access: access(rng, false),
                fix,
            }
        })
        .collect();
    Problem {
        faults: (0..=n)
            .map(|f| Fault {
                name: format!("fault {f}"),
            })
            .collect(),
        hypotheses: Hypotheses::Listed(list),
        checks,
        repairs,
        groups,
        verify_minutes: 5.0,
        verify_access: vec![0],
        open_now: vec![0],
        hand_over_minutes: 900.0,
    }
}

fn check(rng: &mut impl Rng, c: usize, faults: usize, list: &[Hypothesis]) -> Check {
    let outcomes = rng.random_range(2..=6);
    let sharp = rng.random_range(0.7..0.97);
    // Which outcome each fault pulls towards; outcome 0 is "normal".
    let pull: Vec<usize> = (0..=faults)
        .map(|_| {
            if rng.random_bool(SHOWN) {
                rng.random_range(1..outcomes)
            } else {
                0
            }
        })
        .collect();
    let rest = (1.0 - sharp) / (outcomes - 1) as f64;
    let row = |h: &Hypothesis| {
        let shown = h.faults.iter().map(|&f| pull[f]).max().unwrap_or(0);
        (0..outcomes).map(move |o| if o == shown { sharp } else { rest })
    };
    let minutes = f64::from(rng.random_range(1..40));
    let warms = rng.random_bool(0.1);
    let mut access = access(rng, true);
    if warms || rng.random_bool(0.1) {
        access.insert(0, 0);
    }
    Check {
        name: format!("check {c}"),
        minutes,
        access,
        closes: if warms { vec![0] } else { vec![] },
        outcomes: Outcomes::Table {
            outcomes,
            chances: list.iter().flat_map(row).collect(),
        },
        outcome_names: Vec::new(),
        risk: Vec::new(),
        max_times: 1,
        persist: 0.0,
        repeat_minutes: minutes,
    }
}

fn access(rng: &mut impl Rng, nested: bool) -> Vec<usize> {
    match rng.random_range(0..6) {
        0 => vec![1],
        1 if nested => vec![1, 2],
        1 => vec![2],
        2 => vec![3],
        _ => vec![],
    }
}
