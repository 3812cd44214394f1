//! What a check tells apart, held against the ranking with the finding entered as a reading.

use std::io::Write;
use std::process::{Command, Stdio};

use hardstart::evidence::gather;
use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::planning::bench::next;
use serde_json::Value;

/// The planner reckons with sets of few faults, the ranking with all of them: so far they may be
/// apart. Own judgement.
const APART: f64 = 0.07;

/// The ranking of a job given as text.
fn causes(job: &str) -> Value {
    let mut child = Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(["causes", "--json", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(job.as_bytes())
        .unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    serde_json::from_slice(&output.stdout).unwrap()
}

fn chance(ranking: &Value, label: &str) -> f64 {
    let mut all = ranking["causes"].as_array().unwrap().iter();
    let found = all.find(|c| c["label"] == label && c["cylinder"].is_null());
    found.unwrap()["chance"].as_f64().unwrap()
}

#[test]
fn a_finding_raises_its_cause_as_the_reading_would() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    for name in ["tb-04-tired-battery", "tb-08-leaking-valve"] {
        let place = format!("{}/examples/jobs/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(place).unwrap();
        let job = read_toml(&text, name, &knowledge).unwrap().job;
        let next = next(&knowledge, &job, &gather(&knowledge, &job).unwrap()).unwrap();
        let first = &next.moves[0];
        let split = first.split.as_ref().unwrap();
        let state = split.state.as_ref().unwrap();
        let reading = format!(
            "reading = {{ check = \"{}\", value = \"{state}\" }}",
            first.id
        );
        let (before, after) = (
            causes(&text),
            causes(&format!("{text}\n[[entry]]\n{reading}\n")),
        );
        let told = &split.towards;
        for (ranking, said) in [(&before, told.now), (&after, told.then)] {
            let exact = chance(ranking, &told.label);
            assert!((exact - said).abs() < APART, "{name}: {exact} {told:?}");
        }
        assert!(told.then > 2.0 * told.now, "{name}: {told:?}");
    }
}
