//! Jobs in JSON, one job a line, and bytes of either format.

use hardstart::job::{read_bytes, read_json, read_ndjson, read_toml, to_json};

use crate::EXAMPLE;
use crate::small::small;

#[test]
fn json_reads_as_the_same_job_and_names_places() {
    let knowledge = small();
    let job = read_toml(EXAMPLE, "a.toml", knowledge).unwrap().job;
    let json = serde_json::to_string_pretty(&to_json(&job)).unwrap();
    let again = read_json(&json, "a.json", knowledge).unwrap();
    assert_eq!(again.job.without_positions(), job.without_positions());

    let bad = json
        .replace("\"15,1 s\"", "\"15,1 V\"")
        .replace("\"one\"", "\"two\"");
    let errors = read_json(&bad, "a.json", knowledge).unwrap_err();
    let paths: Vec<&str> = errors.problems.iter().map(|p| p.path.as_str()).collect();
    assert_eq!(
        paths,
        ["entry[1].start.miss", "entry[3].reading.value"],
        "{errors}"
    );
    for p in &errors.problems {
        let line = bad.lines().nth(p.line - 1).unwrap();
        assert!(line.contains("two") || line.contains("15,1 V"), "{line}");
    }
}

#[test]
fn broken_json_is_told_with_its_place() {
    let rows = [
        ("{\n  \"schema\": }", 2, "expected value"),
        (
            "{\"job\": \"a\", \"job\": \"b\"}",
            1,
            "the key `job` stands here twice",
        ),
        ("[]", 1, "a job is a table, not a list"),
        ("3", 1, "a job is a table, not a whole number"),
    ];
    for (text, line, what) in rows {
        let errors = read_json(text, "a.json", small()).unwrap_err();
        assert!(
            errors
                .problems
                .iter()
                .any(|p| p.what.contains(what) && p.line == line),
            "{errors}"
        );
    }
}

#[test]
fn one_job_a_line_goes_on_after_a_bad_one() {
    let knowledge = small();
    let job = read_toml(EXAMPLE, "a.toml", knowledge).unwrap().job;
    let good = to_json(&job).to_string();
    let bad = good.replace("replace_plug", "replace_plough");
    let mut bytes = format!("{good}\n\n{bad}\r\n").into_bytes();
    bytes.extend(b"{\"job\": \"\xff\"}\n");
    bytes.extend(good.as_bytes());
    let lines: Vec<_> = read_ndjson(bytes.as_slice(), "jobs.ndjson", knowledge)
        .map(|l| l.unwrap())
        .collect();
    let numbers: Vec<(usize, bool)> = lines.iter().map(|l| (l.line, l.job.is_ok())).collect();
    assert_eq!(numbers, [(1, true), (3, false), (4, false), (5, true)]);
    let errors = lines[1].job.as_ref().unwrap_err();
    assert_eq!((errors.problems[0].line, errors.problems.len()), (3, 1));
    let at = bad.find("\"replace_plough\"").unwrap();
    assert_eq!(errors.problems[0].column, bad[..at].chars().count() + 1);
    assert!(errors.problems[0].render(&bad).contains("jobs.ndjson:3:"));
    assert!(
        lines[2].job.as_ref().unwrap_err().problems[0]
            .what
            .contains("UTF-8")
    );
}

#[test]
fn bytes_are_read_as_what_they_are() {
    let knowledge = small();
    let job = read_bytes(EXAMPLE.as_bytes(), "a", knowledge).unwrap().job;
    let marked = format!("\u{feff}{EXAMPLE}");
    assert_eq!(
        read_bytes(marked.as_bytes(), "a", knowledge).unwrap().job,
        job
    );
    let json = format!(" \n{}", to_json(&job));
    let again = read_bytes(json.as_bytes(), "a", knowledge).unwrap().job;
    assert_eq!(again.without_positions(), job.without_positions());
    assert!(read_bytes(b"job = \"\xe9\"", "a", knowledge).is_err());
}
