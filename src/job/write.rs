//! Jobs written as TOML and as JSON, unknown keys included.
//!
//! What is written reads back as the same job. Must not decide what a key means.

use std::fmt::Write;

use serde_json::{Map, Number, Value};

use super::kept::{Extra, Kept};
use super::record::Job;
use super::rows::{self, Rows};

/// The job as TOML text, in the order people read it.
#[must_use]
pub fn to_toml(job: &Job) -> String {
    let mut out = String::new();
    for (key, text) in head(job) {
        line(&mut out, "", key, &Kept::Text(text.to_owned()));
    }
    for (key, value) in &job.extra {
        line(&mut out, "", key, value);
    }
    for (name, rows) in [
        ("engine", rows::engine(&job.engine)),
        ("bench", rows::bench(&job.bench)),
    ] {
        if !rows.is_empty() {
            out.push_str(&format!("\n[{name}]\n"));
            rows.iter().for_each(|(k, v)| line(&mut out, "", k, v));
        }
    }
    for entry in &job.entries {
        let written = rows::entry(entry);
        out.push_str("\n[[entry]]\n");
        written
            .plain
            .iter()
            .for_each(|(k, v)| line(&mut out, "", k, v));
        if let Some((name, rows)) = written.body {
            if rows.is_empty() {
                line(&mut out, "", name, &Kept::Table(Extra::new()));
            }
            rows.iter().for_each(|(k, v)| line(&mut out, name, k, v));
        }
    }
    out
}

fn head(job: &Job) -> [(&'static str, &str); 3] {
    [
        ("schema", &job.schema),
        ("job", &job.job),
        ("complaint", &job.complaint),
    ]
}

/// One `key = value`; TOML has no null, so nothing is written for one.
fn line(out: &mut String, table: &str, key: &str, value: &Kept) {
    if *value == Kept::Nothing {
        return;
    }
    if !table.is_empty() {
        out.push_str(table);
        out.push('.');
    }
    push_key(out, key);
    out.push_str(" = ");
    push_value(out, value);
    out.push('\n');
}

fn push_key(out: &mut String, key: &str) {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    if !key.is_empty() && key.chars().all(bare) {
        out.push_str(key);
    } else {
        push_text(out, key);
    }
}

/// A basic string: quotes, backslashes and control characters escaped.
fn push_text(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
}

fn push_value(out: &mut String, value: &Kept) {
    match value {
        Kept::Text(text) => push_text(out, text),
        Kept::Whole(n) => out.push_str(&n.to_string()),
        Kept::Number(n) if n.is_nan() => out.push_str("nan"),
        Kept::Number(n) => out.push_str(&format!("{n:?}")),
        Kept::Truth(b) => out.push_str(if *b { "true" } else { "false" }),
        Kept::Moment(m) if m.parse::<toml::value::Datetime>().is_ok() => out.push_str(m),
        Kept::Moment(m) => push_text(out, m),
        Kept::Nothing => push_text(out, ""),
        Kept::List(items) => {
            out.push('[');
            let items = items.iter().filter(|v| **v != Kept::Nothing);
            for (i, item) in items.enumerate() {
                out.push_str(if i > 0 { ", " } else { "" });
                push_value(out, item);
            }
            out.push(']');
        }
        Kept::Table(table) => {
            out.push('{');
            let fields = table.iter().filter(|(_, v)| **v != Kept::Nothing);
            for (i, (key, value)) in fields.enumerate() {
                out.push_str(if i > 0 { ", " } else { " " });
                push_key(out, key);
                out.push_str(" = ");
                push_value(out, value);
            }
            out.push_str(" }");
        }
    }
}

/// The job as JSON, keys in the order people read them.
#[must_use]
pub fn to_json(job: &Job) -> Value {
    let mut map = Map::new();
    for (key, text) in head(job) {
        map.insert(key.to_owned(), Value::String(text.to_owned()));
    }
    for (key, value) in &job.extra {
        map.entry(key.clone()).or_insert_with(|| json(value));
    }
    for (name, rows) in [
        ("engine", rows::engine(&job.engine)),
        ("bench", rows::bench(&job.bench)),
    ] {
        if !rows.is_empty() {
            map.insert(name.to_owned(), object(&rows));
        }
    }
    let entries = job.entries.iter().map(|entry| {
        let written = rows::entry(entry);
        let mut entry = object(&written.plain);
        if let (Some((name, rows)), Value::Object(map)) = (written.body, &mut entry) {
            map.insert(name.to_owned(), object(&rows));
        }
        entry
    });
    map.insert("entry".to_owned(), Value::Array(entries.collect()));
    Value::Object(map)
}

fn object(rows: &Rows) -> Value {
    Value::Object(rows.iter().map(|(k, v)| (k.clone(), json(v))).collect())
}

fn table(extra: &Extra) -> Value {
    Value::Object(extra.iter().map(|(k, v)| (k.clone(), json(v))).collect())
}

fn json(value: &Kept) -> Value {
    match value {
        Kept::Text(t) | Kept::Moment(t) => Value::String(t.clone()),
        Kept::Whole(n) => Value::Number((*n).into()),
        // JSON has no word for infinity; a text keeps it.
        Kept::Number(n) => {
            Number::from_f64(*n).map_or_else(|| Value::String(n.to_string()), Value::Number)
        }
        Kept::Truth(b) => Value::Bool(*b),
        Kept::Nothing => Value::Null,
        Kept::List(items) => Value::Array(items.iter().map(json).collect()),
        Kept::Table(fields) => table(fields),
    }
}
