//! The planner and the exact solver on decision problems from the literature.
//!
//! `published_…`: the numbers themselves stand in the source named, or are recalled from it
//! and were recomputed. `constructed_…`: the rule is published, the numbers are made up
//! here and the expected values are exact sums over all orders.
//!
//! A payoff problem "act or leave it" becomes a test-and-repair problem so: leaving it is
//! handing over at cost `K`; acting costs `c` and, with chance `gain / K`, spares the `K`.
//! Expected payoff = (payoff of leaving it) + K - expected minutes.

use hardstart::planning::{
    Action, Check, Fault, Hypotheses, Leaf, Outcomes, Planner, Problem, Repair, Settings,
    Situation, Tables, policy_cost, solve_exact,
};

const LIMIT: usize = 100_000;
/// Sums of a few products of decimals.
const EXACT: f64 = 1e-9;

fn check(minutes: f64, outcomes: usize, chances: &[f64]) -> Check {
    Check {
        name: "test".into(),
        minutes,
        access: vec![],
        closes: vec![],
        outcomes: Outcomes::Table {
            outcomes,
            chances: chances.to_vec(),
        },
        outcome_names: vec![],
        risk: vec![],
        max_times: 1,
        persist: 0.0,
        repeat_minutes: minutes,
    }
}

/// `repairs`: minutes, and the chance of removing each fault.
fn problem(weights: &[f64], checks: Vec<Check>, repairs: &[(f64, Vec<f64>)], call: f64) -> Problem {
    let name = |i: usize| format!("{i}");
    Problem {
        faults: (0..weights.len())
            .map(|i| Fault { name: name(i) })
            .collect(),
        hypotheses: Hypotheses::OneFault {
            weights: weights.to_vec(),
        },
        checks,
        repairs: (repairs.iter().enumerate())
            .map(|(i, (minutes, fix))| Repair {
                name: name(i),
                minutes: *minutes,
                access: vec![],
                fix: fix.clone(),
            })
            .collect(),
        groups: vec![],
        verify_minutes: 0.0,
        verify_access: vec![],
        open_now: vec![],
        hand_over_minutes: call,
    }
}

fn optimum(problem: &Problem) -> f64 {
    let tables = Tables::new(problem).expect("a sound problem");
    solve_exact(&tables, &Situation::start(&tables), LIMIT)
        .expect("small")
        .minutes
}

fn followed(problem: &Problem) -> f64 {
    let tables = Tables::new(problem).expect("a sound problem");
    let planner = Planner::new(&tables, Settings::default(), Leaf::RepairOnly);
    policy_cost(&planner, &Situation::start(&tables), LIMIT).expect("small")
}

/// Raiffa 1968, the oil wildcatter: dry, wet, soaking .5 .3 .2; gross 0, 120, 270 less 70
/// for drilling; seismic test none, open, closed.
const WILDCATTER: [f64; 9] = [0.6, 0.3, 0.1, 0.3, 0.4, 0.3, 0.1, 0.4, 0.5];

fn wildcatter(checks: Vec<Check>) -> Problem {
    let drill = (70.0, vec![0.0, 120.0 / 270.0, 1.0]);
    problem(&[0.5, 0.3, 0.2], checks, &[drill], 270.0)
}

#[test]
fn published_wildcatter_value_of_sample_and_of_perfect_information() {
    // Inputs seen in print, answers recalled and recomputed: drill at once 20, EVSI 12.5,
    // net of the test's cost 22.5, EVPI 35.
    let at_once = optimum(&wildcatter(vec![]));
    assert!((270.0 - at_once - 20.0).abs() < EXACT, "{at_once}");
    let free = optimum(&wildcatter(vec![check(0.0, 3, &WILDCATTER)]));
    assert!(
        (at_once - free - 12.5).abs() < EXACT,
        "EVSI {}",
        at_once - free
    );
    let paid = wildcatter(vec![check(10.0, 3, &WILDCATTER)]);
    assert!((270.0 - optimum(&paid) - 22.5).abs() < EXACT);
    assert!(
        (270.0 - followed(&paid) - 22.5).abs() < EXACT,
        "the planner finds it too"
    );
    let sees_all = check(0.0, 3, &[1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0]);
    let perfect = optimum(&wildcatter(vec![sees_all]));
    assert!(
        (at_once - perfect - 35.0).abs() < EXACT,
        "EVPI {}",
        at_once - perfect
    );
}

