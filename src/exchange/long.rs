//! Jobs as a long table, one row a reading or other datum, and back: nothing is lost.
//!
//! `raw_text` is what was typed and what is read back; the columns beside it are for other
//! programs. A row with the id of a check is a reading; other rows are named by their path in
//! the job file (`start.soak`, `engine.cylinders`). Must not judge.

use serde_json::{Map, Value};

use super::decimal;
use super::error::ExchangeError;
use crate::job::{EntryBody, Job, Measured, ReadingValue, to_json};
use crate::units::{Cmp, Dimension, Unit};

/// Columns of the table.
pub const COLUMNS: [&str; 17] = [
    "job_id",
    "seq",
    "observed_at",
    "stage",
    "property",
    "cylinder",
    "trial",
    "cmp",
    "value_num",
    "unit",
    "value_cat",
    "state",
    "who",
    "sure",
    "set_aside_why",
    "note",
    "raw_text",
];
/// Nothing recorded.
pub const NA: &str = "NA";

/// One row; cells in the order of [`COLUMNS`], [`NA`] where there is nothing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Row(pub [String; COLUMNS.len()]);

/// Place of a column.
#[must_use]
pub fn at(column: &str) -> usize {
    // Only names of the list are asked for.
    COLUMNS.iter().position(|c| *c == column).unwrap_or(0)
}

impl Row {
    fn new(job: &str, seq: usize, property: &str) -> Self {
        let mut row = Row(std::array::from_fn(|_| NA.to_owned()));
        row.set("job_id", job);
        row.0[at("seq")] = seq.to_string();
        row.set("property", property);
        row
    }

    /// Sets a text; one that looks like a missing one is marked.
    pub fn set(&mut self, column: &str, text: &str) {
        self.0[at(column)] = marked(text);
    }

    /// The text of a column, if there is one.
    #[must_use]
    pub fn get(&self, column: &str) -> Option<&str> {
        match self.0[at(column)].as_str() {
            NA => None,
            text => Some(text.strip_prefix('\\').unwrap_or(text)),
        }
    }
}

/// Text that cannot be taken for a missing one.
fn marked(text: &str) -> String {
    if text == NA || text.is_empty() || text.starts_with('\\') {
        format!("\\{text}")
    } else {
        text.to_owned()
    }
}

/// Rows of one job.
#[must_use]
pub fn rows(job: &Job) -> Vec<Row> {
    let mut rows = Vec::new();
    let json = to_json(job);
    let Value::Object(top) = &json else {
        return rows;
    };
    for (key, value) in top {
        if !matches!(key.as_str(), "schema" | "job" | "entry") {
            let start = Row::new(&job.job, 0, "");
            leaves(&escaped(key), value, &start, &mut rows);
        }
    }
    let entries = top.get("entry").and_then(Value::as_array);
    let mut worked = false;
    for (n, (entry, value)) in job
        .entries
        .iter()
        .zip(entries.into_iter().flatten())
        .enumerate()
    {
        let Value::Object(value) = value else {
            continue;
        };
        let mut start = Row::new(&job.job, n + 1, "");
        for (key, column) in [
            ("at", "observed_at"),
            ("by", "who"),
            ("sure", "sure"),
            ("set_aside", "set_aside_why"),
            ("note", "note"),
        ] {
            if let Some(text) = value.get(key).and_then(Value::as_str) {
                start.set(column, text);
            }
        }
        worked |= matches!(entry.body, EntryBody::Work(_));
        let stage = match (&entry.body, worked) {
            (EntryBody::Told(_), _) => "told",
            (EntryBody::Start(_), true) => "verify",
            (EntryBody::Start(_) | EntryBody::Reading(_), false) => "before_repair",
            (EntryBody::Reading(_), true) => "after_repair",
            _ => NA,
        };
        start.0[at("stage")] = stage.to_owned();
        let before = rows.len();
        for (key, value) in value {
            match (key.as_str(), &entry.body) {
                ("at" | "by" | "sure" | "set_aside" | "note", _) if value.is_string() => {}
                ("reading", EntryBody::Reading(reading)) => {
                    rows.push(reading_row(&start, reading, value));
                    let rest: Map<String, Value> = value
                        .as_object()
                        .into_iter()
                        .flatten()
                        .filter(|(k, v)| !in_row(k, v))
                        .map(|(k, v)| (k.clone(), v.clone()))
                        .collect();
                    if !rest.is_empty() {
                        leaves("reading", &Value::Object(rest), &start, &mut rows);
                    }
                }
                (
                    "told" | "start" | "work" | "opinion" | "cannot" | "later" | "finding" | "mark",
                    _,
                ) => leaves(key, value, &start, &mut rows),
                _ => leaves(&format!("entry.{}", escaped(key)), value, &start, &mut rows),
            }
        }
        if rows.len() == before {
            start.set("property", "note");
            rows.push(start);
        }
    }
    rows
}

