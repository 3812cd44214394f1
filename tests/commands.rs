//! The program as a person or a script meets it: commands, streams and exit codes.
//!
//! Job files under `tests/jobs` are of an invented shop. Expected codes are those of
//! `hardstart --help`.

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// Runs the program in a plain locale at 80 columns, with this on its standard input.
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
    // A command that reads no input may be gone before it is written.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn text(args: &[&str]) -> String {
    let output = run(args, b"");
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{args:?}: {errors}");
    assert_eq!(errors, "", "{args:?}: nothing but the answer");
    String::from_utf8(output.stdout).unwrap()
}

fn document(args: &[&str]) -> Value {
    serde_json::from_str(&text(args)).unwrap()
}

/// Code and messages of a command that gives no answer.
fn refused(args: &[&str], input: &[u8]) -> (i32, String) {
    let output = run(args, input);
    assert_eq!(
        output.stdout, b"",
        "{args:?}: no answer on the standard output"
    );
    let errors = String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), errors)
}

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect()
}

fn lines_fit(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
        assert!(line.is_ascii(), "{line}");
    }
}

const DEAD_PLUG: &str = "tests/jobs/dead_plug.toml";
const TRIALS: &str = "tests/jobs/trials.toml";

#[test]
fn an_open_plug_leads_and_something_else_is_always_listed() {
    let page = text(&["causes", DEAD_PLUG]);
    lines_fit(&page);
    assert!(page.contains(
        "Chances are separate: two things can be wrong at once, so they can add to more\nthan 100."
    ));
    assert!(page.contains("Leading: dead plug, cylinder 3:"), "{page}");
    assert!(page.contains("something not on this list"), "{page}");
    assert!(page.contains("Reckoned from 2 of 2 entries."), "{page}");
    for word in [
        "posterior",
        "prior",
        "entropy",
        "node",
        "evidence",
        "inference",
        "replace",
    ] {
        assert!(!page.to_lowercase().contains(word), "{word}: {page}");
    }
}

#[test]
fn causes_as_json_follow_the_contract() {
    let answer = document(&["causes", "--json", DEAD_PLUG]);
    assert_eq!(
        keys(&answer),
        [
            "schema",
            "job",
            "figures_sha256",
            "log_evidence",
            "healthy",
            "causes",
            "systems",
            "misfit",
            "kinds",
            "notes"
        ]
    );
    assert_eq!(answer["schema"], "hardstart/causes/1");
    assert_eq!(answer["job"], "BL-12");
    assert_eq!(answer["figures_sha256"].as_str().unwrap().len(), 64);
    let causes = answer["causes"].as_array().unwrap();
    assert_eq!(
        keys(&causes[0]),
        [
            "cause", "part", "fault", "cylinder", "label", "system", "chance", "low", "high",
            "base", "standing", "before"
        ]
    );
    assert_eq!(causes[0]["cause"], "plug.dead:3");
    assert_eq!(causes[0]["standing"], "leading");
    let chance = |c: &Value| c["chance"].as_f64().unwrap();
    assert!(causes.windows(2).all(|w| chance(&w[0]) >= chance(&w[1])));
    assert!(causes.iter().all(|c| chance(c) > 0.0 && chance(c) < 1.0));
    assert!(causes.iter().any(|c| c["part"] == "other"));
}

#[test]
fn the_same_job_on_the_standard_input_and_as_json_gives_the_same_bytes() {
    let from_file = text(&["causes", "--json", DEAD_PLUG]);
    let job = std::fs::read(DEAD_PLUG).unwrap();
    let output = run(&["causes", "-", "--json"], &job);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8(output.stdout).unwrap(), from_file);
}

#[test]
fn the_next_move_is_as_good_as_the_cheapest_and_cautions_stand_before_steps() {
    let answer = document(&["next", "--json", DEAD_PLUG]);
    assert_eq!(answer["schema"], "hardstart/next/1");
    let moves = answer["moves"].as_array().unwrap();
    let total = |m: &Value| m["expected_total"].as_f64().unwrap();
    // But for what counts as level, three of a hundred.
    assert!(
        moves
            .iter()
            .all(|m| 1.03 * total(m) >= total(&moves[0]) - 1e-6)
    );
    let page = text(&["next", DEAD_PLUG]);
    lines_fit(&page);
    if let (Some(how), Some(care)) = (page.find("\nHow\n"), page.find("\nTake care\n")) {
        assert!(care < how, "{page}");
    }
    assert!(
        page.contains("\nOr\n") || page.contains("\nJust as good\n"),
        "{page}"
    );
}

