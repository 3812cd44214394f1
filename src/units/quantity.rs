//! A quantity: a canonical value with its dimension, its unit as typed and the text as
//! typed. Must not parse.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::dimension::Dimension;
use super::unit::Unit;

/// How a typed number stands to the true one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cmp {
    /// `8.4 s`: this value.
    Equal,
    /// `> 60 s`: more than this (also `>=`); the watch was stopped.
    Above,
    /// `< 3`: less than this (also `<=`).
    Below,
    /// `~ 8`: about this.
    About,
}

impl Cmp {
    /// The sign written before a number: empty, `>`, `<` or `~`.
    pub fn sign(self) -> &'static str {
        match self {
            Cmp::Equal => "",
            Cmp::Above => ">",
            Cmp::Below => "<",
            Cmp::About => "~",
        }
    }
}

/// A number with what it measures, in the canonical unit, and the text it came from.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// The value in the canonical unit of `dimension`; finite.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// The unit it was given in (the default of the field for a bare number).
    pub unit: Unit,
    /// The text as typed, or as written by [`format_in`](Self::format_in).
    pub typed: String,
}

/// What a typed text was understood as.
#[derive(Debug, Clone, PartialEq)]
pub struct Parsed {
    /// How the number stands to the true one.
    pub cmp: Cmp,
    /// The number.
    pub quantity: Quantity,
}

/// Digits that survive a conversion there and back; the last of seventeen may not.
const SIGNIFICANT_DIGITS: i32 = 15;

impl Quantity {
    /// A quantity from a number in `unit`.
    pub fn new(value: f64, unit: Unit) -> Quantity {
        let mut quantity = Quantity {
            value: unit.to_canonical(value),
            dimension: unit.dimension(),
            unit,
            typed: String::new(),
        };
        quantity.typed = quantity.format_in(unit);
        quantity
    }

    /// The value in `unit`, or `None` if that unit measures something else.
    pub fn to(&self, unit: Unit) -> Option<f64> {
        (unit.dimension() == self.dimension).then(|| unit.from_canonical(self.value))
    }

    /// The value in the unit it was typed in.
    pub fn as_typed(&self) -> f64 {
        self.unit.from_canonical(self.value)
    }

    /// Written in `unit` to fifteen significant digits, so that it reads back as the same
    /// value; in its own canonical unit if `unit` measures something else.
    pub fn format_in(&self, unit: Unit) -> String {
        let unit = if unit.dimension() == self.dimension {
            unit
        } else {
            self.dimension.canonical()
        };
        let number = digits(unit.from_canonical(self.value), unit.zero());
        match unit.symbol() {
            "" => number,
            symbol => format!("{number} {symbol}"),
        }
    }
}

impl fmt::Display for Quantity {
    /// In the unit it was typed in.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.format_in(self.unit))
    }
}

impl fmt::Display for Parsed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.cmp {
            Cmp::Equal => write!(f, "{}", self.quantity),
            cmp => write!(f, "{} {}", cmp.sign(), self.quantity),
        }
    }
}

/// `value` without the rounding noise of a conversion. Beside a zero shift of `zero` the
/// noise is that of the larger number, so 0 °F must not print as 3.6e-15.
fn digits(value: f64, zero: f64) -> String {
    let size = value.abs().max(zero.abs());
    if size == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let places = SIGNIFICANT_DIGITS - 1 - size.log10().floor() as i32;
    if places <= 0 {
        return format!("{value}");
    }
    let text = format!("{value:.*}", places as usize);
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(dimension: Dimension, code: &str) -> Unit {
        Unit::by_code(dimension, code).unwrap()
    }

    #[test]
    fn writes_without_conversion_noise() {
        for (value, dimension, code, text) in [
            (400.0, Dimension::Pressure, "[psi]", "400 psi"),
            (0.0, Dimension::Temperature, "[degF]", "0 °F"),
            (21.0, Dimension::Temperature, "[degF]", "21 °F"),
            (8.4, Dimension::Time, "s", "8.4 s"),
            (0.000_1, Dimension::Resistance, "mOhm", "0.0001 mΩ"),
            (80.0, Dimension::Ratio, "%", "80 %"),
            (3.0, Dimension::Count, "{count}", "3"),
        ] {
            assert_eq!(Quantity::new(value, unit(dimension, code)).typed, text);
        }
    }

    #[test]
    fn a_foreign_unit_has_no_value() {
        let volts = Quantity::new(12.4, unit(Dimension::Voltage, "V"));
        assert_eq!(volts.to(unit(Dimension::Current, "A")), None);
        assert_eq!(volts.to(unit(Dimension::Voltage, "mV")), Some(12_400.0));
    }
}
