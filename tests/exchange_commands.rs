//! `peek`, `map` and `import` as a person or a script meets them.
//!
//! Expected verdicts of the messy table were worked out by hand; codes are those of
//! `hardstart --help`.

use std::path::Path;
use std::process::{Command, Output};

use hardstart::job::read_ndjson;
use hardstart::knowledge::{KnowledgeFiles, load};
use serde_json::Value;

const SHOP: &str = "data/exchange/shop_a_messy.csv";
const MAP: &str = "data/exchange/shop_a.toml";
const BALANCE: &str = "13 records = 7 accepted + 1 duplicate + 3 quarantined + 2 ignored";

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("LC_ALL", "C")
        .env("COLUMNS", "100")
        .output()
        .unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

/// Names and bytes of a directory, the lock left out.
fn files(directory: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found: Vec<(String, Vec<u8>)> = std::fs::read_dir(directory)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| {
            (
                e.file_name().to_string_lossy().into_owned(),
                std::fs::read(e.path()).unwrap(),
            )
        })
        .filter(|(name, _)| name != ".lock")
        .collect();
    found.sort();
    found
}

#[test]
fn a_dry_run_writes_nothing_and_ends_with_3() {
    let output = run(&["import", SHOP, "--map", MAP, "--dry-run"]);
    assert_eq!(code(&output), 3, "{}", said(&output));
    let text = said(&output);
    assert!(text.contains(BALANCE), "{text}");
    assert!(
        text.contains("9 phrases: 7 mapped, 1 negated, 1 not mapped"),
        "{text}"
    );
    assert!(text.contains("4 unit doubtful"), "{text}");
    assert!(text.contains("Nothing written."), "{text}");
    let machine = run(&["import", SHOP, "--map", MAP, "--json"]);
    let document: Value = serde_json::from_slice(&machine.stdout).unwrap();
    assert_eq!(document["accepted"], 7);
    assert_eq!(document["issues"].as_array().unwrap().len(), 16);
}

#[test]
fn jobs_on_the_standard_output_are_jobs_our_reader_takes() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let output = run(&["import", SHOP, "--map", MAP, "--ndjson"]);
    assert_eq!(code(&output), 3);
    let jobs: Vec<_> = read_ndjson(output.stdout.as_slice(), "jobs", &knowledge).collect();
    assert_eq!(jobs.len(), 7);
    for line in jobs {
        line.unwrap().job.unwrap();
    }
    assert!(String::from_utf8_lossy(&output.stderr).contains(BALANCE));
}

#[test]
fn a_drafted_map_brings_in_the_same_records() {
    let output = run(&["import", SHOP]);
    assert_eq!(code(&output), 3, "{}", said(&output));
    assert!(said(&output).contains(BALANCE), "{}", said(&output));
    let draft = run(&["map", "new", SHOP]);
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("draft.toml");
    std::fs::write(&path, &draft.stdout).unwrap();
    let check = run(&["map", "check", path.to_str().unwrap(), SHOP]);
    assert_eq!(code(&check), 0, "{}", said(&check));
}

#[test]
fn a_map_tells_every_problem_with_its_place() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("wrong.toml");
    std::fs::write(&path, "[key]\njob = \"Job No\"\n[col.\"Batt V crank\"]\nto = \"crankling\"\n[col.\"Gone\"]\nto = \"soak\"\n").unwrap();
    let check = run(&["map", "check", path.to_str().unwrap(), SHOP]);
    assert_eq!(code(&check), 4);
    let text = said(&check);
    assert!(
        text.contains("wrong.toml:4:6: nothing is called `crankling`"),
        "{text}"
    );
    assert!(text.contains("no column has the heading `Gone`"), "{text}");
}

