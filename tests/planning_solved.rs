//! The planner against nineteen small problems with a known optimum.
//!
//! Optima of `data/planning_examples.json` are exact: dynamic programming, checked by a
//! second recursive solver, both outside this crate. Nothing here is a published figure.

use hardstart::planning::{
    Action, Planner, Problem, Settings, Situation, Tables, choose_leaf, policy_cost,
    problem_from_json, problem_to_json, solve_exact,
};
use serde_json::Value;

/// Half a unit of the last of the four decimals the file gives.
const PRINTED: f64 = 0.5e-4;
/// Situations allowed to the exact solver; the largest case needs a few thousand.
const LIMIT: usize = 200_000;

struct Case {
    id: String,
    problem: Problem,
    file: Value,
}

fn cases() -> Vec<Case> {
    let text = include_str!("../data/planning_examples.json");
    let file: Value = serde_json::from_str(text).expect("the file is JSON");
    let cases = file["cases"].as_array().expect("cases is a list");
    let read = |c: &Value| {
        let id = c["id"].as_str().expect("every case has an id").to_owned();
        let problem = problem_from_json(&c["instance"].to_string())
            .unwrap_or_else(|e| panic!("{id} should be readable: {e}"));
        Case {
            id,
            problem,
            file: c.clone(),
        }
    };
    cases.iter().map(read).collect()
}

fn name(problem: &Problem, action: Action) -> String {
    match action {
        Action::HandOver => "call".into(),
        Action::Repair(r) => format!("repair:{}", problem.repairs[r].name),
        Action::Check(c) => format!("test:{}", problem.checks[c].name),
    }
}

#[test]
fn there_are_nineteen_cases() {
    assert_eq!(cases().len(), 19);
}

#[test]
fn the_exact_solver_finds_the_known_optimum_and_the_value_of_every_first_move() {
    for case in cases() {
        let tables = Tables::new(&case.problem).expect("the case is sound");
        let solved = solve_exact(&tables, &Situation::start(&tables), LIMIT).expect("small");
        let optimum = case.file["optimal_cost"].as_f64().expect("a number");
        assert!(
            (solved.minutes - optimum).abs() <= PRINTED,
            "{}: {} for {optimum}",
            case.id,
            solved.minutes
        );
        let expected = case.file["root_q_optimal"].as_object().expect("an object");
        assert_eq!(
            solved.first_moves.len(),
            expected.len(),
            "{}: moves",
            case.id
        );
        for (action, minutes) in solved.first_moves {
            let name = name(&case.problem, action);
            let known = expected[&name].as_f64().expect("a number");
            assert!(
                (minutes - known).abs() <= PRINTED,
                "{} {name}: {minutes} for {known}",
                case.id
            );
        }
    }
}

#[test]
fn following_the_planner_costs_no_more_than_five_percent_over_the_optimum() {
    // The bars are the project's own: worst 1.05, mean 1.005.
    let mut ratios = Vec::new();
    for case in cases() {
        let tables = Tables::new(&case.problem).expect("the case is sound");
        let start = Situation::start(&tables);
        let optimum = solve_exact(&tables, &start, LIMIT).expect("small").minutes;
        let settings = Settings::default();
        let (leaf, _) = choose_leaf(&tables, &settings);
        let planner = Planner::new(&tables, settings, leaf);
        let cost = policy_cost(&planner, &start, LIMIT).expect("small");
        assert!(
            cost >= optimum * (1.0 - 1e-12),
            "{}: {cost} beats {optimum}",
            case.id
        );
        assert!(cost <= 1.05 * optimum, "{}: {cost} for {optimum}", case.id);
        ratios.push(cost / optimum);
    }
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    assert!(mean <= 1.005, "mean {mean}: {ratios:?}");
}

#[test]
fn the_planner_starts_with_an_optimal_move_where_the_file_names_them() {
    for case in cases() {
        let Some(first) = case.file["optimal_first_actions"].as_array() else {
            continue;
        };
        let tables = Tables::new(&case.problem).expect("the case is sound");
        let settings = Settings::default();
        let (leaf, _) = choose_leaf(&tables, &settings);
        let advice = Planner::new(&tables, settings, leaf).advise(&Situation::start(&tables));
        let best = name(&case.problem, advice.best());
        assert!(
            first.iter().any(|f| f == &best),
            "{}: {best}, not {first:?}",
            case.id
        );
        assert_eq!(advice.stop, !best.starts_with("test:"), "{}: stop", case.id);
    }
}

#[test]
fn a_case_written_and_read_again_is_the_same_problem() {
    for case in cases() {
        let text = problem_to_json(&case.problem);
        assert_eq!(
            problem_from_json(&text).as_ref(),
            Ok(&case.problem),
            "{}",
            case.id
        );
    }
}