/// Whether a key of a reading stands in its own row.
fn in_row(key: &str, value: &Value) -> bool {
    match key {
        "check" => true,
        "value" => value.is_string(),
        "cylinder" | "trial" => value.is_u64(),
        _ => false,
    }
}

fn reading_row(start: &Row, reading: &crate::job::Reading, value: &Value) -> Row {
    let mut row = start.clone();
    row.set("property", &reading.check);
    if let Some(cylinder) = reading.cylinder {
        row.set("cylinder", &cylinder.to_string());
    }
    if let Some(trial) = reading.trial {
        row.set("trial", &trial.to_string());
    }
    if let Some(text) = value.get("value").and_then(Value::as_str) {
        row.set("raw_text", text);
    }
    row.set("state", reading.value.state_id());
    match &reading.value {
        ReadingValue::Measured(Measured::Number(parsed)) => {
            let sign = if parsed.cmp == Cmp::Equal {
                "="
            } else {
                parsed.cmp.sign()
            };
            row.set("cmp", sign);
            row.set("value_num", &format!("{}", parsed.quantity.as_typed()));
            row.set("unit", parsed.quantity.unit.code());
        }
        ReadingValue::Measured(Measured::State(state) | Measured::OffScale(state)) => {
            row.set("value_cat", state)
        }
        _ => {}
    }
    row
}

/// A key that cannot be taken for a path.
fn escaped(key: &str) -> String {
    key.replace('\\', "\\\\")
        .replace('.', "\\.")
        .replace('#', "\\#")
}

fn leaves(path: &str, value: &Value, start: &Row, rows: &mut Vec<Row>) {
    let mut row = start.clone();
    row.set("property", path);
    match value {
        Value::Object(map) if !map.is_empty() => {
            for (key, inner) in map {
                leaves(&format!("{path}.{}", escaped(key)), inner, start, rows);
            }
            return;
        }
        Value::Array(list) if !list.is_empty() => {
            for (n, inner) in list.iter().enumerate() {
                leaves(&format!("{path}.#{n}"), inner, start, rows);
            }
            return;
        }
        Value::Object(_) => row.set("value_cat", "{}"),
        Value::Array(_) => row.set("value_cat", "[]"),
        Value::Null => row.set("value_cat", "null"),
        Value::Bool(truth) => row.set("value_cat", &truth.to_string()),
        Value::Number(number) => row.set("value_num", &number.to_string()),
        Value::String(text) => {
            row.set("raw_text", text);
            if let Some((number, unit)) = quantity(path, text) {
                row.set("value_num", &number);
                row.set("unit", unit.code());
            }
        }
    }
    rows.push(row);
}

/// Number and unit of a text that is a plain quantity, for other programs.
fn quantity(path: &str, text: &str) -> Option<(String, Unit)> {
    let bodies = ["start.", "told.", "engine.", "reading."];
    let cut = decimal::cut(text, None).filter(|c| c.cmp.is_empty() && !c.rest.is_empty())?;
    if !bodies.iter().any(|b| path.starts_with(b)) {
        return None;
    }
    let dimension = match path.rsplit('.').next()? {
        "engine_temperature" | "air_temperature" => Dimension::Temperature,
        "supply" => Dimension::Voltage,
        "leads" => Dimension::Resistance,
        "distance" => Dimension::Length,
        _ => Dimension::Time,
    };
    let units = Unit::meant_by(dimension, cut.rest);
    let [unit] = units.as_slice() else {
        return None;
    };
    Some((
        decimal::plain(cut.number, decimal::Decimal::Dot, None).ok()?,
        *unit,
    ))
}

