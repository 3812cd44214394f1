//! Random test-and-repair problems from a seed, for tests and for judging settings.
//!
//! Must stay stable: the same seed and limits give the same problem.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::problem::{Check, Fault, Group, Hypotheses, Outcomes, Problem, Repair};

/// How large a random problem may get.
#[derive(Debug, Clone, PartialEq)]
pub struct GeneratorLimits {
    /// Most faults, at least 2.
    pub faults: usize,
    /// Most checks.
    pub checks: usize,
    /// Most access groups.
    pub groups: usize,
    /// Chance that any set of faults may be present rather than exactly one (at most four
    /// faults and four checks then, for the sake of the exact solver).
    pub several: f64,
}

impl Default for GeneratorLimits {
    fn default() -> Self {
        GeneratorLimits {
            faults: 6,
            checks: 6,
            groups: 2,
            several: 0.2,
        }
    }
}

/// A random problem: groups that stay open or not, imperfect and overlapping repairs,
/// repeats with persistence, risk, three-outcome checks, with or without hand-over. Costs
/// are of the order of a workshop's minutes (own judgement).
pub fn random_problem(seed: u64, limits: &GeneratorLimits) -> Problem {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let rng = &mut rng;
    let several = rng.random_bool(limits.several);
    let most = if several {
        limits.faults.min(4)
    } else {
        limits.faults
    };
    let n = rng.random_range(2..=most.max(2));
    let groups: Vec<Group> = (0..rng.random_range(0..=limits.groups))
        .map(|g| Group {
            name: format!("group {g}"),
            open_minutes: whole(rng, 10, 60),
            stays_open: rng.random_bool(0.6),
        })
        .collect();
    let hypotheses = if several {
        Hypotheses::AnyFaults {
            chances: (0..n).map(|_| rng.random_range(0.03..0.4)).collect(),
        }
    } else {
        let raw: Vec<f64> = (0..n).map(|_| rng.random_range(0.05..1.0)).collect();
        let sum: f64 = raw.iter().sum();
        Hypotheses::OneFault {
            weights: raw.iter().map(|w| w / sum).collect(),
        }
    };
    let rows = if several { (1 << n) - 1 } else { n };
    let most = if several {
        limits.checks.min(4)
    } else {
        limits.checks
    };
    let checks = (0..rng.random_range(1..=most.max(1)))
        .map(|c| check(rng, c, n, rows, several, groups.len()))
        .collect();
    let mut repairs: Vec<Repair> = (0..n)
        .map(|f| {
            let sure = rng.random_bool(0.6);
            let mut fix = vec![0.0; n];
            fix[f] = if sure {
                1.0
            } else {
                rng.random_range(0.5..0.95)
            };
            repair(rng, f, fix, groups.len())
        })
        .collect();
    if rng.random_bool(0.3) {
        // One dear repair that removes several faults, as an exchange unit does.
        let fix = (0..n)
            .map(|_| if rng.random_bool(0.6) { 1.0 } else { 0.0 })
            .collect();
        let mut unit = repair(rng, n, fix, groups.len());
        unit.minutes += 60.0;
        repairs.push(unit);
    }
    Problem {
        faults: (0..n)
            .map(|f| Fault {
                name: format!("fault {f}"),
            })
            .collect(),
        hypotheses,
        checks,
        repairs,
        groups,
        verify_minutes: whole(rng, 0, 10),
        verify_access: Vec::new(),
        open_now: Vec::new(),
        hand_over_minutes: if rng.random_bool(0.5) {
            whole(rng, 80, 400)
        } else {
            1_000.0
        },
    }
}

fn check(
    rng: &mut impl Rng,
    c: usize,
    faults: usize,
    rows: usize,
    several: bool,
    groups: usize,
) -> Check {
    let outcomes = if several {
        let mut link: Vec<f64> = vec![0.0; faults];
        for l in &mut link {
            if rng.random_bool(0.5) {
                *l = rng.random_range(0.5..0.98);
            }
        }
        Outcomes::NoisyOr {
            leak: rng.random_range(0.0..0.1),
            link,
        }
    } else {
        let kinds = if rng.random_bool(0.25) { 3 } else { 2 };
        let sharp = rng.random_range(0.6..0.98);
        let mut chances = Vec::with_capacity(rows * kinds);
        for _ in 0..rows {
            let shown = rng.random_range(0..kinds);
            let other = (1.0 - sharp) / (kinds - 1) as f64;
            chances.extend((0..kinds).map(|o| if o == shown { sharp } else { other }));
        }
        Outcomes::Table {
            outcomes: kinds,
            chances,
        }
    };
    let minutes = whole(rng, 2, 30);
    let repeats = !several && rng.random_bool(0.2);
    let risky = rng.random_bool(0.15);
    Check {
        name: format!("check {c}"),
        minutes,
        access: access(rng, groups),
        closes: Vec::new(),
        outcomes,
        outcome_names: Vec::new(),
        risk: if risky {
            (0..rows).map(|_| rng.random_range(0.0..10.0)).collect()
        } else {
            vec![]
        },
        max_times: if repeats { 2 } else { 1 },
        persist: if repeats {
            rng.random_range(0.0..0.9)
        } else {
            0.0
        },
        repeat_minutes: if repeats {
            (minutes / 2.0).ceil()
        } else {
            minutes
        },
    }
}

fn repair(rng: &mut impl Rng, r: usize, fix: Vec<f64>, groups: usize) -> Repair {
    Repair {
        name: format!("repair {r}"),
        minutes: whole(rng, 5, 120),
        access: access(rng, groups),
        fix,
    }
}

fn access(rng: &mut impl Rng, groups: usize) -> Vec<usize> {
    if groups > 0 && rng.random_bool(0.5) {
        vec![rng.random_range(0..groups)]
    } else {
        Vec::new()
    }
}

fn whole(rng: &mut impl Rng, low: u32, high: u32) -> f64 {
    f64::from(rng.random_range(low..=high))
}
