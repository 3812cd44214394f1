//! Numbers for machines: twelve significant digits, chances kept inside (0, 1).
//!
//! Twelve digits are what stays the same across instruction sets. Must not word anything.

use serde_json::{Number, Value};

/// Digits after the first significant one.
const DIGITS_AFTER_FIRST: usize = 11;
/// Chances are held this far from nought and one: nothing is certain.
const EDGE: f64 = 1e-12;

/// The number rounded to twelve significant digits.
#[must_use]
pub fn rounded(x: f64) -> f64 {
    if x == 0.0 || !x.is_finite() {
        return x;
    }
    format!("{x:.DIGITS_AFTER_FIRST$e}").parse().unwrap_or(x)
}

/// The number as JSON; `null` if it is not finite.
#[must_use]
pub fn number(x: f64) -> Value {
    // A negative nought would print as -0.0.
    let x = if x == 0.0 { 0.0 } else { rounded(x) };
    Number::from_f64(x).map_or(Value::Null, Value::Number)
}

/// A chance as JSON: a fraction in (0, 1).
#[must_use]
pub fn chance(x: f64) -> Value {
    number(x.clamp(EDGE, 1.0 - EDGE))
}

/// A number that may be missing.
#[must_use]
pub fn maybe(x: Option<f64>) -> Value {
    x.map_or(Value::Null, number)
}

/// A chance that may be missing.
#[must_use]
pub fn maybe_chance(x: Option<f64>) -> Value {
    x.map_or(Value::Null, chance)
}

/// The value with every number that is not whole rounded.
#[must_use]
pub fn all(value: Value) -> Value {
    match value {
        Value::Number(n) if n.is_f64() => n.as_f64().map_or(Value::Null, number),
        Value::Array(list) => list.into_iter().map(all).collect(),
        Value::Object(map) => map.into_iter().map(|(k, v)| (k, all(v))).collect(),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected values: rounding by hand to twelve significant digits.
    #[test]
    fn twelve_digits_are_kept() {
        assert_eq!(number(1.0 / 3.0).to_string(), "0.333333333333");
        assert_eq!(number(2.0e10 / 3.0).to_string(), "6666666666.67");
        assert_eq!(
            number(-1.234_567_890_123_4e-7).to_string(),
            "-1.23456789012e-7"
        );
        assert_eq!(number(0.0).to_string(), "0.0");
        assert_eq!(number(-0.0).to_string(), "0.0");
        assert_eq!(number(f64::NAN), Value::Null);
    }

    #[test]
    fn a_chance_is_never_nought_or_one() {
        assert_eq!(chance(0.0).to_string(), "1e-12");
        assert_eq!(chance(1.0).to_string(), "0.999999999999");
        assert_eq!(maybe_chance(None), Value::Null);
    }

    #[test]
    fn rounding_twice_changes_nothing() {
        for x in [0.1 + 0.2, 1.0e-300 / 7.0, 123_456.789_012_345_6] {
            assert_eq!(rounded(x).to_bits(), rounded(rounded(x)).to_bits());
        }
    }

    #[test]
    fn whole_numbers_inside_a_document_stay_whole() {
        let value = all(serde_json::json!({ "n": 3, "x": [0.1 + 0.2] }));
        assert_eq!(value.to_string(), r#"{"n":3,"x":[0.3]}"#);
    }
}
