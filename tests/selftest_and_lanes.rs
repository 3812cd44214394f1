//! The self-test of the installed program, and a network from a file answered line by line.
//!
//! Expected chances: the chest clinic as the R package gRain prints it.

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const CLINIC: &str = "data/published/chest_clinic.bif";

fn run(args: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("LC_ALL", "C")
        .env("COLUMNS", "80")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn lines(output: &Output) -> Vec<Value> {
    let text = String::from_utf8(output.stdout.clone()).unwrap();
    let lines = text.lines().map(|l| serde_json::from_str(l).unwrap());
    lines.collect()
}

#[test]
fn every_published_value_is_met_and_named_with_its_source() {
    let output = run(&["selftest", "--json"], b"");
    assert_eq!(output.status.code(), Some(0));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["missed"], 0);
    let checks = answer["checks"].as_array().unwrap();
    assert!(checks.len() >= 40, "{}", checks.len());
    assert!(
        checks
            .iter()
            .all(|c| !c["source"].as_str().unwrap().is_empty())
    );
    for name in [
        "chest clinic",
        "sprinkler",
        "burglary",
        "noisy-or",
        "Grubbs",
        "copper",
        "psi",
    ] {
        let named = |c: &Value| c["name"].as_str().unwrap().contains(name);
        assert!(checks.iter().any(named), "{name}");
    }
}

#[test]
fn a_network_is_answered_line_by_line() {
    let jobs = b"{\"visit\": \"yes\", \"dyspnoea\": \"yes\"}\n\n{}\n";
    let args = [
        "network", "--from", CLINIC, "--lanes", "-", "--ndjson", "--time",
    ];
    let output = run(&args, jobs);
    assert_eq!(output.status.code(), Some(0));
    let answers = lines(&output);
    assert_eq!(answers.len(), 2);
    // gRain prints P(e) .004501375, cancer .09952515, bronchitis .8114021.
    let near = |found: &Value, expected: f64, within: f64| {
        let found = found.as_f64().unwrap();
        assert!(
            (found - expected).abs() < within,
            "{found}, expected {expected}"
        );
    };
    near(&answers[0]["log_evidence"], 0.004_501_375_f64.ln(), 1e-9);
    near(&answers[0]["marginals"]["cancer"][1], 0.099_525_15, 5e-9);
    near(&answers[0]["marginals"]["bronchitis"][1], 0.811_402_1, 5e-8);
    near(&answers[0]["marginals"]["visit"][1], 1.0, 1e-12);
    near(&answers[1]["marginals"]["xray"][1], 0.110_290_04, 1e-10);
    let names = answers[1]["marginals"].as_object().unwrap().keys();
    assert_eq!(names.count(), 8, "every node is answered");
    let times: Value = serde_json::from_slice(&output.stderr).unwrap();
    assert_eq!(times["jobs"], 2);
    assert!(
        times["microseconds_a_job"]["programs_there"]
            .as_f64()
            .unwrap()
            > 0.0
    );
}

#[test]
fn bad_lines_are_told_with_their_number_and_the_others_are_answered() {
    let jobs = b"{\"xray\": \"maybe\"}\n{\"nose\": \"yes\"}\nnonsense\n{\"xray\": 1}\n\
        {\"xray\": \"no\"}\n\
        {\"tuberculosis\": \"no\", \"cancer\": \"no\", \"either\": \"yes\"}\n";
    let output = run(&["network", "--from", CLINIC, "--lanes", "-"], jobs);
    // 3: done, some records put aside.
    assert_eq!(output.status.code(), Some(3));
    let answers = lines(&output);
    let error = |at: usize| answers[at]["error"].as_str().unwrap().to_owned();
    assert_eq!(error(0), "`xray` has no state `maybe`, only no, yes");
    assert_eq!(error(1), "no node is called `nose`");
    assert!(error(2).contains("column 2"), "{}", error(2));
    assert!(answers[4]["log_evidence"].is_number());
    assert!(error(5).starts_with("impossible"), "{}", error(5));
    let numbers = [0, 1, 2, 3, 5].map(|at: usize| answers[at]["line"].as_u64().unwrap());
    assert_eq!(numbers, [1, 2, 3, 4, 6]);
    let errors = String::from_utf8(output.stderr).unwrap();
    assert!(errors.contains("standard input:2: no node"), "{errors}");
}

#[test]
fn a_file_that_is_no_network_is_told_by_line_and_column() {
    let output = run(
        &["network", "--from", "-"],
        b"network x {\n}\nvariable a {\n",
    );
    assert_eq!(output.status.code(), Some(4));
    let errors = String::from_utf8(output.stderr).unwrap();
    assert!(errors.starts_with("error: -:"), "{errors}");
    let place = errors["error: -:".len()..].split(':').take(2);
    let place: Vec<usize> = place.map(|n| n.parse().unwrap()).collect();
    assert!(place[0] >= 3 && place[1] >= 1, "{errors}");
}

#[test]
fn a_node_named_twice_is_refused_and_a_mark_at_the_head_is_no_letter() {
    let jobs = b"\xef\xbb\xbf{\"xray\": \"no\"}\n{\"xray\": \"no\", \"xray\": \"yes\"}\n";
    let output = run(&["network", "--from", CLINIC, "--lanes", "-"], jobs);
    assert_eq!(output.status.code(), Some(3));
    let answers = lines(&output);
    assert!(answers[0]["log_evidence"].is_number());
    let error = answers[1]["error"].as_str().unwrap();
    assert!(error.contains("`xray` is named twice"), "{error}");
    assert!(error.starts_with("column 21"), "{error}");
}

#[test]
fn with_json_the_answers_are_one_document() {
    let jobs = b"{\"xray\": \"no\"}\n{\"xray\": \"yes\"}\n";
    let ask = ["network", "--from", CLINIC, "--lanes", "-"];
    let apart = lines(&run(&ask, jobs));
    let together = |input: &[u8]| -> Value {
        let output = run(&[&ask[..], &["--json"]].concat(), input);
        serde_json::from_slice(&output.stdout).unwrap()
    };
    assert_eq!(together(jobs), Value::from(apart));
    assert_eq!(together(b""), Value::from(Vec::<Value>::new()));
}

/// Enough lines for several batches come out in their order.
#[test]
fn many_lines_keep_their_order() {
    let mut jobs = Vec::new();
    for n in 0..10_000 {
        let state = if n % 3 == 0 { "yes" } else { "no" };
        writeln!(jobs, "{{\"smoke\": \"{state}\"}}").unwrap();
    }
    let directory = tempfile::tempdir().unwrap();
    let file = directory.path().join("jobs.ndjson");
    std::fs::write(&file, jobs).unwrap();
    let file = file.to_str().unwrap();
    let args = [
        "network", "--from", CLINIC, "--lanes", file, "--ask", "roots",
    ];
    let answers = lines(&run(&args, b""));
    assert_eq!(answers.len(), 10_000);
    for (n, answer) in answers.iter().enumerate() {
        let expected = if n % 3 == 0 { 1.0 } else { 0.0 };
        assert_eq!(
            answer["marginals"]["smoke"][1].as_f64(),
            Some(expected),
            "line {n}"
        );
        assert_eq!(answer["marginals"].as_object().unwrap().len(), 2);
    }
}