#[test]
fn what_moved_it_leads_from_the_start_to_the_end() {
    let answer = document(&["why", "plug.dead:3", DEAD_PLUG, "--json"]);
    assert_eq!(answer["schema"], "hardstart/why/1");
    let log_odds = |x: &Value| {
        let p = x.as_f64().unwrap();
        (p / (1.0 - p)).ln()
    };
    let moved: f64 = answer["moved"]
        .as_array()
        .unwrap()
        .iter()
        .map(|m| m["log_odds"].as_f64().unwrap())
        .sum();
    let whole = log_odds(&answer["end"]) - log_odds(&answer["start"]);
    assert!((moved - whole).abs() < 1e-6, "{moved} {whole}");
    let page = text(&["why", "plug.dead:3", DEAD_PLUG]);
    lines_fit(&page);
    assert!(
        page.starts_with("What moved it: dead plug, cylinder 3\n"),
        "{page}"
    );
}

#[test]
fn a_cause_that_does_not_exist_is_a_matter_of_usage() {
    let (code, message) = refused(&["why", "plug.ded:3", DEAD_PLUG], b"");
    assert_eq!(code, 2);
    assert!(message.contains("plug.dead"), "{message}");
    let (code, message) = refused(&["why", "plug.dead", DEAD_PLUG], b"");
    assert_eq!(code, 2);
    assert!(message.contains("plug.dead:2"), "{message}");
    let (code, _) = refused(&["why", "plug.dead:9", DEAD_PLUG], b"");
    assert_eq!(code, 2);
}

/// The worked case of the trials: one odd trial among twelve, no odd cylinder.
#[test]
fn trials_are_judged_drawn_and_listed() {
    insta::assert_snapshot!("trials", text(&["trials", TRIALS]));
    let answer = document(&["trials", "--json", TRIALS]);
    assert_eq!(answer["schema"], "hardstart/trials/1");
    assert_eq!(answer["verdict"], "odd_trial");
    let counts = &answer["counts"];
    let count = |key: &str| counts[key].as_u64().unwrap();
    assert_eq!(count("recorded"), count("kept") + count("set_aside"));
    let (code, message) = refused(&["trials", DEAD_PLUG], b"");
    assert_eq!(code, 4);
    assert!(message.contains("no timings"), "{message}");
}

#[test]
fn a_network_lists_parents_before_children_and_its_width() {
    let answer = document(&[
        "network",
        "--cylinders",
        "2",
        "--temperature",
        "-10",
        "--json",
    ]);
    let mut known: Vec<&str> = Vec::new();
    for variable in answer["variables"].as_array().unwrap() {
        for parent in variable["parents"].as_array().unwrap() {
            assert!(known.contains(&parent.as_str().unwrap()), "{parent}");
        }
        known.push(variable["name"].as_str().unwrap());
    }
    assert!(known.contains(&"plug:2") && !known.contains(&"plug:3"));
    assert!(answer["width"]["entries"].as_f64().unwrap() > 1.0);
    let bif = text(&["network", "--cylinders", "1", "--format", "bif"]);
    assert!(bif.starts_with("network"), "{}", &bif[..60]);
}

#[test]
fn every_list_of_words_has_entries() {
    for kind in [
        "parts",
        "faults",
        "signs",
        "checks",
        "repairs",
        "tools",
        "access",
        "words",
        "issue-codes",
        "hazards",
    ] {
        let answer = document(&["vocab", kind, "--json"]);
        assert_eq!(answer["kind"], kind);
        assert!(!answer["entries"].as_array().unwrap().is_empty(), "{kind}");
        lines_fit_wide(&text(&["vocab", kind]));
    }
}

