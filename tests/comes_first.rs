//! What comes before any check of a job: the first start, or the cold start after work.

use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::report::comes_first::{First, comes_first};
use hardstart::report::names;

fn first(more: &str) -> Option<First> {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let text = format!(
        "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"y\"\n\
         engine = {{ cylinders = 4 }}\n{more}"
    );
    comes_first(
        &read_toml(&text, "job", &knowledge).unwrap().job,
        &knowledge,
    )
}

#[test]
fn an_empty_job_begins_with_the_first_start_unless_it_cannot() {
    assert_eq!(first(""), Some(First::Watch));
    assert_eq!(first("bench = { arrived = \"cold\" }"), Some(First::Watch));
    for arrived in ["warm", "not_here_yet"] {
        assert_eq!(
            first(&format!("bench = {{ arrived = \"{arrived}\" }}")),
            None
        );
    }
    assert_eq!(first(START), None);
    // What keeps the cold and needs nothing taken off leaves the start to be watched; covers that are
    // off do not.
    let read = |check: &str, value: &str| {
        first(&format!(
            "[[entry]]\nreading = {{ check = \"{check}\", {value} }}\n"
        ))
    };
    assert_eq!(
        read("battery_rest_volts", "value = \"12.5 V\""),
        Some(First::Watch)
    );
    assert_eq!(
        read("series_lamp_per_plug", "cylinder = 2, value = \"dark\""),
        None
    );
}

const START: &str = "[[entry]]\nstart = { engine_temperature = \"-6 degC\", soak = \"12 h\", \
                     crank_time = \"24 s\" }\n";

#[test]
fn work_done_waits_for_the_start_that_proves_it() {
    let work = format!("{START}[[entry]]\nwork = {{ repair = \"replace_plug\", cylinder = 2 }}\n");
    let says = first(&work).unwrap().in_words();
    assert!(
        says.contains("after 8 h or more, at -3 degC or colder"),
        "{says}"
    );
    let right = format!(
        "{work}[[entry]]\nstart = {{ engine_temperature = \"-6 degC\", soak = \"12 h\", \
         result = \"right\" }}\n"
    );
    assert_eq!(first(&right), None);
}

#[test]
fn spans_of_seconds_read_as_such_wherever_a_sign_is_named() {
    for (id, text) in [
        ("s8_20", "8 to 20 s"),
        ("under_3", "under 3 s"),
        ("stays_on", "stays on"),
    ] {
        assert_eq!(names::state(id), text);
    }
}

#[test]
fn a_look_that_opens_nothing_leaves_the_first_start_first() {
    // Rest volts were read, and the next check took the covers off before the one start of the day.
    let read = |check: &str, value: &str| {
        format!(
            "bench = {{ arrived = \"cold\" }}\n[[entry]]\nreading = {{ check = \"{check}\", value = \"{value}\" }}\n"
        )
    };
    assert_eq!(
        first(&read("battery_rest_volts", "12.5 V")),
        Some(First::Watch)
    );
    let opened = read("plug_ohms", "0.8 Ohm").replace("value", "cylinder = 1, value");
    assert_eq!(first(&opened), None);
}
