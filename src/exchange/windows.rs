//! What a number in a shop's sheet can be: the windows of the job reader, so that neither takes what
//! the other puts aside; and the unit that was meant where a number lies outside.
//!
//! Must not judge a part.

use crate::job::{Window, window};
use crate::units::{Dimension, Unit, list};

/// Longest distance an engine has run, mm; other lengths are those of readings.
const FARTHEST: f64 = 1.0e13;

/// The window of a check or field in the canonical unit of its dimension.
#[must_use]
pub fn of(name: &str, dimension: Dimension, system_volts: Option<f64>) -> Window {
    match name {
        "distance" => (0.0, FARTHEST),
        _ => window(name, dimension, system_volts),
    }
}

/// Units people mix up with the one of the column.
const MIXED_UP: [&str; 12] = [
    "[psi]", "bar", "att", "kPa", "[degF]", "Cel", "mOhm", "Ohm", "mV", "V", "s", "min",
];

/// The first other common unit in which a bare number would lie inside the window.
#[must_use]
pub fn other_unit(value: f64, dimension: Dimension, unit: Unit, window: Window) -> Option<Unit> {
    MIXED_UP.iter().find_map(|code| {
        let other = list()
            .iter()
            .find(|u| u.dimension() == dimension && u.code() == *code && u.code() != unit.code())?;
        let canonical = other.to_canonical(value);
        (window.0..=window.1).contains(&canonical).then_some(*other)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_hundred_bar_of_compression_is_likely_psi() {
        let window = of("compression", Dimension::Pressure, None);
        let bar = Unit::by_code(Dimension::Pressure, "bar").unwrap();
        let other = other_unit(412.0, Dimension::Pressure, bar, window).unwrap();
        assert_eq!(other.code(), "[psi]");
        assert!(other_unit(1.0e7, Dimension::Pressure, bar, window).is_none());
    }

    #[test]
    fn volts_follow_the_system() {
        assert_eq!(of("cranking_volts", Dimension::Voltage, Some(12.0)).1, 16.2);
        assert!(of("cranking_volts", Dimension::Voltage, None).1 > 30.0);
    }
}
