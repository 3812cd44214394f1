//! Any bytes as a file with one JSON job a line: every line that is not blank is a job or problems.
//!
//! Must not judge what a job says.
#![no_main]

use std::sync::LazyLock;

use hardstart::job::read_ndjson;
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use libfuzzer_sys::fuzz_target;

static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(&KnowledgeFiles::built_in()).expect("the built-in figures load"));

fuzz_target!(|bytes: &[u8]| {
    let lines = bytes.split(|b| *b == b'\n');
    let wanted = lines
        .filter(|line| !line.iter().all(u8::is_ascii_whitespace))
        .count();
    let mut read = 0;
    for line in read_ndjson(bytes, "soup", &KNOWLEDGE) {
        let line = line.expect("memory can be read");
        if let Err(errors) = line.job {
            assert!(!errors.problems.is_empty());
        }
        read += 1;
    }
    assert_eq!(read, wanted, "a line was lost");
});
