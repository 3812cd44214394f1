//! Scores of many jobs, for people and as JSON.
//!
//! Must not compute beyond rounding.

use std::fmt::Write;

use serde_json::{Value, json};

use super::round::{number, rounded};
use crate::scoring::batch::{ANSWERS, FIGURES_ONLY, MOST_COMMON, NAIVE_BAYES};
use crate::scoring::compare::Comparison;
use crate::scoring::interval::Interval;
use crate::scoring::summary::{Estimate, Summary};

/// Schema of a summary.
pub const SUMMARY_SCHEMA: &str = "hardstart/score_summary/1";
/// Schema of a comparison.
pub const COMPARE_SCHEMA: &str = "hardstart/compare/1";

fn with(estimate: &Estimate, digits: usize) -> String {
    let Estimate { value, interval } = estimate;
    format!(
        "{value:.digits$}  ({:.digits$} to {:.digits$})",
        interval.low, interval.high
    )
}

fn of_hundred(x: f64) -> String {
    format!("{:.0} of 100", 100.0 * x)
}

/// The summary as a page.
#[must_use]
pub fn summary(summary: &Summary) -> String {
    let mut page = format!(
        "{} jobs read, {} scored; weights follow the proof, intervals are 95 %\n",
        summary.jobs, summary.scored
    );
    for (flag, n) in &summary.flags {
        let _ = writeln!(page, "  {n:>6}  {}", flag.replace('_', " "));
    }
    if summary.scored == 0 {
        page.push_str("No job has a cause that is known: there is nothing to measure.\n");
        return page;
    }
    let mut row = |name: &str, estimate: Option<Estimate>, digits| {
        if let Some(estimate) = estimate {
            let _ = writeln!(page, "{name:<34}{}", with(&estimate, digits));
        }
    };
    row("log score, true causes", summary.log_score(), 3);
    row("log score, all causes", summary.log_score_all(), 3);
    row("Brier score, all causes of a job", summary.brier(), 4);
    row("place of the true cause, mean", summary.rank(), 2);
    for (depth, share) in summary.tops() {
        let name = format!("true cause among the first {depth}");
        let ends = (
            of_hundred(share.interval.low),
            of_hundred(share.interval.high),
        );
        let _ = writeln!(
            page,
            "{name:<34}{}  ({} to {})",
            of_hundred(share.value),
            ends.0.trim_end_matches(" of 100"),
            ends.1
        );
    }
    let rivals = summary.rivals();
    if !rivals.is_empty() {
        let _ = writeln!(
            page,
            "\nWhich one was it (log of its share; higher is better)"
        );
        for (name, estimate) in &rivals {
            let name = match name.as_str() {
                ANSWERS => "these answers",
                FIGURES_ONLY => "figures only, nothing seen",
                MOST_COMMON => "how common each was",
                NAIVE_BAYES => "naive Bayes, blanks skipped",
                other => other,
            };
            let _ = writeln!(page, "  {name:<32}{}", with(estimate, 3));
        }
    }
    let parts = summary.decomposition();
    let _ = writeln!(
        page,
        "\nBrier score a chance {:.5} = {:.5} off the mark - {:.5} told apart + {:.5} in the matter",
        parts.brier(),
        parts.reliability,
        parts.resolution,
        parts.uncertainty
    );
    let _ = writeln!(
        page,
        "\nWhen it says      it was so       (interval)      how often said"
    );
    for row in summary.table() {
        let _ = writeln!(
            page,
            "  {:>3.0} to {:>3.0}     {:>5.1} for {:>5.1}   {:>5.1} to {:>5.1}   {:>9}",
            100.0 * row.from,
            100.0 * row.to,
            100.0 * row.observed,
            100.0 * row.forecast,
            100.0 * row.interval.low,
            100.0 * row.interval.high,
            row.n
        );
    }
    page
}

fn interval(i: Interval) -> Value {
    json!([number(i.low), number(i.high)])
}

fn estimate(e: Option<Estimate>) -> Value {
    e.map_or(
        Value::Null,
        |e| json!({ "value": number(e.value), "interval": interval(e.interval) }),
    )
}