#[test]
fn published_wildcatter_advice_after_each_result() {
    // P(result) .41 .35 .24; drill on open and closed only; E(drill | result) -30.4878,
    // 32.857143, 87.5 (recalled and recomputed).
    let problem = wildcatter(vec![check(10.0, 3, &WILDCATTER)]);
    let tables = Tables::new(&problem).expect("a sound problem");
    let start = Situation::start(&tables);
    let planner = Planner::new(&tables, Settings::default(), Leaf::RepairOnly);
    let advice = planner.advise(&start);
    assert_eq!(advice.best(), Action::Check(0));
    assert!(!advice.stop);
    assert!(
        (advice.moves[0].saves - 2.5).abs() < EXACT,
        "12.5 less the cost of 10"
    );
    let found: Vec<_> = advice.moves[0]
        .outcomes
        .iter()
        .map(|o| (o.chance, o.leads_to))
        .collect();
    let drill = Some(Action::Repair(0));
    let expected = [(0.41, Some(Action::HandOver)), (0.35, drill), (0.24, drill)];
    for (o, (found, expected)) in found.iter().zip(expected).enumerate() {
        assert!((found.0 - expected.0).abs() < EXACT, "chance of {o}");
        assert_eq!(found.1, expected.1, "after {o}");
    }
    assert!(
        (advice.moves[0].changes_next - 0.41).abs() < EXACT,
        "only the first changes it"
    );
    for (o, drilling) in [(0, -30.4878), (1, 32.857143), (2, 87.5)] {
        let (_, after) = start.after_check(&tables, 0, o).expect("possible");
        let solved = solve_exact(&tables, &after, LIMIT).expect("small");
        let drill = solved.first_moves.iter().find(|m| m.0 == Action::Repair(0));
        let payoff = 270.0 - drill.expect("drilling is possible").1;
        assert!((payoff - drilling).abs() < 0.5e-4, "{o}: {payoff}");
    }
}

#[test]
fn published_drill_or_sell() {
    // Hillier & Lieberman style exercise, numbers seen in print: P(oil) .25; drill 700 or
    // -100, sell 90; test 30, right .6 and .8. Without test 100, with test 123, P(fav) .3,
    // P(oil given fav) .5.
    let repairs = [(190.0, vec![1.0, 0.0])];
    let test = check(30.0, 2, &[0.6, 0.4, 0.2, 0.8]);
    let alone = problem(&[0.25, 0.75], vec![], &repairs, 800.0);
    let tested = problem(&[0.25, 0.75], vec![test], &repairs, 800.0);
    assert!((890.0 - optimum(&alone) - 100.0).abs() < EXACT);
    assert!((890.0 - optimum(&tested) - 123.0).abs() < EXACT);
    assert!((890.0 - followed(&tested) - 123.0).abs() < EXACT);
    let tables = Tables::new(&tested).expect("a sound problem");
    let after = Situation::start(&tables)
        .after_check(&tables, 0, 0)
        .expect("possible");
    assert!((after.0 - 0.3).abs() < EXACT);
    assert!((after.1.chances()[0] - 0.5).abs() < EXACT);
}

/// Jobs of length `t` and weight `w`: one fault of chance `w / sum` a job, repaired in `t`.
/// The weighted completion time is `sum` times the expected minutes.
fn jobs(list: &[(f64, f64)]) -> (Problem, f64) {
    let sum: f64 = list.iter().map(|j| j.1).sum();
    let weights: Vec<f64> = list.iter().map(|j| j.1 / sum).collect();
    let fix = |i: usize| {
        (0..list.len())
            .map(|f| if f == i { 1.0 } else { 0.0 })
            .collect()
    };
    let repairs: Vec<_> = list
        .iter()
        .enumerate()
        .map(|(i, j)| (j.0, fix(i)))
        .collect();
    (problem(&weights, vec![], &repairs, 1e6), sum)
}

