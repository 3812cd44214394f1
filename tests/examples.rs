//! The example jobs: each is read without a problem, and the fault of its story is among the
//! first three causes.
//!
//! The faults are those of `examples/jobs/README.md`; the stories are invented.

use std::path::Path;

use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};

const STORIES: [(&str, &[&str]); 12] = [
    ("tb-01-one-dead-plug", &["plug.dead:4"]),
    ("tb-02-strip-joint", &["strip_joint.poor"]),
    ("tb-03-blocked-filter", &["fuel_filter.blocked"]),
    ("tb-04-tired-battery", &["battery.tired"]),
    ("tb-05-air-in-the-line", &["suction_line.draws_air"]),
    ("tb-06-wax", &["fuel.waxed"]),
    ("tb-07-timing-late", &["static_timing.late"]),
    ("tb-08-leaking-valve", &["barrel.valve:3"]),
    ("tb-09-dripping-nozzle", &["nozzle.drip:1"]),
    ("tb-10-two-at-once", &["plug.dead:2", "battery.tired"]),
    ("tb-11-preheat-is-fine", &["fuel_column.drains_back"]),
    ("tb-12-timing-trials", &["plug.weak:3"]),
];

#[test]
fn every_example_ranks_its_fault_among_the_first_three() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap_or_else(|e| panic!("{e}"));
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let mut wrong = Vec::new();
    for (name, faults) in STORIES {
        let text = std::fs::read_to_string(directory.join(format!("{name}.toml"))).unwrap();
        let parsed = read_toml(&text, name, &knowledge).unwrap_or_else(|e| panic!("{e}"));
        assert!(parsed.notes.is_empty(), "{name}: {:?}", parsed.notes);
        let ranking = gather(&knowledge, &parsed.job)
            .map_err(|e| e.to_string())
            .and_then(|e| causes(&e, &parsed.job).map_err(|e| e.to_string()));
        let first = match ranking {
            Ok(ranking) => ranking
                .causes
                .iter()
                .take(3)
                .map(|c| c.cause.clone())
                .collect(),
            Err(error) => vec![error],
        };
        let all_there = faults.iter().all(|f| first.iter().any(|c| c == f));
        if !all_there {
            wrong.push(format!("{name}: {faults:?} not all in {first:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_example_file_has_a_story() {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let mut files = std::fs::read_dir(directory)
        .unwrap()
        .map(|f| f.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .map(|p| p.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect::<Vec<_>>();
    files.sort();
    assert_eq!(files, STORIES.map(|s| s.0.to_owned()));
}