/// Words may come in any language, so only the width is looked at.
fn lines_fit_wide(text: &str) {
    assert!(text.lines().all(|l| l.chars().count() <= 80));
}

#[test]
fn every_document_has_a_schema_with_its_keys() {
    let named = text(&["schema"]);
    let answers = [
        ("causes", document(&["causes", "--json", DEAD_PLUG])),
        (
            "why",
            document(&["why", "plug.dead:3", "--json", DEAD_PLUG]),
        ),
        ("next", document(&["next", "--json", DEAD_PLUG])),
        ("plan", document(&["plan", "--json", DEAD_PLUG])),
        (
            "suppose",
            document(&["suppose", DEAD_PLUG, "crank_time=2 s", "--json"]),
        ),
        ("trials", document(&["trials", "--json", TRIALS])),
        ("network", document(&["network", "--json"])),
        ("vocab", document(&["vocab", "tools", "--json"])),
        ("units", document(&["units", "--json"])),
        (
            "peek",
            document(&["peek", "data/exchange/shop_a_messy.csv", "--json"]),
        ),
    ];
    for (name, answer) in &answers {
        assert!(named.lines().any(|l| l == *name));
        let schema = document(&["schema", name]);
        same_keys(name, &schema, answer);
    }
    let job = document(&["schema", "job"]);
    assert_eq!(job["properties"]["schema"]["const"], "hardstart/job/1");
}

/// Every object of the answer that the schema closes has exactly the keys it names.
fn same_keys(path: &str, schema: &Value, answer: &Value) {
    if let Some(list) = answer.as_array() {
        for item in list {
            same_keys(path, &schema["items"], item);
        }
    }
    let (Some(properties), Some(object)) = (schema["properties"].as_object(), answer.as_object())
    else {
        return;
    };
    for required in schema["required"].as_array().into_iter().flatten() {
        assert!(
            object.contains_key(required.as_str().unwrap()),
            "{path}: {required} is missing"
        );
    }
    for (key, value) in object {
        let Some(inner) = properties.get(key) else {
            assert_ne!(
                schema["additionalProperties"], false,
                "{path}: {key} is not named"
            );
            continue;
        };
        same_keys(&format!("{path}.{key}"), inner, value);
    }
}

#[test]
fn units_completions_and_the_manual_are_printed() {
    assert!(text(&["units"]).contains("kgf/cm"));
    assert!(text(&["completions", "bash"]).contains("hardstart"));
    let man = text(&["man"]);
    assert!(man.contains(".TH hardstart"), "{}", &man[..200]);
    assert!(man.contains("hardstart-causes") || man.contains("hardstart\\-causes"));
}

#[test]
fn no_arguments_give_short_help_with_two_examples() {
    let page = text(&[]);
    assert!(page.lines().count() < 12);
    assert_eq!(page.matches("  hardstart ").count(), 2, "{page}");
    let long = text(&["--help"]);
    assert!(long.starts_with("Examples:"), "{long}");
    assert!(long.contains("130  interrupted"), "{long}");
    assert!(text(&["causes", "--help"]).contains("Usage: hardstart causes"));
    assert!(text(&["--version"]).starts_with("hardstart "));
}

#[test]
fn a_command_line_that_is_not_understood_ends_with_2() {
    let (code, message) = refused(&["cuases", DEAD_PLUG], b"");
    assert_eq!(code, 2);
    assert!(message.contains("causes"), "{message}");
    let (code, message) = refused(&["causes", "--json"], b"");
    assert_eq!(code, 2);
    let errors: Value = serde_json::from_str(&message).unwrap();
    assert_eq!(errors["schema"], "hardstart/error/1");
}

