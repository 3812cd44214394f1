//! A fit for people and as JSON, and the record of its run.
//!
//! Must not compute beyond rounding.

use std::fmt::Write;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::round::number;
use super::score_text;
use crate::knowledge::Knowledge;
use crate::learning::fit::run::Fit;
use crate::learning::fit::spread::Sureness;
use crate::scoring::compare::Comparison;

/// Schema of a fit.
pub const SCHEMA: &str = "hardstart/fit/1";
/// Schema of the record of a run.
pub const RUN_SCHEMA: &str = "hardstart/fit_run/1";
/// Causes listed on the page.
const LISTED: usize = 12;

/// The jobs held out of a fit, under both sets of figures.
#[derive(Debug, Clone, Copy)]
pub struct HeldOut<'a> {
    /// Jobs.
    pub jobs: usize,
    /// Fitted less starter figures.
    pub comparison: &'a Comparison,
}

/// Everything that is told of a fit.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The starter figures.
    pub knowledge: &'a Knowledge,
    /// The fit.
    pub fit: &'a Fit,
    /// How sure its figures are.
    pub sureness: &'a [Sureness],
    /// The layer as written.
    pub layer: &'a str,
    /// Seed of folds and resampling.
    pub seed: u64,
    /// What the starter figures' worth was multiplied by.
    pub weight: f64,
    /// The jobs held out, if any.
    pub held_out: Option<HeldOut<'a>>,
}

/// Hash of a text, in hexadecimal.
#[must_use]
pub fn sha256(text: &str) -> String {
    let hash = Sha256::digest(text.as_bytes());
    hash.iter().map(|b| format!("{b:02x}")).collect()
}

/// Causes in the order of how far their share moved, in spreads of it.
pub(super) fn most_moved(list: &[Sureness]) -> Vec<&Sureness> {
    let mut list = list.iter().collect::<Vec<_>>();
    let far = |s: &Sureness| s.shift.abs() / s.deviation.max(f64::MIN_POSITIVE);
    list.sort_by(|a, b| far(b).total_cmp(&far(a)));
    list
}

/// One row of a table of shares.
pub(super) fn share_row(s: &Sureness) -> String {
    let end = |z: f64| {
        let odds = s.shares[0] / (1.0 - s.shares[0]) * z.exp();
        100.0 * odds / (1.0 + odds)
    };
    let note = if s.hardly_moved { "  hardly moved" } else { "" };
    format!(
        "{:<28}{:>8.1}{:>8.1}   {:>5.1} to {:<5.1}{:>8.0}{note}",
        s.fault,
        100.0 * s.shares[0],
        100.0 * s.shares[1],
        end(s.low),
        end(s.high),
        s.jobs
    )
}

/// Heading of that table.
pub(super) const SHARE_HEAD: &str =
    "of 100 complaints              before  fitted    80 % range      jobs";

/// The page.
#[must_use]
pub fn page(told: &Told<'_>) -> String {
    let counts = &told.fit.counts;
    let mut page = format!("{} jobs counted", counts.jobs);
    for (why, n) in &counts.left_out {
        let _ = write!(page, ", {n} left out ({})", why.replace('_', " "));
    }
    let rounds = told.fit.log_likelihood.len().saturating_sub(1);
    let _ = writeln!(
        page,
        "\n{rounds} rounds{}",
        if told.fit.settled {
            ""
        } else {
            ", not settled"
        }
    );
    let _ = writeln!(page, "round  log likelihood       objective");
    for (round, (log, all)) in told
        .fit
        .log_likelihood
        .iter()
        .zip(&told.fit.objective)
        .enumerate()
    {
        let _ = writeln!(page, "{round:>5}{log:>16.4}{all:>16.4}");
    }
    let differ = told.fit.moved.shops_differ;
    let shops = counts.shops.keys().filter(|s| !s.is_empty()).count();
    let _ = match differ {
        d if d > 0.0 => writeln!(page, "{shops} shops differ, spread of log-odds {d:.2}"),
        _ => writeln!(page, "{shops} shops, taken as alike"),
    };
    let _ = writeln!(page, "\n{SHARE_HEAD}");
    for sure in most_moved(told.sureness).into_iter().take(LISTED) {
        let _ = writeln!(page, "{}", share_row(sure));
    }
    let hardly = told.sureness.iter().filter(|s| s.hardly_moved).count();
    let _ = writeln!(
        page,
        "{hardly} of {} hardly moved: the jobs say less than the starter figures",
        told.sureness.len()
    );
    if let Some(held) = told.held_out {
        let _ = writeln!(
            page,
            "\n{} jobs held out: starter figures first, fitted second",
            held.jobs
        );
        page.push_str(&score_text::comparison_means(held.comparison));
    }
    page
}

fn shares(told: &Told<'_>) -> Vec<Value> {
    let row = |s: &Sureness| {
        json!({
            "fault": s.fault,
            "shift": number(s.shift),
            "low": number(s.low),
            "high": number(s.high),
            "share_before": number(s.shares[0]),
            "share": number(s.shares[1]),
            "jobs": number(s.jobs),
            "hardly_moved": s.hardly_moved,
        })
    };
    told.sureness.iter().map(row).collect()
}

/// The fit as one document.
#[must_use]
pub fn document(told: &Told<'_>) -> Value {
    let mut document = record(told);
    document["schema"] = json!(SCHEMA);
    document["roots"] = Value::Array(shares(told));
    document["confirmed"] = super::round::all(json!(told.fit.moved.confirmed));
    document["wrong"] = super::round::all(json!(told.fit.moved.wrong));
    document["shop"] = super::round::all(json!(told.fit.moved.shop));
    document
}

/// The record of the run.
#[must_use]
pub fn record(told: &Told<'_>) -> Value {
    let counts = &told.fit.counts;
    let list = |list: &[f64]| list.iter().map(|x| number(*x)).collect::<Vec<_>>();
    json!({
        "schema": RUN_SCHEMA,
        "program": format!("hardstart {}", env!("CARGO_PKG_VERSION")),
        "starter_sha256": counts.over,
        "data_sha256": counts.data,
        "layer_sha256": sha256(told.layer),
        "seed": told.seed,
        "starter_weight": number(told.weight),
        "jobs": counts.jobs,
        "left_out": counts.left_out,
        "engines": counts.engines,
        "shops": counts.shops,
        "days": counts.days,
        "rounds": told.fit.log_likelihood.len().saturating_sub(1),
        "settled": told.fit.settled,
        "shops_differ": number(told.fit.moved.shops_differ),
        "log_likelihood": list(&told.fit.log_likelihood),
        "objective": list(&told.fit.objective),
        "held_out": told.held_out.map(|h| score_text::comparison_json(h.comparison)),
    })
}
