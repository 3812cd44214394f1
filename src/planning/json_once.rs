//! JSON in which no key of an object stands twice: the last would silently win.
//!
//! Must not know what keys mean.

use std::fmt;

use serde::de::{Error, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value};

/// A value in which every key stands once.
#[derive(Debug)]
pub(super) struct Once(pub Value);

impl<'de> Deserialize<'de> for Once {
    fn deserialize<D: Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
        source.deserialize_any(Anything).map(Once)
    }
}

struct Anything;

impl<'de> Visitor<'de> for Anything {
    type Value = Value;

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("any value")
    }

    fn visit_bool<E>(self, truth: bool) -> Result<Value, E> {
        Ok(truth.into())
    }

    fn visit_i64<E>(self, number: i64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_u64<E>(self, number: u64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_f64<E>(self, number: f64) -> Result<Value, E> {
        Ok(number.into())
    }

    fn visit_str<E>(self, text: &str) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_string<E>(self, text: String) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Once(item)) = items.next_element()? {
            list.push(item);
        }
        Ok(list.into())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut pairs: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some(key) = pairs.next_key::<String>()? {
            if map.contains_key(&key) {
                return Err(A::Error::custom(format!("`{key}` stands twice")));
            }
            let Once(value) = pairs.next_value()?;
            map.insert(key, value);
        }
        Ok(map.into())
    }
}
