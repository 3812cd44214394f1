//! `hardstart fit` and `params` as a person runs them: files, parts, and a fit killed at any
//! moment, after which the old files are whole and a rerun gives the same bytes.
//!
//! Six moments; a hundred with `HARDSTART_LONG=1`. The expected bytes are those of a fit nobody
//! disturbed.

use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

fn hardstart(directory: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardstart"));
    command.current_dir(directory).args(args).output().unwrap()
}

fn good(directory: &Path, args: &[&str]) -> String {
    let output = hardstart(directory, args);
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{args:?}: {told}");
    String::from_utf8(output.stdout).unwrap()
}

/// A directory with simulated jobs.
fn place(jobs: &str) -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    let text = good(
        place.path(),
        &["simulate", "--plain", "--jobs", jobs, "--seed", "3"],
    );
    std::fs::write(place.path().join("jobs.ndjson"), text).unwrap();
    place
}

/// A fit of the jobs of [`place`] into `f.toml`, of so many rounds.
fn fit(rounds: &str) -> [&str; 6] {
    let files = ["fit", "jobs.ndjson", "--figures-out", "f.toml"];
    let [fit, jobs, out, layer] = files;
    [fit, jobs, out, layer, "--rounds", rounds]
}

#[test]
fn a_fit_in_parts_is_the_fit_in_one_piece() {
    let place = place("30");
    let at = place.path();
    for (part, file) in [("1/1", "whole"), ("1/2", "one"), ("2/2", "two")] {
        let counts = format!("{file}.json");
        good(
            at,
            &["fit", "jobs.ndjson", "--shard", part, "--counts", &counts],
        );
    }
    good(
        at,
        &["fit", "merge", "whole.json", "--figures-out", "a.toml"],
    );
    good(
        at,
        &[
            "fit",
            "merge",
            "two.json",
            "one.json",
            "--figures-out",
            "b.toml",
        ],
    );
    for ending in ["toml", "card.md", "run.json"] {
        let read = |name: &str| std::fs::read(at.join(format!("{name}.{ending}"))).unwrap();
        assert_eq!(read("a"), read("b"), "{ending}");
    }
    // A round more, from where the first one ended; counts of another round do not go with it.
    let more = [
        "fit",
        "jobs.ndjson",
        "--shard",
        "1/1",
        "--counts",
        "more.json",
        "--fitted",
        "a.toml",
    ];
    good(at, &more);
    let wrong = hardstart(
        at,
        &["fit", "merge", "more.json", "--figures-out", "c.toml"],
    );
    assert_eq!(wrong.status.code(), Some(5));
    good(
        at,
        &[
            "fit",
            "merge",
            "more.json",
            "--figures-out",
            "c.toml",
            "--fitted",
            "a.toml",
        ],
    );
    let said = good(at, &["params", "diff", "a.toml", "c.toml"]);
    assert!(
        said.starts_with("odds of the starter figures times"),
        "{said}"
    );
    let shown = good(at, &["params", "show", "--fitted", "c.toml"]);
    assert!(
        shown.contains("Fitted from 30 jobs") && shown.contains("battery.tired"),
        "{shown}"
    );
}

#[test]
fn a_fit_writes_a_layer_a_card_and_a_record_that_the_others_take() {
    let place = place("40");
    let at = place.path();
    let args = fit("2");
    let page = good(at, &[&args[..], &["--hold-out", "fold=1/4"]].concat());
    assert!(page.contains("jobs held out"), "{page}");
    let card = std::fs::read_to_string(at.join("f.card.md")).unwrap();
    assert!(
        card.contains("## Mind") && card.contains("swirl/plugs"),
        "{card}"
    );
    let record = std::fs::read_to_string(at.join("f.run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    assert_eq!(record["schema"], "hardstart/fit_run/1");
    assert_eq!(record["seed"], 1);
    let objective = record["objective"].as_array().unwrap();
    let objective = objective
        .iter()
        .map(|x| x.as_f64().unwrap())
        .collect::<Vec<_>>();
    assert!(objective.windows(2).all(|w| w[1] >= w[0]), "{objective:?}");
    let plain = good(at, &["score", "jobs.ndjson", "--ndjson"]);
    let fitted = good(
        at,
        &["score", "jobs.ndjson", "--ndjson", "--fitted", "f.toml"],
    );
    assert_ne!(plain, fitted);
    let nowhere = hardstart(at, &["fit", "jobs.ndjson"]);
    assert_eq!(nowhere.status.code(), Some(2));
    std::fs::write(at.join("empty.ndjson"), "").unwrap();
    let nothing = hardstart(at, &["fit", "empty.ndjson", "--figures-out", "g.toml"]);
    assert_eq!(nothing.status.code(), Some(4));
    assert!(!at.join("g.toml").exists());
}

#[test]
fn a_fit_killed_at_any_moment_leaves_the_old_files_whole() {
    let moments = if std::env::var("HARDSTART_LONG").is_ok_and(|v| v == "1") {
        100
    } else {
        6
    };
    let place = place("24");
    let at = place.path();
    let args = fit("1");
    let endings = ["toml", "card.md", "run.json"];
    let files = || endings.map(|e| std::fs::read(at.join(format!("f.{e}"))).ok());
    let begun = Instant::now();
    good(at, &args);
    let whole = begun.elapsed();
    let wanted = files();
    // Old files that are others than the new ones will be.
    let old = endings.map(|e| Some(format!("old {e}").into_bytes()));
    for moment in 0..moments {
        for (ending, bytes) in endings.iter().zip(&old) {
            std::fs::write(at.join(format!("f.{ending}")), bytes.as_ref().unwrap()).unwrap();
        }
        let mut command = Command::new(env!("CARGO_BIN_EXE_hardstart"));
        command.current_dir(at).args(args);
        let command = command.stdout(Stdio::null()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        // Spread over the run, the last ones beyond its end.
        let share = (f64::from(moment) + 0.5) / f64::from(moments) * 1.1;
        std::thread::sleep(Duration::from_secs_f64(whole.as_secs_f64() * share));
        child.kill().unwrap();
        child.wait().unwrap();
        for (found, (old, new)) in files().iter().zip(old.iter().zip(&wanted)) {
            assert!(found == old || found == new, "moment {moment}");
        }
    }
    good(at, &args);
    assert_eq!(files(), wanted);
}
