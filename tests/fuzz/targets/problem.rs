//! Any text as a stated problem of checks and repairs: refused with a reason, or a problem.
//!
//! Must not solve it: a problem that can be stated may be too large to solve here.
#![no_main]

use hardstart::planning::problem_from_json;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Err(error) = problem_from_json(text) {
        assert!(!error.to_string().is_empty());
    }
});
