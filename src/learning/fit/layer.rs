//! Fitted figures as the text of a layer that `--fitted` lays over the figures.
//!
//! The same fit gives the same bytes. Must not fit anything or read text.

use std::fmt::Write;

use sha2::{Digest, Sha256};

use super::counts::Counts;
use super::moved::Moved;
use super::spread::Sureness;

/// Decimals that figures are written with; finer is beyond what any number of jobs can say.
const DECIMALS: usize = 9;

/// Hash of what is fitted, so that counts of different rounds are never put together.
#[must_use]
pub fn hash(moved: &Moved) -> String {
    let mut text = String::new();
    figures(&mut text, moved);
    let _ = writeln!(text, "{}", moved.shops_differ);
    for (fault, z) in &moved.shift {
        let _ = writeln!(text, "{fault} {z}");
    }
    let hash = Sha256::digest(text.as_bytes());
    hash.iter().map(|b| format!("{b:02x}")).collect()
}

/// The layer.
#[must_use]
pub fn layer(moved: &Moved, counts: &Counts, sureness: &[Sureness]) -> String {
    let mut text = String::from(
        "# Figures fitted from finished jobs. Laid over the figures by `--fitted FILE`.\n\
         # Do not edit: fit again.\nformat = 1\n\n[fitted]\n",
    );
    let _ = writeln!(text, "over = \"{}\"", counts.over);
    let _ = writeln!(text, "jobs = {}", counts.jobs);
    let hashes = counts
        .data
        .iter()
        .map(|h| format!("\"{h}\""))
        .collect::<Vec<_>>();
    let _ = writeln!(text, "data_sha256 = [{}]", hashes.join(", "));
    if let Some((first, last)) = &counts.days {
        let _ = writeln!(text, "first = \"{first}\"\nlast = \"{last}\"");
    }
    let _ = writeln!(text, "rounds = {}", counts.rounds);
    let _ = writeln!(text, "shops_differ = {:.DECIMALS$}", moved.shops_differ);
    for sure in sureness {
        let _ = writeln!(text, "\n[[root]]\nfault = \"{}\"", sure.fault);
        let _ = writeln!(text, "shift = {:.DECIMALS$}", sure.shift);
        let _ = writeln!(text, "low = {:.DECIMALS$}", sure.low);
        let _ = writeln!(text, "high = {:.DECIMALS$}", sure.high);
        let _ = writeln!(text, "jobs = {:.3}", sure.jobs);
    }
    figures(&mut text, moved);
    text
}

/// Labels and shops.
fn figures(text: &mut String, moved: &Moved) {
    for (name, list) in [("confirmed", &moved.confirmed), ("wrong", &moved.wrong)] {
        let _ = writeln!(text, "\n[{name}]");
        for (id, chance) in list {
            let _ = writeln!(text, "\"{id}\" = {chance:.DECIMALS$}");
        }
    }
    if moved.shops_differ > 0.0 {
        for (shop, systems) in &moved.shop {
            let quoted = serde_json::Value::String(shop.clone());
            let _ = writeln!(text, "\n[shop.{quoted}]");
            for (system, z) in systems {
                let _ = writeln!(text, "\"{system}\" = {z:.DECIMALS$}");
            }
        }
    }
}
