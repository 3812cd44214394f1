//! TOML text into the value tree, with every syntax problem.
//!
//! Must not know what a job is.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::tree::{Field, Node, Value};

/// Something the syntax forbids: where, and what the parser says.
pub(super) struct SyntaxProblem {
    pub span: Range<usize>,
    pub what: String,
}

/// Deepest nesting that is read (own judgement: a job needs four levels).
pub(super) const DEEPEST: usize = 24;

/// The tree of a TOML text, as far as it could be read, and the syntax problems.
pub(super) fn parse(text: &str) -> (Node, Vec<SyntaxProblem>) {
    let mut problems = Vec::new();
    if let Some(span) = too_deep(text) {
        problems.push(SyntaxProblem {
            span,
            what: "a key with too many dots".to_owned(),
        });
        let value = Value::Table(Vec::new());
        return (Node { value, span: 0..0 }, problems);
    }
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        problems.push(SyntaxProblem {
            span: error.span().unwrap_or(0..0),
            what: error.message().to_owned(),
        });
    }
    let span = table.span();
    let value = Value::Table(fields(table.get_ref(), 0, &mut problems));
    (Node { value, span }, problems)
}

/// A run of dotted keys nests one table a dot; refuse it before the parser builds them.
fn too_deep(text: &str) -> Option<Range<usize>> {
    const MOST_DOTS: usize = 200;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let key = line.split('=').next().unwrap_or(line);
        if key.matches('.').count() > MOST_DOTS && !key.contains(['"', '\'', '#']) {
            return Some(at..at + key.len());
        }
        at += line.len();
    }
    None
}

fn fields(table: &DeTable<'_>, depth: usize, problems: &mut Vec<SyntaxProblem>) -> Vec<Field> {
    let mut fields: Vec<Field> = table
        .iter()
        .map(|(key, value)| Field {
            name: key.get_ref().to_string(),
            key: key.span(),
            node: node(value, depth + 1, problems),
        })
        .collect();
    // The parser sorts by name; people read in file order.
    fields.sort_by_key(|f| f.key.start);
    fields
}

fn node(value: &Spanned<DeValue<'_>>, depth: usize, problems: &mut Vec<SyntaxProblem>) -> Node {
    let span = value.span();
    if depth > DEEPEST {
        problems.push(SyntaxProblem {
            span: span.clone(),
            what: "values nested too deeply".to_owned(),
        });
        let value = Value::Nothing;
        return Node { value, span };
    }
    let value = match value.get_ref() {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(n) => match i64::from_str_radix(n.as_str(), n.radix()) {
            Ok(n) => Value::Whole(n),
            Err(_) => {
                problems.push(SyntaxProblem {
                    span: span.clone(),
                    what: format!("the number {n} is too large"),
                });
                Value::Nothing
            }
        },
        DeValue::Float(n) => Value::Number(n.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(b) => Value::Truth(*b),
        DeValue::Datetime(moment) => Value::Moment(moment.to_string()),
        DeValue::Array(items) => {
            Value::List(items.iter().map(|v| node(v, depth + 1, problems)).collect())
        }
        DeValue::Table(table) => Value::Table(fields(table, depth, problems)),
    };
    Node { value, span }
}
