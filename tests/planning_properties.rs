//! What must hold for any test-and-repair problem, on random ones.
//!
//! The oracle is the exact solver, which `planning_enumeration` checks in turn against all
//! policies of tiny problems.

use hardstart::planning::{
    Action, Check, GeneratorLimits, Hypotheses, Leaf, ListedSize, Outcomes, Planner, Problem,
    Settings, Situation, Tables, choose_leaf, policy_cost, problem_from_json, problem_to_json,
    random_listed_problem, random_problem, solve_exact,
};
use rayon::prelude::*;
use serde_json::Value;

/// Situations allowed to the exact solver; the largest of the 200 needs half a million.
const LIMIT: usize = 2_000_000;
/// Rounding of sums over some thousand situations.
const ROUNDING: f64 = 1e-9;

fn tables(problem: &Problem) -> Tables {
    Tables::new(problem).expect("generated problems are sound")
}

fn optimum(problem: &Problem) -> f64 {
    let t = tables(problem);
    solve_exact(&t, &Situation::start(&t), LIMIT)
        .expect("small")
        .minutes
}

fn small(seed: u64) -> Problem {
    let limits = GeneratorLimits {
        faults: 4,
        checks: 3,
        ..GeneratorLimits::default()
    };
    random_problem(seed, &limits)
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= ROUNDING * a.abs().max(b.abs()).max(1.0)
}

/// A check whose rows are all alike.
fn useless(problem: &Problem, minutes: f64) -> Check {
    let chances = [0.3, 0.7].repeat(problem.hypothesis_count());
    Check {
        name: "useless".into(),
        minutes,
        access: vec![],
        closes: vec![],
        outcomes: Outcomes::Table {
            outcomes: 2,
            chances,
        },
        outcome_names: vec![],
        risk: vec![],
        max_times: 1,
        persist: 0.0,
        repeat_minutes: minutes,
    }
}

#[test]
fn following_the_planner_is_near_the_optimum_on_two_hundred_problems() {
    // The bars are the project's own: worst 1.05, mean 1.005.
    let ratios: Vec<f64> = (0..200u64)
        .into_par_iter()
        .map(|seed| {
            let problem = random_problem(seed, &GeneratorLimits::default());
            let t = tables(&problem);
            let start = Situation::start(&t);
            let best = solve_exact(&t, &start, LIMIT).expect("small").minutes;
            let settings = Settings::default();
            let (leaf, _) = choose_leaf(&t, &settings);
            let planner = Planner::new(&t, settings, leaf);
            let cost = policy_cost(&planner, &start, LIMIT).expect("small");
            assert!(
                cost >= best * (1.0 - ROUNDING),
                "{seed}: {cost} beats {best}"
            );
            assert!(cost <= 1.05 * best, "{seed}: {cost} for {best}");
            cost / best
        })
        .collect();
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    assert!(mean <= 1.005, "mean {mean}");
}

#[test]
fn knowing_the_fault_costs_least_and_acting_without_checks_most() {
    for seed in 0..60 {
        let problem = small(seed);
        let t = tables(&problem);
        let start = Situation::start(&t);
        let states = start.chances().len();
        let known: f64 = (0..states)
            .map(|s| {
                let mut alone = vec![0.0; states];
                alone[s] = 1.0;
                let given = start.with_weights(&alone).expect("weights are sound");
                let minutes = solve_exact(&t, &given, LIMIT).expect("small").minutes;
                start.chances()[s] * minutes
            })
            .sum();
        let (leaf, _) = choose_leaf(&t, &Settings::default());
        for leaf in [leaf, Leaf::RepairOnly] {
            let planner = Planner::new(&t, Settings::default(), leaf);
            let plan = policy_cost(&planner, &start, LIMIT).expect("small");
            let advice = planner.advise(&start);
            let (acting, promised) = (advice.act_now_total, advice.moves[0].expected_total);
            if leaf == Leaf::RepairOnly {
                assert!(
                    plan <= promised * (1.0 + ROUNDING),
                    "{seed}: {plan} > {promised}"
                );
            }
            assert!(known <= plan + ROUNDING, "{seed}: {known} > {plan}");
            assert!(
                plan <= acting * (1.0 + ROUNDING),
                "{seed} {leaf:?}: {plan} > {acting}"
            );
        }
    }
}