#[test]
fn a_job_that_cannot_be_used_ends_with_4_and_says_where() {
    let (code, message) = refused(&["causes", "no such file"], b"");
    assert_eq!(code, 4);
    assert!(
        message.contains("no such file") && message.contains("Try: "),
        "{message}"
    );
    let job =
        b"schema = \"hardstart/job/1\"\njob = \"A\"\ncomplaint = \"x\"\n[engine]\ncylinders = 40\n";
    let (code, message) = refused(&["causes", "-"], job);
    assert_eq!(code, 4);
    assert!(
        message.contains("-:5:13") && message.contains("help: "),
        "{message}"
    );
    let (code, message) = refused(&["causes", "-", "--json"], job);
    assert_eq!(code, 4);
    let errors: Value = serde_json::from_str(&message).unwrap();
    let error = &errors["errors"][0];
    assert_eq!((&error["line"], &error["column"]), (&5.into(), &13.into()));
    assert!(error["what"].is_string() && error["try"].is_string());
}

#[test]
fn a_job_of_another_version_ends_with_5() {
    let job = b"schema = \"hardstart/job/9\"\njob = \"A\"\ncomplaint = \"x\"\n";
    let (code, message) = refused(&["causes", "-"], job);
    assert_eq!(code, 5, "{message}");
}

#[test]
fn figures_of_a_directory_are_read_and_all_their_problems_told() {
    let copy = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir("priors").unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), copy.path().join(entry.file_name())).unwrap();
    }
    let directory = copy.path().to_str().unwrap();
    let own = document(&["vocab", "tools", "--json", "--priors", directory]);
    let built_in = document(&["vocab", "tools", "--json"]);
    assert_eq!(own["figures_sha256"], built_in["figures_sha256"]);
    let air = copy.path().join("air.toml");
    let broken = std::fs::read_to_string(&air)
        .unwrap()
        .replace("label =", "lable =");
    std::fs::write(&air, broken).unwrap();
    std::fs::write(copy.path().join("pump.toml"), "format = 1\n[").unwrap();
    let (code, message) = refused(&["vocab", "tools", "--priors", directory], b"");
    assert_eq!(code, 4);
    assert!(
        message.contains("air.toml") && message.contains("pump.toml"),
        "{message}"
    );
    let (code, _) = refused(&["vocab", "tools", "--priors", "no such directory"], b"");
    assert_eq!(code, 4);
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(["vocab", "checks", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

/// A temperature of nothing on earth once built a network that did not add up, or passed unseen.
#[test]
fn a_temperature_no_engine_has_is_refused_where_it_is_typed() {
    for typed in ["nan", "1e300", "-61", "warm"] {
        let (code, said) = refused(&["network", "--temperature", typed], b"");
        assert_eq!(code, 2, "{typed}: {said}");
        assert!(said.contains("from -60 to 130"), "{typed}: {said}");
    }
}

/// An empty file of jobs was once answered with measures that are no numbers.
#[test]
fn entries_that_were_not_used_are_named() {
    // "11 of 12 entries" did not say which one.
    let job = "schema = \"hardstart/job/1\"\njob = \"u\"\ncomplaint = \"cranks long\"\n\
               [[entry]]\nreading = { check = \"lamp_at_strip\", value = \"bright\" }\n\
               [[entry]]\nreading = { check = \"cranking_volts\", value = \"not_tested\" }\n";
    let out = run(&["causes", "-"], job.as_bytes());
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(
        text.contains("Reckoned from 1 of 2 entries; not used: entry 2 (line 6)."),
        "{text}"
    );
}

#[test]
fn of_no_job_nothing_is_measured() {
    let (code, said) = refused(&["score", "-"], b"");
    assert_eq!(code, 4, "{said}");
    assert!(said.contains("there is no job in it"), "{said}");
}

/// A plan was once made of job files only, unlike the other answers; so was what is supposed.
#[test]
fn a_plan_is_made_of_a_job_of_the_book_too() {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("book.sqlite");
    let book = ["--book", book.to_str().unwrap()];
    let made = run(
        &[&["job", "new", "hard to start cold"][..], &book].concat(),
        b"",
    );
    assert!(made.status.success());
    let plan = text(&[&["plan", "--job", "1"][..], &book].concat());
    assert!(plan.contains("hard to start cold"), "{plan}");
    let reading = ["suppose", "--job", "1", "cranking_volts=8.4 V"];
    let supposed = text(&[&reading[..], &book].concat());
    assert!(
        supposed.contains("Suppose cranking_volts=8.4 V."),
        "{supposed}"
    );
}
