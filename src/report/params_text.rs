//! The figures that can be fitted, and what layers say of them.
//!
//! Must not compute beyond rounding.

use std::collections::BTreeMap;
use std::fmt::Write;

use serde_json::{Value, json};

use super::round::number;
use crate::knowledge::{FittedLayer, FittedRoot, Knowledge};
use crate::learning::fit::moved::Starter;

/// Schema of the figures.
pub const SCHEMA: &str = "hardstart/params/1";
/// Schema of a difference.
pub const DIFF_SCHEMA: &str = "hardstart/params_diff/1";
/// Differences of log-weight below this are none.
const LEVEL: f64 = 1e-9;

fn roots(layer: Option<&FittedLayer>) -> BTreeMap<&str, &FittedRoot> {
    let roots = layer.into_iter().flat_map(|l| &l.root);
    roots.map(|r| (r.fault.get_ref().as_str(), r)).collect()
}

/// Source and strength of each fault's share.
fn origin(knowledge: &Knowledge, fault: &str) -> (String, f64) {
    let part = fault.split('.').next().unwrap_or(fault);
    let part = knowledge.parts.iter().find(|p| p.id.get_ref() == part);
    part.map_or((String::new(), 0.0), |p| {
        let origin = knowledge.defaults[p.file].origin(p.source.as_deref(), p.strength);
        (origin.source, origin.strength)
    })
}

/// Shares as a page.
#[must_use]
pub fn show(knowledge: &Knowledge, layer: Option<&FittedLayer>) -> String {
    let starter = Starter::of(knowledge, 1.0);
    let roots = roots(layer);
    let mut page = format!("Figures {}\n", knowledge.sha256);
    if let Some(layer) = layer {
        let _ = writeln!(
            page,
            "Fitted from {} jobs, {} rounds",
            layer.fitted.jobs, layer.fitted.rounds
        );
    }
    let _ = writeln!(
        page,
        "of 100 complaints              before  fitted  strength  source"
    );
    for (fault, pseudo) in &starter.faults {
        let fitted = roots
            .get(fault.as_str())
            .map(|r| 100.0 * pseudo.at(r.shift));
        let fitted = fitted.map_or_else(|| "-".to_owned(), |s| format!("{s:.1}"));
        let (source, strength) = origin(knowledge, fault);
        let _ = writeln!(
            page,
            "{fault:<28}{:>8.1}{fitted:>8}{strength:>10.0}  {source}",
            100.0 * pseudo.p
        );
    }
    page
}

/// Shares as JSON.
#[must_use]
pub fn show_json(knowledge: &Knowledge, layer: Option<&FittedLayer>) -> Value {
    let starter = Starter::of(knowledge, 1.0);
    let roots = roots(layer);
    let row = |(fault, pseudo): &(String, crate::learning::fit::moved::Pseudo)| {
        let root = roots.get(fault.as_str());
        let (source, strength) = origin(knowledge, fault);
        json!({
            "fault": fault,
            "share": number(pseudo.p),
            "fitted": root.map(|r| number(pseudo.at(r.shift))),
            "shift": root.map(|r| number(r.shift)),
            "low": root.map(|r| number(r.low)),
            "high": root.map(|r| number(r.high)),
            "strength": number(strength),
            "source": source,
        })
    };
    json!({
        "schema": SCHEMA,
        "figures_sha256": knowledge.sha256,
        "roots": starter.faults.iter().map(row).collect::<Vec<_>>(),
    })
}

/// Fault, shifts in both, and whether their ranges lie apart; farthest first.
fn differences<'a>(
    first: &'a FittedLayer,
    second: Option<&'a FittedLayer>,
) -> Vec<(&'a str, f64, f64, bool)> {
    let (first, second) = (roots(Some(first)), roots(second));
    let mut list: Vec<(&str, f64, f64, bool)> = Vec::new();
    for fault in first.keys().chain(second.keys()) {
        let at = |r: Option<&&FittedRoot>| r.map_or([0.0; 3], |r| [r.shift, r.low, r.high]);
        let (a, b) = (at(first.get(fault)), at(second.get(fault)));
        let apart = a[1] > b[2] || b[1] > a[2];
        if (a[0] - b[0]).abs() > LEVEL && !list.iter().any(|(f, ..)| f == fault) {
            list.push((*fault, a[0], b[0], apart));
        }
    }
    list.sort_by(|a, b| (b.1 - b.2).abs().total_cmp(&(a.1 - a.2).abs()));
    list
}

/// What two layers say differently, as a page.
#[must_use]
pub fn diff(first: &FittedLayer, second: Option<&FittedLayer>) -> String {
    let list = differences(first, second);
    if list.is_empty() {
        return "They say the same.\n".to_owned();
    }
    let name = second.map_or("starter", |_| "second");
    let mut page = format!("odds of the starter figures times    first  {name:>7}\n");
    for (fault, a, b, apart) in list {
        let note = if apart { "  ranges lie apart" } else { "" };
        let _ = writeln!(page, "{fault:<33}{:>9.2}{:>9.2}{note}", a.exp(), b.exp());
    }
    page
}

/// The same as JSON.
#[must_use]
pub fn diff_json(first: &FittedLayer, second: Option<&FittedLayer>) -> Value {
    let row = |(fault, a, b, apart): (&str, f64, f64, bool)| json!({"fault": fault, "first": number(a), "second": number(b), "ranges_apart": apart});
    let rows = differences(first, second).into_iter().map(row);
    json!({"schema": DIFF_SCHEMA, "roots": rows.collect::<Vec<_>>()})
}