/// The summary as JSON.
#[must_use]
pub fn summary_json(summary: &Summary, figures_sha256: &str) -> Value {
    let tops = summary.tops().into_iter().map(|(d, e)| {
        let e = estimate(Some(e));
        json!({ "first": d, "share": e })
    });
    let rivals = summary.rivals().into_iter();
    let rivals = rivals
        .map(|(n, e)| (n, estimate(Some(e))))
        .collect::<serde_json::Map<_, _>>();
    let parts = summary.decomposition();
    let rows = summary.table().into_iter().map(|r| {
        json!({ "from": r.from, "to": r.to, "n": r.n, "forecast": number(r.forecast),
                "observed": number(r.observed), "interval": interval(r.interval) })
    });
    let curve = summary.curve();
    let steps = curve
        .steps
        .iter()
        .map(|(x, y)| json!([number(*x), number(*y)]));
    json!({
        "schema": SUMMARY_SCHEMA,
        "figures_sha256": figures_sha256,
        "jobs": summary.jobs,
        "scored": summary.scored,
        "flags": summary.flags,
        "log_score": estimate(summary.log_score()),
        "log_score_all": estimate(summary.log_score_all()),
        "brier": estimate(summary.brier()),
        "rank": estimate(summary.rank()),
        "tops": tops.collect::<Vec<_>>(),
        "rivals": rivals,
        "decomposition": { "reliability": number(parts.reliability),
            "resolution": number(parts.resolution), "uncertainty": number(parts.uncertainty) },
        "calibration": rows.collect::<Vec<_>>(),
        "curve": steps.collect::<Vec<_>>(),
    })
}

/// A comparison as a page.
#[must_use]
pub fn comparison(c: &Comparison) -> String {
    let mut page = format!("{} jobs in both", c.paired);
    for (n, what) in [
        (c.only_first, "in the first only"),
        (c.only_second, "in the second only"),
        (c.other_labels, "with other labels, not compared"),
    ] {
        if n > 0 {
            let _ = write!(page, ", {n} {what}");
        }
    }
    page.push('\n');
    page.push_str(&comparison_means(c));
    if !c.flips.is_empty() {
        let _ = writeln!(page, "True cause came to the first place, or left it");
        for flip in &c.flips {
            let _ = writeln!(
                page,
                "  {}  place {} -> {}",
                flip.job, flip.before, flip.after
            );
        }
    }
    page
}

/// The means of a comparison, and on how many jobs the second is better.
#[must_use]
pub fn comparison_means(c: &Comparison) -> String {
    let mut page = "Second less first, mean over jobs (95 % interval)\n".to_owned();
    for (name, (mean, interval)) in &c.differences {
        let (better, worse) = if name == "brier" {
            ("worse", "better")
        } else {
            ("better", "worse")
        };
        let verdict = if interval.low > 0.0 {
            format!("the second is {better}")
        } else if interval.high < 0.0 {
            format!("the second is {worse}")
        } else {
            "could be chance".to_owned()
        };
        let _ = writeln!(
            page,
            "  {:<16}{mean:+.4}  ({:+.4} to {:+.4})  {verdict}",
            name.replace('_', " "),
            interval.low,
            interval.high
        );
    }
    let _ = writeln!(page, "{} jobs better, {} worse", c.better, c.worse);
    page
}

/// A comparison as JSON.
#[must_use]
pub fn comparison_json(c: &Comparison) -> Value {
    let differences = c.differences.iter().map(|(name, (mean, i))| {
        let value = json!({ "mean": rounded(*mean), "interval": interval(*i) });
        (name.clone(), value)
    });
    let flips = c
        .flips
        .iter()
        .map(|f| json!({ "job": f.job, "before": f.before, "after": f.after }));
    json!({
        "schema": COMPARE_SCHEMA,
        "paired": c.paired,
        "only_first": c.only_first,
        "only_second": c.only_second,
        "other_labels": c.other_labels,
        "differences": differences.collect::<serde_json::Map<_, _>>(),
        "better": c.better,
        "worse": c.worse,
        "flips": flips.collect::<Vec<_>>(),
    })
}
