//! Any bytes as a job file: a job that survives writing and reading again, or problems with places.
//!
//! Must not judge what a job says.
#![no_main]

use std::sync::LazyLock;

use hardstart::job::{read_bytes, read_json, to_json};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use libfuzzer_sys::fuzz_target;

static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(&KnowledgeFiles::built_in()).expect("the built-in figures load"));

fuzz_target!(|bytes: &[u8]| {
    match read_bytes(bytes, "soup", &KNOWLEDGE) {
        Ok(parsed) => {
            let written = to_json(&parsed.job).to_string();
            if let Err(errors) = read_json(&written, "again", &KNOWLEDGE) {
                panic!("{}\n{written}", errors.summary());
            }
        }
        Err(errors) => {
            assert!(!errors.problems.is_empty());
            let text = String::from_utf8_lossy(bytes);
            assert!(!errors.render(&text).is_empty());
        }
    }
});