#[test]
fn costs_four_times_as_high_make_every_value_four_times_as_high() {
    // A power of two, so that not even rounding may differ.
    for seed in 0..40 {
        let problem = small(seed);
        let mut dear = problem.clone();
        for c in &mut dear.checks {
            c.minutes *= 4.0;
            c.repeat_minutes *= 4.0;
            c.risk.iter_mut().for_each(|r| *r *= 4.0);
        }
        dear.repairs.iter_mut().for_each(|r| r.minutes *= 4.0);
        dear.groups.iter_mut().for_each(|g| g.open_minutes *= 4.0);
        dear.verify_minutes *= 4.0;
        dear.hand_over_minutes *= 4.0;
        assert_eq!(optimum(&dear), 4.0 * optimum(&problem), "{seed}");
        let (t, d) = (tables(&problem), tables(&dear));
        let settings = Settings::default();
        let cheap = Planner::new(&t, settings.clone(), Leaf::RepairOnly);
        let dear = Planner::new(&d, settings, Leaf::RepairOnly);
        let (a, b) = (
            cheap.advise(&Situation::start(&t)),
            dear.advise(&Situation::start(&d)),
        );
        for (a, b) in a.moves.iter().zip(&b.moves) {
            assert_eq!(a.action, b.action, "{seed}");
            assert_eq!(4.0 * a.expected_total, b.expected_total, "{seed}");
        }
    }
}

#[test]
fn a_free_check_never_raises_the_optimum() {
    for seed in 0..40 {
        let problem = small(seed);
        let mut with = problem.clone();
        let other = small(seed + 1_000).checks.swap_remove(0);
        let mut free = useless(&problem, 0.0);
        if let (Outcomes::Table { outcomes, chances }, n) =
            (other.outcomes, problem.hypothesis_count())
        {
            let chances = chances.iter().copied().cycle().take(n * outcomes).collect();
            free.outcomes = Outcomes::Table { outcomes, chances };
        }
        with.checks.push(free);
        let (before, after) = (optimum(&problem), optimum(&with));
        assert!(
            after <= before * (1.0 + ROUNDING),
            "{seed}: {after} > {before}"
        );
    }
}

#[test]
fn a_useless_check_never_heads_the_list_even_when_it_is_free() {
    for seed in 0..60 {
        for minutes in [0.0, 5.0] {
            let mut problem = small(seed);
            problem.checks.insert(0, useless(&problem, minutes));
            let t = tables(&problem);
            let (leaf, _) = choose_leaf(&t, &Settings::default());
            for leaf in [leaf, Leaf::RepairOnly] {
                let planner = Planner::new(&t, Settings::default(), leaf);
                let advice = planner.advise(&Situation::start(&t));
                assert_ne!(advice.best(), Action::Check(0), "{seed} {minutes} {leaf:?}");
            }
        }
    }
}

#[test]
fn a_repeat_that_only_copies_is_worth_nothing() {
    let mut repeats = 0;
    for seed in 0..80 {
        let mut once = small(seed);
        let mut twice = once.clone();
        for (a, b) in once.checks.iter_mut().zip(&mut twice.checks) {
            a.max_times = 1;
            b.max_times = 2;
            b.persist = 1.0;
            b.repeat_minutes = 1.0;
            repeats += 1;
        }
        assert!(same(optimum(&once), optimum(&twice)), "{seed}");
        let t = tables(&twice);
        let planner = Planner::new(&t, Settings::default(), Leaf::RepairOnly);
        let start = Situation::start(&t);
        let (_, after) = start.after_check(&t, 0, 0).expect("possible");
        assert_ne!(planner.decide(&after), Action::Check(0), "{seed}");
    }
    assert!(repeats > 80, "some checks were tried");
}

#[test]
fn handing_over_at_no_cost_is_taken_at_once() {
    for seed in 0..40 {
        let mut problem = small(seed);
        problem.hand_over_minutes = 0.0;
        problem.checks.push(useless(&problem, 0.0));
        let t = tables(&problem);
        let planner = Planner::new(&t, Settings::default(), Leaf::RepairOnly);
        let advice = planner.advise(&Situation::start(&t));
        assert_eq!(advice.best(), Action::HandOver, "{seed}");
        assert!(advice.stop);
        assert_eq!(advice.moves[0].expected_total, 0.0);
        assert_eq!(optimum(&problem), 0.0, "{seed}");
    }
}