#[test]
fn published_smiths_rule_two_jobs() {
    // Kleinberg & Tardos, chapter 4 exercise, seen in print: (1,10), (3,2) take 18 in
    // order of weight per length, 46 reversed.
    let (problem, sum) = jobs(&[(1.0, 10.0), (3.0, 2.0)]);
    assert!((optimum(&problem) * sum - 18.0).abs() < EXACT);
    assert!((followed(&problem) * sum - 18.0).abs() < EXACT);
    let tables = Tables::new(&problem).expect("a sound problem");
    let solved = solve_exact(&tables, &Situation::start(&tables), LIMIT).expect("small");
    let reversed = solved.first_moves.iter().find(|m| m.0 == Action::Repair(1));
    assert!((reversed.expect("possible").1 * sum - 46.0).abs() < EXACT);
}

#[test]
fn constructed_smiths_rule_five_jobs() {
    // Rule: Smith 1956. Numbers: best of all 120 orders is 128.
    let (problem, sum) = jobs(&[(3.0, 2.0), (1.0, 4.0), (4.0, 3.0), (2.0, 6.0), (5.0, 5.0)]);
    assert!((optimum(&problem) * sum - 128.0).abs() < EXACT);
    assert!((followed(&problem) * sum - 128.0).abs() < EXACT);
}

fn five_repairs(last: f64) -> Problem {
    let list = [
        (20.0, 0.40),
        (5.0, 0.25),
        (8.0, 0.20),
        (1.0, 0.10),
        (last, 0.05),
    ];
    jobs(&list).0
}

#[test]
fn constructed_repairs_in_order_of_chance_per_cost() {
    // Rule: Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995; Kalagnanam & Henrion
    // 1990. Numbers: order 4, 2, 3, 1, 5 costs 397/20, the least of all 120 orders.
    let problem = five_repairs(3.0);
    assert!((optimum(&problem) - 397.0 / 20.0).abs() < EXACT);
    let tables = Tables::new(&problem).expect("a sound problem");
    let planner = Planner::new(&tables, Settings::default(), Leaf::RepairOnly);
    let mut situation = Situation::start(&tables);
    assert!((planner.advise(&situation).act_now_total - 397.0 / 20.0).abs() < EXACT);
    for expected in [3, 1, 2, 0] {
        assert_eq!(planner.decide(&situation), Action::Repair(expected));
        situation = situation
            .after_repair(&tables, expected)
            .1
            .expect("not surely right");
    }
    assert_eq!(planner.decide(&situation), Action::Repair(4));
}

#[test]
fn constructed_equal_chance_per_cost_is_shown_as_a_tie() {
    // The fifth at cost 2 ties with the third: both orders cost exactly 19.6.
    let problem = five_repairs(2.0);
    assert!((optimum(&problem) - 19.6).abs() < EXACT);
    let tables = Tables::new(&problem).expect("a sound problem");
    let planner = Planner::new(&tables, Settings::default(), Leaf::RepairOnly);
    let after = |s: Situation, r: usize| s.after_repair(&tables, r).1.expect("not surely right");
    let situation = after(after(Situation::start(&tables), 3), 1);
    let advice = planner.advise(&situation);
    let tied: Vec<Action> = advice
        .moves
        .iter()
        .filter(|m| m.tied)
        .map(|m| m.action)
        .collect();
    assert_eq!(tied, [Action::Repair(2), Action::Repair(4)]);
}

#[test]
fn constructed_series_system_stops_at_the_first_failure() {
    // Rule (non-decreasing c/q): Butterworth 1972, Ünlüyurt 2004. Numbers: c 4 3 10 1,
    // q .2 .1 .5 .02; best 339/25. One fault, each repair hits with chance q; what is left
    // after all four is handed over, the same for every order.
    let call = 1e3;
    let list = [(4.0, 0.2), (3.0, 0.1), (10.0, 0.5), (1.0, 0.02)];
    let repairs: Vec<_> = list.iter().map(|&(c, q)| (c, vec![q])).collect();
    let problem = problem(&[1.0], vec![], &repairs, call);
    let missed = 0.8 * 0.9 * 0.5 * 0.98;
    assert!((optimum(&problem) - call * missed - 339.0 / 25.0).abs() < EXACT);
    assert!((followed(&problem) - call * missed - 339.0 / 25.0).abs() < EXACT);
}
