//! From JSON values to a problem, field by field, every complaint kept.
//!
//! Each reader returns something usable even when it complains, so that one run names all
//! the fields that are wrong. Must not judge figures: `validate` does.

use serde_json::Value;

use super::error::Complaints;
use super::json_object::{Object, numbers};
use super::problem::{Check, Fault, Group, Hypotheses, Hypothesis, Outcomes, Problem, Repair};

const TOP: &[&str] = &[
    "model",
    "faults",
    "hypotheses",
    "tests",
    "repairs",
    "groups",
    "verify_cost",
    "call_cost",
    "verify_access",
    "open_now",
];
const TEST: &[&str] = &[
    "name",
    "cost",
    "group",
    "access",
    "closes",
    "lik",
    "leak",
    "link",
    "risk",
    "max_times",
    "persist",
    "repeat_cost",
    "outcomes",
];
const REPAIR: &[&str] = &["name", "cost", "group", "access", "fix", "fault"];
const GROUP: &[&str] = &["name", "open_cost", "stays_open"];

/// Reads a problem out of `value`.
pub(super) fn read_problem(value: &Value, bad: &mut Complaints) -> Problem {
    let mut top = Object::new(String::new(), value, bad);
    top.known(TOP);
    let model = match top.get("model").map(|v| (v, v.as_str())) {
        None | Some((_, Some("single"))) => "single",
        Some((_, Some("multi"))) => "multi",
        Some((_, Some("listed"))) => "listed",
        Some((other, _)) => {
            let what = format!("{other} is not a model");
            top.bad
                .add("model", what, "use \"single\", \"multi\" or \"listed\"");
            "single"
        }
    };
    let verify_minutes = top.number("verify_cost", Some(0.0));
    let hand_over_minutes = top.number("call_cost", None);
    let verify_access = top.indices("verify_access");
    let open_now = top.indices("open_now");
    let (faults, priors): (Vec<Fault>, Vec<f64>) = top
        .each("faults", |o| {
            o.known(&["name", "prior"]);
            let prior = if model == "listed" { Some(0.0) } else { None };
            (
                Fault {
                    name: o.text("name"),
                },
                o.number("prior", prior),
            )
        })
        .into_iter()
        .unzip();
    let listed: Vec<Hypothesis> = if model == "listed" {
        top.each("hypotheses", |o| {
            o.known(&["faults", "weight"]);
            Hypothesis {
                faults: o.indices("faults"),
                weight: o.number("weight", None),
            }
        })
    } else {
        Vec::new()
    };
    let hypotheses = match model {
        "multi" => Hypotheses::AnyFaults { chances: priors },
        "listed" => Hypotheses::Listed(listed),
        _ => Hypotheses::OneFault { weights: priors },
    };
    let checks = top.each("tests", read_check);
    let n = faults.len();
    let repairs = top.each("repairs", |o| read_repair(o, n));
    let groups = top.each("groups", |o| {
        o.known(GROUP);
        Group {
            name: o.text("name"),
            open_minutes: o.number("open_cost", None),
            stays_open: o.boolean("stays_open"),
        }
    });
    Problem {
        faults,
        hypotheses,
        checks,
        repairs,
        groups,
        verify_minutes,
        verify_access,
        open_now,
        hand_over_minutes,
    }
}

fn read_check(o: &mut Object) -> Check {
    o.known(TEST);
    let minutes = o.number("cost", None);
    let outcomes = match (o.get("lik").is_some(), o.get("leak").is_some()) {
        (true, false) => read_table(o),
        (false, true) => Outcomes::NoisyOr {
            leak: o.number("leak", None),
            link: o.numbers("link"),
        },
        _ => {
            let path = o.at("lik");
            o.bad.add(
                path,
                "neither or both of lik and leak",
                "give lik, or leak and link",
            );
            Outcomes::Table {
                outcomes: 1,
                chances: Vec::new(),
            }
        }
    };
    let max_times = o.number("max_times", Some(1.0));
    if max_times != 1.0 && max_times != 2.0 {
        let path = o.at("max_times");
        o.bad.add(path, format!("{max_times} times"), "use 1 or 2");
    }
    Check {
        name: o.text("name"),
        minutes,
        access: o.access(),
        closes: o.indices("closes"),
        outcomes,
        outcome_names: o.texts("outcomes"),
        risk: if o.get("risk").is_some() {
            o.numbers("risk")
        } else {
            Vec::new()
        },
        max_times: if max_times == 2.0 { 2 } else { 1 },
        persist: o.number("persist", Some(0.0)),
        repeat_minutes: o.number("repeat_cost", Some(minutes)),
    }
}

fn read_table(o: &mut Object) -> Outcomes {
    let path = o.at("lik");
    let mut chances = Vec::new();
    let mut width = None;
    for (h, row) in o.items("lik").into_iter().enumerate() {
        let row = numbers(row, &format!("{path}[{h}]"), o.bad);
        let width = *width.get_or_insert(row.len());
        if row.len() != width {
            let what = format!("{} outcomes, {width} in the first row", row.len());
            o.bad.add(
                format!("{path}[{h}]"),
                what,
                "give every row the same outcomes",
            );
        }
        chances.extend(row);
    }
    Outcomes::Table {
        outcomes: width.unwrap_or(0),
        chances,
    }
}

fn read_repair(o: &mut Object, faults: usize) -> Repair {
    o.known(REPAIR);
    let fix = match (
        o.get("fix").is_some(),
        o.get("fault").and_then(Value::as_u64),
    ) {
        (true, None) => o.numbers("fix"),
        (false, Some(f)) if (f as usize) < faults => (0..faults)
            .map(|i| if i == f as usize { 1.0 } else { 0.0 })
            .collect(),
        _ => {
            let path = o.at("fix");
            let hint = "give fix (a chance a fault), or fault (an index)";
            o.bad.add(path, "does not say what it removes", hint);
            vec![0.0; faults]
        }
    };
    let minutes = o.number("cost", None);
    Repair {
        name: o.text("name"),
        minutes,
        access: o.access(),
        fix,
    }
}
