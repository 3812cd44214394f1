//! A job that took several repairs: what all its starts say together is too much for exact work. It
//! was refused, and with it the list, the sheet, and the closing of a job that was proven.

use std::path::PathBuf;
use std::process::Command;

use serde_json::Value;

const JOB: &str = r#"schema = "hardstart/job/1"
job = "BL-15"
complaint = "hard to start cold, smokes white"
engine = { cylinders = 4, chamber = "swirl", preheat = "plugs", preheat_wiring = "strip", pump = "rotary", system_volts = 12 }
[[entry]]
start = { engine_temperature = "-6 degC", soak = "12 h", crank_time = "14.5 s", smoke_cranking = "white" }
[[entry]]
reading = { check = "series_lamp_per_plug", cylinder = 3, value = "dark" }
[[entry]]
work = { repair = "replace_plug", cylinder = 3 }
[[entry]]
start = { engine_temperature = "-7 degC", soak = "12 h", crank_time = "7 s", smoke_cranking = "white", after_work = true, result = "better" }
"#;
const MENDED: &str = r#"[[entry]]
work = { repair = "charge_battery" }
[[entry]]
start = { engine_temperature = "-8 degC", soak = "12 h", crank_time = "2.5 s", smoke_cranking = "none", after_work = true, result = "right" }
"#;

/// A job file that is gone with its name.
struct File(PathBuf);

impl File {
    fn new(name: &str, text: &str) -> Self {
        let path = std::env::temp_dir().join(format!("starts_{}_{name}.toml", std::process::id()));
        std::fs::write(&path, text).unwrap();
        Self(path)
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

fn says(args: &[&str], file: &File) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardstart"));
    let command = command.arg(args[0]).arg(&file.0).args(&args[1..]);
    let output = command.env("LC_ALL", "C").env("COLUMNS", "80").output();
    let output = output.unwrap();
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {told}");
    String::from_utf8(output.stdout).unwrap()
}

fn document(command: &str, file: &File) -> Value {
    serde_json::from_str(&says(&[command, "--json"], file)).unwrap()
}

fn left_out(answer: &Value) -> Vec<u64> {
    let notes = answer["notes"].as_array().into_iter().flatten();
    let notes = notes.filter(|n| n["code"] == "TOO_MUCH");
    notes.map(|n| n["entry"].as_u64().unwrap()).collect()
}

#[test]
fn a_job_mended_twice_is_answered_without_the_start_between_and_says_so() {
    let file = File::new("twice", &format!("{JOB}{MENDED}"));
    let answer = document("causes", &file);
    assert_eq!(left_out(&answer), [4]);
    let text = says(&["causes"], &file);
    assert!(text.contains("too much to reckon with"), "{text}");
    assert!(text.contains("Reckoned from 5 of 6 entries"), "{text}");
    for command in ["next", "sheet"] {
        assert!(!says(&[command], &file).is_empty());
    }
    // The right start after the last work speaks against what is mended and for nothing else.
    let first = &answer["causes"][0];
    assert!(first["chance"].as_f64().unwrap() < 0.5, "{first}");
}

#[test]
fn a_job_mended_once_is_answered_with_all_it_says() {
    let file = File::new("once", JOB);
    assert_eq!(left_out(&document("causes", &file)), Vec::<u64>::new());
}
