//! Reading fields out of a JSON object, with the path of each for complaints.
//!
//! Must not know what the fields mean.

use serde_json::{Map, Value};

use super::error::Complaints;

/// An object being read, with its path.
pub(super) struct Object<'a, 'b> {
    /// Path of this object; empty for the document.
    pub(super) path: String,
    map: Option<&'a Map<String, Value>>,
    /// Where complaints go.
    pub(super) bad: &'b mut Complaints,
}

impl<'a, 'b> Object<'a, 'b> {
    /// A reader of `value`, which must be an object.
    pub(super) fn new(path: String, value: &'a Value, bad: &'b mut Complaints) -> Object<'a, 'b> {
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

    /// Path of a key.
    pub(super) fn at(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// The value of a key; null is the same as nothing.
    pub(super) fn get(&self, key: &str) -> Option<&'a Value> {
        self.map?.get(key).filter(|v| !v.is_null())
    }

    /// Complains of keys that are not in `keys`.
    pub(super) fn known(&mut self, keys: &[&str]) {
        for key in self.map.into_iter().flat_map(Map::keys) {
            if !keys.contains(&key.as_str()) {
                let hint = format!("the fields here are {}", keys.join(", "));
                self.bad.add(self.at(key), "no such field", &hint);
            }
        }
    }

    /// A number; `default` stands for a missing one.
    pub(super) fn number(&mut self, key: &str, default: Option<f64>) -> f64 {
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

    /// True or false.
    pub(super) fn boolean(&mut self, key: &str) -> bool {
        self.get(key).and_then(Value::as_bool).unwrap_or_else(|| {
            self.bad.add(
                self.at(key),
                "missing or not true or false",
                "say true or false",
            );
            true
        })
    }

    /// Text.
    pub(super) fn text(&mut self, key: &str) -> String {
        match self.get(key).and_then(Value::as_str) {
            Some(s) => s.to_owned(),
            None => {
                self.bad
                    .add(self.at(key), "missing or not text", "give a name in quotes");
                String::new()
            }
        }
    }

    /// A list of text; nothing when the key is missing.
    pub(super) fn texts(&mut self, key: &str) -> Vec<String> {
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

    /// A list of numbers.
    pub(super) fn numbers(&mut self, key: &str) -> Vec<f64> {
        let path = self.at(key);
        numbers(self.get(key).unwrap_or(&Value::Null), &path, self.bad)
    }

    /// A list of indices; nothing when the key is missing.
    pub(super) fn indices(&mut self, key: &str) -> Vec<usize> {
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
    pub(super) fn access(&mut self) -> Vec<usize> {
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
    pub(super) fn items(&mut self, key: &str) -> Vec<&'a Value> {
        match self.get(key) {
            None => Vec::new(),
            Some(Value::Array(list)) => list.iter().collect(),
            Some(_) => {
                self.bad.add(self.at(key), "not a list", "write […]");
                Vec::new()
            }
        }
    }

    /// Reads each object of a list.
    pub(super) fn each<T>(&mut self, key: &str, mut read: impl FnMut(&mut Object) -> T) -> Vec<T> {
        let path = self.at(key);
        let items = self.items(key).into_iter().enumerate();
        items
            .map(|(i, v)| read(&mut Object::new(format!("{path}[{i}]"), v, self.bad)))
            .collect()
    }
}

/// Numbers of a list; complains of what is none.
pub(super) fn numbers(value: &Value, path: &str, bad: &mut Complaints) -> Vec<f64> {
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
