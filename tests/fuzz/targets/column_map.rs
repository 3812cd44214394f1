//! Any text as a column map of a small sound table: problems with places, or an import that adds up.
//!
//! Must not judge what a record says.
#![no_main]

use libfuzzer_sys::fuzz_target;

#[path = "../../soup/mod.rs"]
mod soup;

const TABLE: &[u8] = include_bytes!("../seeds/table/shop.csv");

fuzz_target!(|map: &str| {
    if let Err(problems) = hardstart::exchange::map::read(map) {
        assert!(!problems.is_empty());
    }
    soup::import(TABLE, Some(map), false);
});
