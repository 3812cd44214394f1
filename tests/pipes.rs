//! Commands that hand on to each other, documents against their schemas, and a script that reads
//! a fitted layer with nothing but what its language brings along.

use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

const PROGRAM: &str = env!("CARGO_BIN_EXE_hardstart");
const SHOP: &str = "data/exchange/shop_a_messy.csv";
const MAP: &str = "data/exchange/shop_a.toml";

fn run(args: &[&str]) -> String {
    let output = Command::new(PROGRAM).args(args).output().unwrap();
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{args:?}: {told}");
    String::from_utf8(output.stdout).unwrap()
}

fn document(args: &[&str]) -> Value {
    serde_json::from_str(&run(args)).unwrap()
}

/// Expected: the shop's table as it is known: seven records accepted, of which some name a cause.
#[test]
fn a_table_goes_through_import_and_score_in_one_line() {
    let mut import = Command::new(PROGRAM)
        .args(["import", SHOP, "--map", MAP, "--ndjson"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let jobs = import.stdout.take().unwrap();
    let score = Command::new(PROGRAM)
        .args(["score", "-", "--ndjson"])
        .stdin(jobs)
        .output()
        .unwrap();
    // Some records are quarantined, which the code says.
    assert_eq!(import.wait().unwrap().code(), Some(3));
    assert!(
        score.status.success(),
        "{}",
        String::from_utf8_lossy(&score.stderr)
    );
    let text = String::from_utf8(score.stdout).unwrap();
    let lines = text
        .lines()
        .map(|l| serde_json::from_str::<Value>(l).unwrap());
    let lines = lines.collect::<Vec<_>>();
    assert_eq!(lines.len(), 7);
    assert!(lines.iter().all(|l| l["schema"] == "hardstart/score/1"));
    let scored = lines.iter().filter(|l| l["log_score"].is_number());
    let scored = scored.collect::<Vec<_>>();
    assert!(scored.len() >= 3, "{text}");
    for line in &scored {
        let chances = line["p_true"].as_array().unwrap();
        assert!(
            chances
                .iter()
                .all(|p| (0.0..=1.0).contains(&p.as_f64().unwrap()))
        );
        assert_eq!(chances.len(), line["rank_true"].as_array().unwrap().len());
    }
    let unknown = lines.iter().find(|l| l["job"] == "FE-0104").unwrap();
    assert_eq!(unknown["flags"][0], "no_label");
}

/// Jobs, scores and a fit in a directory.
fn place() -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    let write = |name: &str, text: String| std::fs::write(place.path().join(name), text).unwrap();
    let jobs = path(&place, "jobs.ndjson");
    write(
        "jobs.ndjson",
        run(&["simulate", "--plain", "--jobs", "24", "--seed", "4"]),
    );
    write("scores.ndjson", run(&["score", &jobs, "--ndjson"]));
    place
}

fn path(place: &tempfile::TempDir, name: &str) -> String {
    place.path().join(name).display().to_string()
}

#[test]
fn documents_of_scores_and_fits_have_the_keys_of_their_schemas() {
    let place = place();
    let (jobs, scores) = (path(&place, "jobs.ndjson"), path(&place, "scores.ndjson"));
    let layer = path(&place, "f.toml");
    let fit = [
        "fit",
        &jobs,
        "--figures-out",
        &layer,
        "--rounds",
        "1",
        "--json",
    ];
    let text = std::fs::read_to_string(&scores).unwrap();
    let line = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    let fitted = document(&fit);
    let record = std::fs::read_to_string(path(&place, "f.run.json")).unwrap();
    let documents = [
        ("score", line),
        ("score_summary", document(&["score", &jobs, "--json"])),
        (
            "compare",
            document(&["compare", &scores, &scores, "--json"]),
        ),
        ("fit", fitted),
        ("fit_run", serde_json::from_str(&record).unwrap()),
        (
            "params",
            document(&["params", "show", "--json", "--fitted", &layer]),
        ),
        (
            "params_diff",
            document(&["params", "diff", "--json", &layer]),
        ),
    ];
    for (name, found) in &documents {
        let schema = document(&["schema", name]);
        let wanted = schema["properties"].as_object().unwrap().keys();
        let found = found.as_object().unwrap();
        let wanted = wanted.collect::<std::collections::BTreeSet<_>>();
        assert_eq!(
            found.keys().collect::<std::collections::BTreeSet<_>>(),
            wanted,
            "{name}"
        );
    }
}

fn python(script: &str, arguments: &[String]) -> String {
    let script = Path::new("examples").join(script);
    let output = Command::new("python3").arg(script).args(arguments).output();
    let output = output.expect("python3 is there, as for the comparison with the other library");
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{told}");
    String::from_utf8(output.stdout).unwrap()
}

/// Expected: what the record of the run says.
#[test]
fn python_reads_a_fitted_layer() {
    let place = place();
    let layer = path(&place, "f.toml");
    let jobs = path(&place, "jobs.ndjson");
    run(&["fit", &jobs, "--figures-out", &layer, "--rounds", "1"]);
    let said = python("read_fit.py", &[layer]);
    assert!(said.starts_with("24 jobs, figures "), "{said}");
    assert!(said.contains("the objective never fell"), "{said}");
}

/// Forty drawn jobs, three quarters of them learnt from: every rival has a score, and the same twice.
#[test]
fn rivals_of_a_split_are_named_and_say_the_same_twice() {
    let args = [
        "score",
        "data/simulated/shops.ndjson",
        "--simulated-truth",
        "--split",
        "fold=1/4",
        "--json",
    ];
    let answer = document(&args);
    let rivals = answer["rivals"].as_object().unwrap();
    let names = [
        "answers",
        "figures_only",
        "most_common",
        "naive_bayes",
        "classifier_bayes",
        "classifier_logistic",
    ];
    for name in names {
        let score = rivals[name]["value"].as_f64();
        assert!(score.is_some_and(|s| s < 0.0), "{name}: {rivals:?}");
    }
    assert_eq!(run(&args), run(&args));
}
