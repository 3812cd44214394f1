//! JSON text into the value tree, with places: each value is first kept as the slice of the
//! text it came from.
//!
//! Must not know what a job is.

use std::fmt;
use std::ops::Range;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use super::from_toml::{DEEPEST, SyntaxProblem};
use super::tree::{Field, Node, Value};

/// Keys and raw values of one object, in order, doubles included.
struct Members<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Members<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Collect;
        impl<'de> Visitor<'de> for Collect {
            type Value = Members<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry::<String, &'de RawValue>()? {
                    members.push(member);
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(Collect)
    }
}

/// The tree of a JSON text and the syntax problems (JSON has no recovery: at most one, and
/// doubled keys).
pub(super) fn parse(text: &str) -> (Node, Vec<SyntaxProblem>) {
    let mut problems = Vec::new();
    // The whole text once, so that the first syntax error is reported with its place.
    let root = match serde_json::from_str::<&RawValue>(text) {
        Ok(raw) => node(raw.get(), text, 0, &mut problems),
        Err(error) => {
            let at = offset(text, error.line(), error.column());
            let what = error.to_string();
            // The place is given beside it; the library repeats it in words.
            let what = what.split(" at line ").next().unwrap_or(&what).to_owned();
            let span = at..at;
            problems.push(SyntaxProblem { span, what });
            Node {
                value: Value::Table(Vec::new()),
                span: 0..0,
            }
        }
    };
    (root, problems)
}

/// Byte offset of a line (from 1) and a column in bytes (from 1, or 0 for "at the start").
fn offset(text: &str, line: usize, column: usize) -> usize {
    let before: usize = text
        .split_inclusive('\n')
        .take(line.saturating_sub(1))
        .map(str::len)
        .sum();
    (before + column.saturating_sub(1)).min(text.len())
}

fn node(raw: &str, text: &str, depth: usize, problems: &mut Vec<SyntaxProblem>) -> Node {
    // `raw` is a slice of `text`, so the distance of their starts is its place.
    let start = (raw.as_ptr() as usize).saturating_sub(text.as_ptr() as usize);
    let span = start..start + raw.len();
    let mut wrong = |what: &str| {
        problems.push(SyntaxProblem {
            span: span.clone(),
            what: what.to_owned(),
        });
        Value::Nothing
    };
    let value = match raw.as_bytes().first() {
        Some(b'{' | b'[') if depth >= DEEPEST => wrong("values nested too deeply"),
        Some(b'{') => match serde_json::from_str::<Members<'_>>(raw) {
            Ok(members) => Value::Table(fields(members, text, depth, problems)),
            Err(_) => wrong("an object that cannot be read"),
        },
        Some(b'[') => match serde_json::from_str::<Vec<&RawValue>>(raw) {
            Ok(items) => Value::List(
                items
                    .iter()
                    .map(|v| node(v.get(), text, depth + 1, problems))
                    .collect(),
            ),
            Err(_) => wrong("a list that cannot be read"),
        },
        _ => match serde_json::from_str::<serde_json::Value>(raw) {
            Ok(serde_json::Value::String(t)) => Value::Text(t),
            Ok(serde_json::Value::Bool(b)) => Value::Truth(b),
            // The library's own reading may miss the last digit; the slice does not.
            Ok(serde_json::Value::Number(_)) => match (raw.parse::<i64>(), raw.parse::<f64>()) {
                (Ok(n), _) => Value::Whole(n),
                (_, Ok(n)) if n.is_finite() => Value::Number(n),
                _ => wrong("a number that cannot be read"),
            },
            Ok(_) => Value::Nothing,
            Err(_) => wrong("a value that cannot be read"),
        },
    };
    Node { value, span }
}

fn fields(
    members: Members<'_>,
    text: &str,
    depth: usize,
    problems: &mut Vec<SyntaxProblem>,
) -> Vec<Field> {
    let mut fields: Vec<Field> = Vec::new();
    for (name, raw) in members.0 {
        let node = node(raw.get(), text, depth + 1, problems);
        let key = key_before(text, node.span.start, &name).unwrap_or(node.span.clone());
        if fields.iter().any(|f| f.name == name) {
            problems.push(SyntaxProblem {
                span: key,
                what: format!("the key `{name}` stands here twice"),
            });
            continue;
        }
        fields.push(Field { name, key, node });
    }
    fields
}

/// Place of the key before the value at `start`, if it is written without escapes.
fn key_before(text: &str, start: usize, name: &str) -> Option<Range<usize>> {
    let before = text.get(..start)?.trim_end().strip_suffix(':')?.trim_end();
    let from = before.len().checked_sub(name.len() + 2)?;
    let key = before.get(from..)?;
    (key.get(1..key.len() - 1)? == name).then_some(from..before.len())
}