/// The same problem with everything in reverse order and other names.
fn reversed(problem: &Problem) -> Problem {
    let mut p = problem.clone();
    let groups = p.groups.len();
    let flip = |list: &mut Vec<usize>| list.iter_mut().for_each(|g| *g = groups - 1 - *g);
    p.faults.iter_mut().for_each(|f| f.name.push('\''));
    p.groups.reverse();
    for c in &mut p.checks {
        c.name.push('\'');
        flip(&mut c.access);
        c.risk.reverse();
        if let Outcomes::Table { outcomes, chances } = &mut c.outcomes {
            let rows: Vec<f64> = chances.chunks(*outcomes).rev().flatten().copied().collect();
            *chances = rows;
        }
    }
    for r in &mut p.repairs {
        flip(&mut r.access);
        r.fix.reverse();
    }
    if let Hypotheses::OneFault { weights } = &mut p.hypotheses {
        weights.reverse();
    }
    p.checks.reverse();
    p.repairs.reverse();
    p
}

#[test]
fn renaming_and_order_change_no_value() {
    let limits = GeneratorLimits {
        faults: 4,
        checks: 3,
        groups: 2,
        several: 0.0,
    };
    for seed in 0..60 {
        let problem = random_problem(seed, &limits);
        let other = reversed(&problem);
        assert!(same(optimum(&problem), optimum(&other)), "{seed}");
        let (t, u) = (tables(&problem), tables(&other));
        let a = Planner::new(&t, Settings::default(), Leaf::RepairOnly);
        let b = Planner::new(&u, Settings::default(), Leaf::RepairOnly);
        let (a, b) = (
            a.advise(&Situation::start(&t)),
            b.advise(&Situation::start(&u)),
        );
        assert!(same(a.act_now_total, b.act_now_total), "{seed}: acting");
        let (checks, repairs) = (problem.checks.len(), problem.repairs.len());
        for m in &a.moves {
            let there = match m.action {
                Action::HandOver => Action::HandOver,
                Action::Repair(r) => Action::Repair(repairs - 1 - r),
                Action::Check(c) => Action::Check(checks - 1 - c),
            };
            let n = b
                .moves
                .iter()
                .find(|n| n.action == there)
                .expect("the same moves");
            let (x, y) = (m.expected_total, n.expected_total);
            assert!(same(x, y), "{seed} {there:?}: {x} and {y}");
        }
    }
}

/// Equal but for the last bit of numbers, which the JSON reader may round differently.
fn alike(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (
                a.as_f64().unwrap_or(f64::NAN),
                b.as_f64().unwrap_or(f64::NAN),
            );
            (a - b).abs() <= f64::EPSILON * a.abs()
        }
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.0 == b.0 && alike(a.1, b.1))
        }
        _ => a == b,
    }
}

#[test]
fn problems_survive_writing_and_reading() {
    let size = ListedSize {
        faults: 6,
        pairs: 8,
        checks: 5,
    };
    let listed = (0..5).map(|seed| random_listed_problem(seed, &size));
    for problem in (0..60).map(small).chain(listed) {
        let text = problem_to_json(&problem);
        let read = problem_from_json(&text).expect("what was written can be read");
        let json = |text: &str| serde_json::from_str(text).expect("JSON");
        assert!(
            alike(&json(&text), &json(&problem_to_json(&read))),
            "{text}"
        );
        // Every field is in the text: problems that differ are written differently.
        let mut other = problem.clone();
        other.open_now = Vec::new();
        other.verify_access = Vec::new();
        assert_eq!(other == problem, problem_to_json(&other) == text);
    }
}

#[test]
fn a_problem_of_a_real_jobs_size_gets_advice_that_adds_up() {
    let size = ListedSize {
        faults: 40,
        pairs: 100,
        checks: 30,
    };
    let problem = random_listed_problem(1, &size);
    let t = tables(&problem);
    let start = Situation::start(&t);
    let planner = Planner::new(&t, Settings::default(), Leaf::RepairOnly);
    let advice = planner.advise(&start);
    assert_eq!(advice, planner.advise(&start), "the same answer twice");
    assert_eq!(advice.moves.len(), 30 + 40 + 1);
    assert!(advice.moves[0].expected_total <= advice.act_now_total);
    for m in &advice.moves {
        let chance: f64 = m.outcomes.iter().map(|o| o.chance).sum();
        assert!(
            m.action == Action::HandOver || same(chance, 1.0),
            "{:?}",
            m.action
        );
        assert!(
            m.expected_total >= m.minutes + m.risk - ROUNDING,
            "{:?}",
            m.action
        );
        assert!(same(m.saves, advice.act_now_total - m.expected_total));
    }
}
