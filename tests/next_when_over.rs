//! What is said of a job on which nothing remains to be done, by the program itself, and that
//! cautions stand where a step is named.

use std::path::PathBuf;
use std::process::Command;

use serde_json::Value;

const STARTED_BADLY: &str = "schema = \"hardstart/job/1\"\njob = \"BL-13\"\n\
    complaint = \"one cylinder late on cold mornings\"\n\
    engine = { cylinders = 4, chamber = \"swirl\", preheat = \"plugs\" }\n\
    [[entry]]\nstart = { engine_temperature = \"-2 degC\", soak = \"10 h\", miss = \"one\" }\n\
    [[entry]]\nreading = { check = \"plug_ohms\", cylinder = 3, value = \"open\" }\n\
    [[entry]]\nwork = { repair = \"replace_plug\", cylinder = 3 }\n";
const STARTED_RIGHT: &str = "[[entry]]\nstart = { engine_temperature = \"-3 degC\", \
    soak = \"12 h\", after_work = true, result = \"right\" }\n";
const BETTER: &str = "[[entry]]\nstart = { engine_temperature = \"-3 degC\", \
    soak = \"12 h\", after_work = true, result = \"better\" }\n";
/// A plug that glows after more than forty seconds, and nothing else.
const ONE_SLOW_PLUG: &str = "schema = \"hardstart/job/1\"\njob = \"BL-14\"\n\
    complaint = \"hard to start cold\"\n\
    engine = { cylinders = 4, chamber = \"swirl\", preheat = \"plugs\", pump = \"rotary\", \
    system_volts = 12 }\n[[entry]]\n\
    reading = { check = \"plug_glow_time\", cylinder = 2, value = \"> 40 s\" }\n";
const LEFT: &str = "[[entry]]\nmark = { state = \"left_as_is\" }\n";
const OPEN: &str = "[[entry]]\nmark = { state = \"open\" }\n";

/// A job file that is gone with its name.
struct File(PathBuf);

impl File {
    fn new(name: &str, text: &str) -> Self {
        let path = std::env::temp_dir().join(format!("over_{}_{name}.toml", std::process::id()));
        std::fs::write(&path, text).unwrap();
        Self(path)
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

fn text(command: &str, more: &[&str], file: &File) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .arg(command)
        .arg(&file.0)
        .args(more)
        .env("LC_ALL", "C")
        .env("COLUMNS", "80")
        .output()
        .unwrap();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{command}: {errors}");
    String::from_utf8(output.stdout).unwrap()
}

fn document(command: &str, file: &File) -> Value {
    serde_json::from_str(&text(command, &["--json"], file)).unwrap()
}

#[test]
fn a_proven_job_is_not_given_another_check() {
    let file = File::new("proven", &format!("{STARTED_BADLY}{STARTED_RIGHT}"));
    let next = document("next", &file);
    assert_eq!(next["over"], "done_proven");
    assert_eq!(next["moves"].as_array().unwrap().len(), 0);
    let said = text("next", &[], &file);
    assert!(said.contains("nothing remains to be done"), "{said}");
    let plan = document("plan", &file);
    assert!(plan["tree"].is_null() && plan["over"] == "done_proven");
    for more in [&[][..], &["--svg"]] {
        let said = text("plan", more, &file);
        assert!(said.contains("nothing remains to be done"), "{said}");
    }
}

#[test]
fn a_job_left_as_it_is_is_over_and_one_that_was_only_better_is_not() {
    let file = File::new("left", &format!("{STARTED_BADLY}{BETTER}{LEFT}"));
    assert_eq!(document("next", &file)["over"], "left_as_is");
    for (name, text) in [
        ("better", format!("{STARTED_BADLY}{BETTER}")),
        ("again", format!("{STARTED_BADLY}{STARTED_RIGHT}{OPEN}")),
    ] {
        let next = document("next", &File::new(name, &text));
        assert!(next["over"].is_null(), "{name}: {next}");
        assert!(!next["moves"].as_array().unwrap().is_empty(), "{name}");
    }
}

#[test]
fn what_is_supposed_comes_with_the_cautions_of_the_steps_it_names() {
    let file = File::new("supposed", STARTED_BADLY);
    let said = text("suppose", &["plug_ohms:3=0.7 ohm"], &file);
    let care = said.find("Take care");
    let next = said.find("Next would be: ").unwrap();
    assert!(care.is_none_or(|c| c < next), "{said}");
    assert!(!said.contains("stand in"), "{said}");
}

/// A check came first that led to the same repair whatever it showed: it was looked at one move
/// deeper than that repair, and so seemed to save half an hour.
#[test]
fn a_check_that_changes_nothing_does_not_come_before_what_follows_it_anyway() {
    let file = File::new("slow-plug", ONE_SLOW_PLUG);
    let answer: Value = serde_json::from_str(&text("next", &["--json"], &file)).unwrap();
    let first = &answer["moves"][0];
    let leads = first["outcomes"].as_array().into_iter().flatten();
    let mut leads = leads.map(|o| &o["leads_to"]).collect::<Vec<_>>();
    leads.dedup();
    assert!(leads.len() != 1, "{first}");
}
