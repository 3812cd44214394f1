//! From a problem to JSON values. Must not leave out anything the reader needs.

use serde_json::{Map, Value, json};

use super::problem::{Check, Hypotheses, Outcomes, Problem, Repair};

/// The JSON form of a problem.
pub(super) fn write_problem(problem: &Problem) -> Value {
    let (model, priors) = match &problem.hypotheses {
        Hypotheses::OneFault { weights } => ("single", Some(weights)),
        Hypotheses::AnyFaults { chances } => ("multi", Some(chances)),
        Hypotheses::Listed(_) => ("listed", None),
    };
    let mut top = Map::new();
    let faults = problem.faults.iter().enumerate().map(|(i, f)| {
        let prior = priors.and_then(|p| p.get(i));
        match prior {
            Some(p) => json!({"name": f.name, "prior": p}),
            None => json!({"name": f.name}),
        }
    });
    top.insert("faults".into(), faults.collect());
    if let Hypotheses::Listed(list) = &problem.hypotheses {
        let each = list
            .iter()
            .map(|h| json!({"faults": h.faults, "weight": h.weight}));
        top.insert("hypotheses".into(), each.collect());
    }
    top.insert(
        "tests".into(),
        problem.checks.iter().map(write_check).collect(),
    );
    let repairs = problem
        .repairs
        .iter()
        .map(|r| write_repair(r, model == "multi"));
    top.insert("repairs".into(), repairs.collect());
    let groups = problem
        .groups
        .iter()
        .map(|g| json!({"name": g.name, "open_cost": g.open_minutes, "stays_open": g.stays_open}));
    top.insert("groups".into(), groups.collect());
    top.insert("verify_cost".into(), json!(problem.verify_minutes));
    top.insert("call_cost".into(), json!(problem.hand_over_minutes));
    for (key, list) in [
        ("verify_access", &problem.verify_access),
        ("open_now", &problem.open_now),
    ] {
        if !list.is_empty() {
            top.insert(key.into(), json!(list));
        }
    }
    top.insert("model".into(), json!(model));
    Value::Object(top)
}

fn write_check(check: &Check) -> Value {
    let mut o = Map::new();
    o.insert("name".into(), json!(check.name));
    o.insert("cost".into(), json!(check.minutes));
    write_access(&mut o, &check.access);
    if !check.closes.is_empty() {
        o.insert("closes".into(), json!(check.closes));
    }
    match &check.outcomes {
        Outcomes::Table { outcomes, chances } => {
            let rows = chances.chunks((*outcomes).max(1)).map(|row| json!(row));
            o.insert("lik".into(), rows.collect());
        }
        Outcomes::NoisyOr { leak, link } => {
            o.insert("leak".into(), json!(leak));
            o.insert("link".into(), json!(link));
        }
    }
    if !check.outcome_names.is_empty() {
        o.insert("outcomes".into(), json!(check.outcome_names));
    }
    if !check.risk.is_empty() {
        o.insert("risk".into(), json!(check.risk));
    }
    if check.max_times != 1 || check.persist != 0.0 || check.repeat_minutes != check.minutes {
        o.insert("max_times".into(), json!(check.max_times));
        o.insert("persist".into(), json!(check.persist));
        o.insert("repeat_cost".into(), json!(check.repeat_minutes));
    }
    Value::Object(o)
}

fn write_repair(repair: &Repair, several: bool) -> Value {
    let mut o = Map::new();
    o.insert("name".into(), json!(repair.name));
    o.insert("cost".into(), json!(repair.minutes));
    write_access(&mut o, &repair.access);
    let removes: Vec<usize> = (0..repair.fix.len())
        .filter(|&f| repair.fix[f] != 0.0)
        .collect();
    if several && removes.len() == 1 && repair.fix[removes[0]] == 1.0 {
        o.insert("fault".into(), json!(removes[0]));
    } else {
        o.insert("fix".into(), json!(repair.fix));
    }
    Value::Object(o)
}

fn write_access(o: &mut Map<String, Value>, access: &[usize]) {
    match access {
        [] => {}
        [group] => {
            o.insert("group".into(), json!(group));
        }
        several => {
            o.insert("access".into(), json!(several));
        }
    }
}