#[test]
fn a_first_look_names_encoding_heading_and_columns() {
    let output = run(&["peek", SHOP]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let text = said(&output);
    assert!(text.contains("byte B0 at line 4 is not UTF-8"), "{text}");
    assert!(text.contains("line 4"), "{text}");
    assert!(text.contains("decimal \",\""), "{text}");
}

#[test]
fn a_second_import_changes_nothing_and_a_mended_quarantine_closes_its_lines() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("jobs");
    let out_name = out.to_str().unwrap();
    let first = run(&[
        "import",
        SHOP,
        "--map",
        MAP,
        "--out",
        out_name,
        "--reproducible",
    ]);
    assert_eq!(code(&first), 3, "{}", said(&first));
    let before = files(&out);
    let names: Vec<&str> = before.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(
        names,
        [
            "datapackage.json",
            "import-shop_a_messy-75201b89.json",
            "issues-shop_a_messy-75201b89.ndjson",
            "jobs.ndjson",
            "quarantine-shop_a_messy-75201b89.csv"
        ]
    );
    let again = run(&[
        "import",
        SHOP,
        "--map",
        MAP,
        "--out",
        out_name,
        "--reproducible",
    ]);
    assert!(
        said(&again).contains("0 accepted + 1 duplicate + 7 already there"),
        "{}",
        said(&again)
    );
    assert_eq!(files(&out), before);

    let quarantine = out.join("quarantine-shop_a_messy-75201b89.csv");
    let text = std::fs::read_to_string(&quarantine).unwrap();
    assert!(text.starts_with("_line,_codes,_why,Job No,"), "{text}");
    assert!(text.contains("75201b8985ad2c4e0e2bc487d8e0387db9b9d44d87d28b8981faa157bd3c67cb"));
    // Unchanged it stays where it is.
    let same = place.path().join("same.csv");
    std::fs::write(&same, &text).unwrap();
    let unchanged = run(&[
        "import",
        same.to_str().unwrap(),
        "--map",
        MAP,
        "--out",
        out_name,
        "-n",
    ]);
    assert!(
        said(&unchanged).contains("3 records = 0 accepted + 0 duplicates + 3 quarantined"),
        "{}",
        said(&unchanged)
    );
    // The person gives the visit and the nameless job numbers, and joins the split cell.
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut mended = csv::Writer::from_writer(Vec::new());
    for row in rows.records() {
        let mut cells: Vec<String> = row.unwrap().iter().map(str::to_owned).collect();
        match cells[0].as_str() {
            "11" => cells[3] = "FE-0101b".to_owned(),
            "16" => cells[3] = "FE-0199".to_owned(),
            "15" => {
                // 18 cells: "oil additive; no change" was cut in two.
                cells[17] = "oil additive; no change".to_owned();
                cells[18] = cells[19].clone();
                cells[19] = cells[21].clone();
                cells[21] = String::new();
            }
            _ => {}
        }
        mended.write_record(&cells).unwrap();
    }
    let path = place.path().join("mended.csv");
    std::fs::write(&path, mended.into_inner().unwrap()).unwrap();
    let closed = run(&[
        "import",
        path.to_str().unwrap(),
        "--map",
        MAP,
        "--out",
        out_name,
        "--reproducible",
    ]);
    assert_eq!(code(&closed), 0, "{}", said(&closed));
    assert!(
        said(&closed).contains("3 records = 3 accepted"),
        "{}",
        said(&closed)
    );
    let jobs = std::fs::read_to_string(out.join("jobs.ndjson")).unwrap();
    assert_eq!(jobs.lines().count(), 10);
    let last: Value = serde_json::from_str(jobs.lines().last().unwrap()).unwrap();
    assert_eq!(
        (&last["import"]["line"], &last["job"]),
        (&16.into(), &"FE-0199".into())
    );
    // The same lines once more are known.
    let known = run(&[
        "import",
        path.to_str().unwrap(),
        "--map",
        MAP,
        "--out",
        out_name,
        "--reproducible",
    ]);
    assert!(said(&known).contains("3 already there"), "{}", said(&known));
}

#[test]
fn what_cannot_be_read_ends_with_4() {
    assert_eq!(code(&run(&["import", "no/such/file.csv"])), 4);
    assert_eq!(code(&run(&["peek", SHOP, "--encoding", "klingon"])), 4);
}

#[test]
fn a_map_of_another_version_ends_with_5() {
    let place = tempfile::tempdir().unwrap();
    let map = place.path().join("map.toml");
    std::fs::write(&map, "format = 2\n[file]\nnew = 1\n").unwrap();
    let map = map.to_str().unwrap();
    let output = run(&["import", SHOP, "--map", map]);
    assert_eq!(code(&output), 5);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("1:10: the map is of another format: 2"),
        "{said}"
    );
}

#[test]
fn a_table_for_a_spreadsheet_is_widened_like_any_other() {
    let place = tempfile::tempdir().unwrap();
    let jobs = run(&["simulate", "--jobs", "3"]).stdout;
    let file = |name: &str, bytes: &[u8]| {
        let path = place.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let jobs = file("jobs.ndjson", &jobs);
    let plain = run(&["export", &jobs, "--form", "long"]).stdout;
    let german = run(&["export", &jobs, "--form", "long", "--for-spreadsheet", "de"]).stdout;
    assert_ne!(plain, german);
    let wide = run(&["widen", &file("plain.csv", &plain)]).stdout;
    let from_german = run(&["widen", &file("german.csv", &german)]);
    assert_eq!(code(&from_german), 0, "{}", said(&from_german));
    assert!(from_german.stdout == wide);
    // And back: rows, and keys within a job, in the order they had.
    let back = run(&["lengthen", &file("wide.csv", &wide)]).stdout;
    assert!(back == plain);
}

#[test]
fn jobs_that_cannot_be_drawn_are_a_matter_of_usage() {
    for args in [
        ["--shops-differ", "nan"],
        ["--missing", "1.5"],
        ["--misread", "inf"],
        ["--first", "18446744073709551615"],
    ] {
        let output = run(&[&["simulate", "--jobs", "2"], &args[..]].concat());
        assert_eq!(code(&output), 2, "{args:?}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains(args[0]) && said.contains(args[1]), "{said}");
    }
}
