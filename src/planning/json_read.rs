//! From JSON values to a problem, field by field, every complaint kept.
//!
//! Each reader returns something usable even when it complains, so that one run names all
//! the fields that are wrong. Must not judge figures: `validate` does.

use serde_json::{Map, Value};

use super::error::Complaints;
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

/// An object being read, with its path.
struct Object<'a, 'b> {
    path: String,
    map: Option<&'a Map<String, Value>>,
    bad: &'b mut Complaints,
}

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

fn numbers(value: &Value, path: &str, bad: &mut Complaints) -> Vec<f64> {
    let Some(list) = value.as_array() else {
        bad.add(path, "not a list", "give a list of numbers");
        return Vec::new();
    };
    let each = list.iter().enumerate();
    each.map(|(i, v)| {
        v.as_f64().unwrap_or_else(|| {
            bad.add(
                format!("{path}[{i}]"),
                format!("{v} is not a number"),
                "give a number",
            );
            0.0
        })
    })
    .collect()
}

impl<'a, 'b> Object<'a, 'b> {
    fn new(path: String, value: &'a Value, bad: &'b mut Complaints) -> Object<'a, 'b> {
        let map = value.as_object();
        if map.is_none() {
            let name = if path.is_empty() {
                "the document"
            } else {
                &path
            };
            bad.add(name, "not an object", "write {\"name\": value, …}");
        }
        Object { path, map, bad }
    }

    fn at(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// The value of a key; null is the same as nothing.
    fn get(&self, key: &str) -> Option<&'a Value> {
        self.map?.get(key).filter(|v| !v.is_null())
    }

    fn known(&mut self, keys: &[&str]) {
        for key in self.map.into_iter().flat_map(Map::keys) {
            if !keys.contains(&key.as_str()) {
                let hint = format!("the fields here are {}", keys.join(", "));
                self.bad.add(self.at(key), "no such field", &hint);
            }
        }
    }

    fn number(&mut self, key: &str, default: Option<f64>) -> f64 {
        match (self.get(key), default) {
            (None, Some(d)) => d,
            (None, None) => {
                self.bad.add(self.at(key), "missing", "give a number");
                0.0
            }
            (Some(v), _) => v.as_f64().unwrap_or_else(|| {
                self.bad.add(
                    self.at(key),
                    format!("{v} is not a number"),
                    "give a number",
                );
                0.0
            }),
        }
    }

    fn boolean(&mut self, key: &str) -> bool {
        self.get(key).and_then(Value::as_bool).unwrap_or_else(|| {
            self.bad.add(
                self.at(key),
                "missing or not true or false",
                "say true or false",
            );
            true
        })
    }

    fn text(&mut self, key: &str) -> String {
        match self.get(key).and_then(Value::as_str) {
            Some(s) => s.to_owned(),
            None => {
                self.bad
                    .add(self.at(key), "missing or not text", "give a name in quotes");
                String::new()
            }
        }
    }

    fn texts(&mut self, key: &str) -> Vec<String> {
        let path = self.at(key);
        let items = self.items(key);
        let mut texts = Vec::with_capacity(items.len());
        for (i, v) in items.into_iter().enumerate() {
            match v.as_str() {
                Some(s) => texts.push(s.to_owned()),
                None => self
                    .bad
                    .add(format!("{path}[{i}]"), "not text", "give a name in quotes"),
            }
        }
        texts
    }

    fn numbers(&mut self, key: &str) -> Vec<f64> {
        let path = self.at(key);
        numbers(self.get(key).unwrap_or(&Value::Null), &path, self.bad)
    }

    fn indices(&mut self, key: &str) -> Vec<usize> {
        let path = self.at(key);
        let items = self.items(key);
        let mut indices = Vec::with_capacity(items.len());
        for (i, v) in items.into_iter().enumerate() {
            match v.as_u64() {
                Some(n) => indices.push(n as usize),
                None => {
                    let what = format!("{v} is not an index");
                    self.bad.add(format!("{path}[{i}]"), what, "count from 0");
                }
            }
        }
        indices
    }

    /// `group` (an index or null) or `access` (a list of indices).
    fn access(&mut self) -> Vec<usize> {
        let Some(group) = self.get("group") else {
            return self.indices("access");
        };
        if self.get("access").is_some() {
            self.bad
                .add(self.at("group"), "stands beside access", "use one of them");
        }
        match group.as_u64() {
            Some(g) => vec![g as usize],
            None => {
                let what = format!("{group} is not an index");
                self.bad
                    .add(self.at("group"), what, "count groups from 0, or say null");
                Vec::new()
            }
        }
    }

    /// Items of a list; nothing when the key is missing.
    fn items(&mut self, key: &str) -> Vec<&'a Value> {
        match self.get(key) {
            None => Vec::new(),
            Some(Value::Array(list)) => list.iter().collect(),
            Some(_) => {
                self.bad.add(self.at(key), "not a list", "write […]");
                Vec::new()
            }
        }
    }

    fn each<T>(&mut self, key: &str, mut read: impl FnMut(&mut Object) -> T) -> Vec<T> {
        let path = self.at(key);
        let items = self.items(key).into_iter().enumerate();
        items
            .map(|(i, v)| read(&mut Object::new(format!("{path}[{i}]"), v, self.bad)))
            .collect()
    }
}
