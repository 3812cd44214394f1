//! What is written reads back as the same job, unknown keys included.

use hardstart::job::{Kept, read_json, read_toml, to_json, to_toml};
use proptest::prelude::*;

use crate::generated::job;
use crate::small::small;
use crate::{EXAMPLE, HEAD};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_job_comes_back_from_toml(job in job()) {
        let text = to_toml(&job);
        let back = read_toml(&text, "a.toml", small());
        let back = back.map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        prop_assert_eq!(back.job.without_positions(), job, "{}", text);
    }

    #[test]
    fn a_job_comes_back_from_json(job in job()) {
        let text = to_json(&job).to_string();
        let back = read_json(&text, "a.json", small());
        let back = back.map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        prop_assert_eq!(back.job.without_positions(), job, "{}", text);
    }
}

#[test]
fn the_example_comes_back_from_both() {
    let knowledge = small();
    let job = read_toml(EXAMPLE, "a.toml", knowledge)
        .unwrap()
        .job
        .without_positions();
    let toml = read_toml(&to_toml(&job), "a.toml", knowledge).unwrap().job;
    assert_eq!(toml.without_positions(), job);
    let json = read_json(&to_json(&job).to_string(), "a.json", knowledge)
        .unwrap()
        .job;
    assert_eq!(json.without_positions(), job);
}

#[test]
fn dates_of_unknown_keys_survive() {
    let text = EXAMPLE.replace(
        "[engine]",
        "[engine]\nbought = 1987-05-01\nspeeds = [1, 2.5]",
    );
    let knowledge = small();
    let job = read_toml(&text, "a.toml", knowledge).unwrap().job;
    assert_eq!(
        job.engine.extra["bought"],
        Kept::Moment("1987-05-01".to_owned())
    );
    let back = read_toml(&to_toml(&job), "a.toml", knowledge).unwrap().job;
    assert_eq!(back.engine.extra, job.engine.extra);
}

#[test]
fn a_start_of_which_nothing_is_known_comes_back() {
    let text = format!("{HEAD}[[entry]]\nstart = {{}}\n");
    let job = read_toml(&text, "a.toml", small()).unwrap().job;
    let back = read_toml(&to_toml(&job), "a.toml", small()).unwrap().job;
    assert_eq!(back.without_positions(), job.without_positions());
}
