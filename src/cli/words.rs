//! `vocab`, `schema`, `units`: the words, formats and units of the program.
//!
//! Must not word.

use super::args::{Common, Schema, Vocab};
use super::failure::Failure;
use super::{input, out};
use crate::report::{schema, units, vocab as words};

/// `hardstart vocab [KIND]`.
///
/// # Errors
/// When the figures cannot be used or the answer not written.
pub fn vocab(args: &Vocab, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    match (&args.kind, common.json) {
        (Some(kind), false) => out::text(&words::text(&knowledge, kind, out::layout())),
        (Some(kind), true) => out::document(&words::json(&knowledge, kind)),
        (None, false) => out::text(&words::kinds(&knowledge, out::layout())),
        (None, true) => out::document(&words::kinds_json(&knowledge)),
    }
}

/// `hardstart schema [NAME]`.
///
/// # Errors
/// When the answer cannot be written.
pub fn schemas(args: &Schema) -> Result<(), Failure> {
    match args.name.as_deref().and_then(schema::text) {
        Some(text) => out::text(text),
        None => out::text(&format!("{}\n", schema::names().join("\n"))),
    }
}

/// `hardstart units`.
///
/// # Errors
/// When the answer cannot be written.
pub fn list_units(common: &Common) -> Result<(), Failure> {
    if common.json {
        out::document(&units::json())
    } else {
        out::text(&units::text(out::layout()))
    }
}
