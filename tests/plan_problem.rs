//! `hardstart plan --problem` on the nineteen small problems, by the program itself.
//!
//! Optima of `data/planning_examples.json` are exact: dynamic programming, checked by a second
//! recursive solver, both outside this crate. The bars are the project's own.

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

fn plan(problem: &str, arguments: &[&str]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(["plan", "--problem", "-"])
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(problem.as_bytes())
        .unwrap();
    child.wait_with_output().unwrap()
}

fn cases() -> Vec<Value> {
    let file: Value = serde_json::from_str(include_str!("../data/planning_examples.json")).unwrap();
    file["cases"].as_array().unwrap().clone()
}

fn solved(case: &Value) -> Value {
    let output = plan(&case["instance"].to_string(), &["--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", case["id"]);
    assert!(output.stderr.is_empty(), "{}", case["id"]);
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn the_nineteen_problems_are_solved_within_the_bars() {
    let mut ratios = Vec::new();
    for case in cases() {
        let id = case["id"].as_str().unwrap();
        let answer = solved(&case);
        assert_eq!(answer["schema"], "hardstart/policy/1");
        let optimum = case["optimal_cost"].as_f64().unwrap();
        // Half a unit of the last of the four decimals the file gives.
        let own = answer["optimum"].as_f64().unwrap();
        assert!((own - optimum).abs() <= 0.5e-4, "{id}: {own}");
        let cost = answer["policy_cost"].as_f64().unwrap();
        assert!(cost >= optimum - 0.5e-4, "{id}: {cost} beats {optimum}");
        assert!(
            cost <= 1.05 * optimum + 0.5e-4,
            "{id}: {cost} for {optimum}"
        );
        ratios.push(if optimum > 0.0 { cost / optimum } else { 1.0 });
        let mut named: Vec<&str> = Vec::new();
        let mut last = f64::NEG_INFINITY;
        for one in answer["moves"].as_array().unwrap() {
            named.push(one["id"].as_str().unwrap());
            let total = one["expected_total"].as_f64().unwrap();
            // Moves that tie within rounding keep an order of their own.
            assert!(total >= last - 1e-6 * last.abs(), "{id}: best first");
            last = total;
        }
        // Every first move the file knows is listed under the name it has there.
        let known = case["root_q_optimal"].as_object().unwrap();
        assert_eq!(named.len(), known.len(), "{id}");
        for name in known.keys() {
            assert!(named.contains(&name.as_str()), "{id}: {name}");
        }
        if let Some(first) = case["optimal_first_actions"].as_array() {
            assert!(first.iter().any(|f| f == named[0]), "{id}: {}", named[0]);
        }
    }
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    assert!(mean <= 1.005, "mean {mean}: {ratios:?}");
}

#[test]
fn for_people_the_moves_stand_in_order() {
    // H01 by hand: test Tb for 5, then 60 and one time in ten another 60: 71.
    let output = plan(&cases()[0]["instance"].to_string(), &[]);
    let page = String::from_utf8(output.stdout).unwrap();
    assert!(page.contains("costs 71.00 on average"), "{page}");
    assert!(page.contains("71.00  test:Tb"), "{page}");
}

#[test]
fn every_field_that_cannot_be_used_is_named_at_once() {
    let text = r#"{"model": "single", "faults": [{"name": "a", "prior": 1}],
        "tests": [], "repairs": [{"name": "r", "cost": "much", "fix": [2]}], "groups": []}"#;
    let output = plan(text, &["--json"]);
    assert_eq!(output.status.code(), Some(4));
    let said: Value = serde_json::from_slice(&output.stderr).unwrap();
    assert_eq!(said["schema"], "hardstart/error/1");
    let said = said.to_string();
    for path in ["repairs[0].cost", "call_cost"] {
        assert!(said.contains(path), "{path}: {said}");
    }
    let broken = plan("{\n  \"model\": }", &[]);
    assert_eq!(broken.status.code(), Some(4));
    let said = String::from_utf8(broken.stderr).unwrap();
    assert!(said.contains("line 2 column 12"), "{said}");
}

#[test]
fn a_key_that_stands_twice_is_refused_with_its_place() {
    let text = "{\"model\": \"single\", \"faults\": [\n  {\"name\": \"a\", \"name\": \"b\"}]}";
    let twice = plan(text, &[]);
    assert_eq!(twice.status.code(), Some(4));
    let said = String::from_utf8(twice.stderr).unwrap();
    assert!(said.contains(":2:22: `name` stands twice\n"), "{said}");
}