/// The job that rows tell of, as JSON; `rows` are those of one job in order.
///
/// # Errors
/// When a row has no place in a job.
pub fn job(rows: &[Row]) -> Result<Value, ExchangeError> {
    let name = rows
        .first()
        .and_then(|r| r.get("job_id"))
        .unwrap_or_default();
    let mut top = Map::new();
    top.insert("schema".to_owned(), crate::job::SCHEMA.into());
    top.insert("job".to_owned(), name.into());
    let mut entries: Vec<(u64, Map<String, Value>)> = Vec::new();
    for row in rows {
        let wrong = |what: &str| ExchangeError::Table(format!("job `{name}`: {what}"));
        let seq: u64 = row
            .get("seq")
            .and_then(|s| s.parse().ok())
            .ok_or_else(|| wrong("a row without `seq`"))?;
        let property = row
            .get("property")
            .ok_or_else(|| wrong("a row without `property`"))?;
        if seq == 0 {
            put(&mut top, &steps(property), scalar(row)?)
                .ok_or_else(|| wrong("a row that fits nowhere"))?;
            continue;
        }
        if entries.last().is_none_or(|(last, _)| *last != seq) {
            let mut entry = Map::new();
            for (key, column) in [
                ("at", "observed_at"),
                ("by", "who"),
                ("sure", "sure"),
                ("set_aside", "set_aside_why"),
                ("note", "note"),
            ] {
                if let Some(text) = row.get(column) {
                    entry.insert(key.to_owned(), text.into());
                }
            }
            entries.push((seq, entry));
        }
        // A last entry was just made if there was none.
        let Some((_, entry)) = entries.last_mut() else {
            continue;
        };
        if property == "note" {
            continue;
        }
        if property.contains('.') {
            let path = property.strip_prefix("entry.").unwrap_or(property);
            put(entry, &steps(path), scalar(row)?)
                .ok_or_else(|| wrong("a row that fits nowhere"))?;
            continue;
        }
        let mut reading = Map::new();
        reading.insert("check".to_owned(), property.into());
        for key in ["cylinder", "trial"] {
            if let Some(text) = row.get(key) {
                let n: u64 = text
                    .parse()
                    .map_err(|_| wrong(&format!("`{text}` is no {key}")))?;
                reading.insert(key.to_owned(), n.into());
            }
        }
        if let Some(value) = value(row) {
            reading.insert("value".to_owned(), value.into());
        }
        entry.insert("reading".to_owned(), Value::Object(reading));
    }
    let entries = entries.into_iter().map(|(_, e)| Value::Object(e)).collect();
    top.insert("entry".to_owned(), Value::Array(entries));
    Ok(Value::Object(top))
}

/// The result of a reading: as typed, or put together from its columns.
fn value(row: &Row) -> Option<String> {
    if let Some(raw) = row.get("raw_text") {
        return Some(raw.to_owned());
    }
    if let Some(number) = row.get("value_num") {
        let cmp = row.get("cmp").filter(|c| *c != "=").unwrap_or_default();
        let unit = row.get("unit").unwrap_or_default();
        return Some(format!("{cmp} {number} {unit}").trim().to_owned());
    }
    row.get("value_cat")
        .or_else(|| row.get("state").filter(|s| *s != "measured"))
        .map(str::to_owned)
}

fn scalar(row: &Row) -> Result<Value, ExchangeError> {
    if let Some(raw) = row.get("raw_text") {
        return Ok(raw.into());
    }
    if let Some(number) = row.get("value_num") {
        return serde_json::from_str(number)
            .map_err(|_| ExchangeError::Table(format!("`{number}` is no number")));
    }
    Ok(match row.get("value_cat") {
        Some("true") => true.into(),
        Some("false") => false.into(),
        Some("[]") => Value::Array(Vec::new()),
        Some("{}") => Value::Object(Map::new()),
        Some("null") | None => Value::Null,
        Some(other) => other.into(),
    })
}

/// Steps of a path.
fn steps(path: &str) -> Vec<String> {
    let mut steps = vec![String::new()];
    let mut chars = path.chars();
    while let Some(c) = chars.next() {
        // The vector is never empty.
        let Some(last) = steps.last_mut() else { break };
        match c {
            '\\' => match chars.next() {
                // Kept apart from the mark of a list.
                Some('#') => last.push_str("\\#"),
                Some(next) => last.push(next),
                None => {}
            },
            '.' => steps.push(String::new()),
            c => last.push(c),
        }
    }
    steps
}

fn put(map: &mut Map<String, Value>, steps: &[String], value: Value) -> Option<()> {
    let (first, rest) = steps.split_first()?;
    let key = first.replace("\\#", "#");
    if rest.is_empty() {
        map.insert(key, value);
        return Some(());
    }
    put_in(map.entry(key).or_insert(Value::Null), rest, value)
}

fn put_in(slot: &mut Value, steps: &[String], value: Value) -> Option<()> {
    let Some((first, rest)) = steps.split_first() else {
        *slot = value;
        return Some(());
    };
    if let Some(index) = first.strip_prefix('#') {
        let index: usize = index.parse().ok()?;
        if slot.is_null() {
            *slot = Value::Array(Vec::new());
        }
        let list = slot.as_array_mut()?;
        // Items stand in order; a gap would be a row that was lost.
        if index == list.len() {
            list.push(Value::Null);
        }
        return put_in(list.get_mut(index)?, rest, value);
    }
    if slot.is_null() {
        *slot = Value::Object(Map::new());
    }
    put(slot.as_object_mut()?, steps, value)
}
