//! What is said of a start after work is evidence of what remains.

use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::read_toml;
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};

/// An invented van: one plug open, renewed, and a cold start after it.
fn healthy(knowledge: &Knowledge, start: &str) -> f64 {
    let text = format!(
        r#"
schema = "hardstart/job/1"
job = "x"
complaint = "white smoke, starts hard"
engine = {{ cylinders = 4, chamber = "prechamber", preheat = "plugs", preheat_wiring = "strip" }}
[[entry]]
start = {{ engine_temperature = "-4 degC", soak = "13 h", crank_time = "21 s", miss = "one" }}
[[entry]]
reading = {{ check = "plug_ohms", cylinder = 3, value = "open" }}
[[entry]]
work = {{ repair = "replace_plug", cylinder = 3 }}
[[entry]]
start = {{ {start} }}
"#
    );
    let job = read_toml(&text, "job", knowledge).unwrap().job;
    causes(&gather(knowledge, &job).unwrap(), &job)
        .unwrap()
        .healthy
}

#[test]
fn better_not_right_leaves_more_to_find() {
    // "Better, not right" was left out, and the chance that nothing is wrong rose.
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let seen = r#"engine_temperature = "-6 degC", soak = "12 h", crank_time = "9 s", smoke_cranking = "white""#;
    let unsaid = healthy(&knowledge, seen);
    let better = healthy(&knowledge, &format!("{seen}, result = \"better\""));
    // More likely than not something remains; own judgement.
    assert!((0.05..0.5).contains(&better), "{better}");
    assert!(better < unsaid - 0.1, "{unsaid} to {better}");
}

#[test]
fn right_speaks_only_of_a_cold_start() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let warm = r#"engine_temperature = "60 degC", soak = "0.2 h""#;
    let said = healthy(&knowledge, &format!("{warm}, result = \"right\""));
    assert!((said - healthy(&knowledge, warm)).abs() < 1e-9);
    let cold = r#"engine_temperature = "-6 degC", soak = "12 h""#;
    let said = healthy(&knowledge, &format!("{cold}, result = \"right\""));
    assert!(said > healthy(&knowledge, cold));
}
