//! Any bytes as a foreign table under a fixed column map: the balance adds up and every job that
//! comes out is one our reader takes.
//!
//! Must not judge what a record says.
#![no_main]

use libfuzzer_sys::fuzz_target;

#[path = "../../soup/mod.rs"]
mod soup;

const MAP: &str = include_str!("../seeds/column_map/shop.toml");

fuzz_target!(|bytes: &[u8]| soup::import(bytes, Some(MAP), false));
