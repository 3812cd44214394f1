//! A small tree of values that know where they stand: what TOML and JSON become, so that
//! one interpreter reads both.
//!
//! Must not know what a job is.

use std::ops::Range;

use super::kept::{Extra, Kept};

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    Text(String),
    Whole(i64),
    Number(f64),
    Truth(bool),
    Moment(String),
    Nothing,
    List(Vec<Node>),
    Table(Vec<Field>),
}

/// A value with its byte range.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    pub value: Value,
    pub span: Range<usize>,
}

/// A key with its value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Field {
    pub name: String,
    pub key: Range<usize>,
    pub node: Node,
}

impl Value {
    /// What it is, in words, for messages.
    pub(super) fn kind(&self) -> &'static str {
        match self {
            Value::Text(_) => "a text",
            Value::Whole(_) => "a whole number",
            Value::Number(_) => "a number",
            Value::Truth(_) => "true or false",
            Value::Moment(_) => "a date or time",
            Value::Nothing => "nothing (null)",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }
}

impl Node {
    /// The value as it is carried along when nobody understands it.
    pub(super) fn kept(&self) -> Kept {
        match &self.value {
            Value::Text(t) => Kept::Text(t.clone()),
            Value::Whole(n) => Kept::Whole(*n),
            Value::Number(n) => Kept::Number(*n),
            Value::Truth(b) => Kept::Truth(*b),
            Value::Moment(m) => Kept::Moment(m.clone()),
            Value::Nothing => Kept::Nothing,
            Value::List(items) => Kept::List(items.iter().map(Node::kept).collect()),
            Value::Table(fields) => Kept::Table(
                fields
                    .iter()
                    .map(|f| (f.name.clone(), f.node.kept()))
                    .collect::<Extra>(),
            ),
        }
    }

    /// Path of the innermost key or value that holds byte `at` (`entry[2].reading.value`).
    pub(super) fn path_at(&self, at: usize) -> String {
        let mut path = String::new();
        self.descend(at, &mut path);
        path
    }

    fn descend(&self, at: usize, path: &mut String) -> bool {
        let length = path.len();
        match &self.value {
            Value::Table(fields) => {
                for field in fields {
                    if !path.is_empty() {
                        path.push('.');
                    }
                    path.push_str(&field.name);
                    // A dotted key writes its table in pieces, so look inside first.
                    if field.node.descend(at, path) || field.key.contains(&at) {
                        return true;
                    }
                    path.truncate(length);
                }
            }
            Value::List(items) => {
                for (i, item) in items.iter().enumerate() {
                    path.push_str(&format!("[{i}]"));
                    if item.descend(at, path) {
                        return true;
                    }
                    path.truncate(length);
                }
            }
            _ => {}
        }
        self.span.contains(&at)
    }
}

/// The fields of one table, each marked once it has been read.
pub(super) struct Fields<'t> {
    /// Name of the table, for messages.
    pub name: &'static str,
    /// Where the table is named.
    pub at: Range<usize>,
    fields: Vec<(&'t Field, bool)>,
}

impl<'t> Fields<'t> {
    pub(super) fn new(name: &'static str, at: Range<usize>, fields: &'t [Field]) -> Self {
        let fields = fields.iter().map(|f| (f, false)).collect();
        Self { name, at, fields }
    }

    /// The field of that name; it counts as read.
    pub(super) fn take(&mut self, name: &str) -> Option<&'t Field> {
        let (field, read) = self.fields.iter_mut().find(|(f, _)| f.name == name)?;
        *read = true;
        Some(field)
    }

    /// All fields that nobody has read.
    pub(super) fn rest(&self) -> impl Iterator<Item = &'t Field> + '_ {
        self.fields.iter().filter(|(_, r)| !r).map(|(f, _)| *f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_path_names_the_innermost_value() {
        let leaf = |at: Range<usize>| Node {
            value: Value::Whole(1),
            span: at,
        };
        let field = |name: &str, key: Range<usize>, node| Field {
            name: name.to_owned(),
            key,
            node,
        };
        let table = |fields, span| Node {
            value: Value::Table(fields),
            span,
        };
        let inner = table(vec![field("b", 4..5, leaf(8..9))], 3..9);
        let list = Node {
            value: Value::List(vec![inner]),
            span: 2..10,
        };
        let root = table(vec![field("a", 0..1, list)], 0..10);
        assert_eq!(root.path_at(8), "a[0].b");
        assert_eq!(root.path_at(4), "a[0].b");
        assert_eq!(root.path_at(3), "a[0]");
        assert_eq!(root.path_at(0), "a");
        assert_eq!(root.path_at(99), "");
    }
}
