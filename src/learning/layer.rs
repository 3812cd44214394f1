//! The generated root layer as the text of `priors/roots.toml`.
//!
//! Must not fit anything; the same layer gives the same bytes.

use std::fmt::Write;

use crate::knowledge::RootLayer;

/// The layer as a knowledge file.
#[must_use]
pub fn root_layer_toml(layer: &RootLayer) -> String {
    let mut text = String::from(
        "# Generated: starting chances fitted so that, given the complaint, each fault has its share\n\
         # (engines.toml) in every temperature band of every kind of engine, and log-odds for other\n\
         # contexts. Do not edit: change the shares or the figures and run `hardstart fit roots`.\n\
         format = 1\n\n[defaults]\nsource = \"fitted to the shares of engines.toml\"\nstrength = 10.0\n\n[roots]\n",
    );
    for cell in &layer.cell {
        let _ = writeln!(text, "\n[[roots.cell]]");
        let _ = writeln!(text, "band = \"{}\"", cell.band);
        let _ = writeln!(text, "chamber = \"{}\"", cell.chamber);
        let _ = writeln!(text, "preheat = \"{}\"", cell.preheat);
        let _ = writeln!(text, "[roots.cell.chance]");
        for (fault, chance) in &cell.chance {
            let _ = writeln!(text, "\"{fault}\" = {chance}");
        }
    }
    for other in &layer.other {
        let _ = writeln!(text, "\n[[roots.other]]");
        let _ = writeln!(text, "context = \"{}\"", other.context.get_ref());
        let _ = writeln!(text, "[roots.other.offset]");
        for (fault, offset) in &other.offset {
            let _ = writeln!(text, "\"{fault}\" = {offset:?}");
        }
    }
    text
}
