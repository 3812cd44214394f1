//! What a number in a shop's sheet can be: wide windows, per check and quantity, that know the
//! volts of the system.
//!
//! Outside them a number is kept as typed and not used. All bounds are own judgement, wide on
//! purpose. Must not judge a part.

use crate::units::{Dimension, Unit, list};

/// Highest system volts met, V, where they are not known.
const HIGHEST_SYSTEM: f64 = 32.0;
/// Volts above the name of the system that a charging system may reach.
const CHARGING: f64 = 1.35;

/// Lowest and highest, canonical unit.
pub type Window = (f64, f64);

/// The window of a check or field in the canonical unit of its dimension.
#[must_use]
pub fn of(name: &str, dimension: Dimension, system_volts: Option<f64>) -> Window {
    let volts = system_volts.unwrap_or(HIGHEST_SYSTEM) * CHARGING;
    match name {
        "plug_glow_time" | "preheat_on_time" => (0.2, 300.0),
        "compression" => (1.0, 80.0),
        "opening_pressure" => (30.0, 450.0),
        "feed_pump_pressure" => (-1.0, 10.0),
        "supply_vacuum" => (-1.05, 1.05),
        "transfer_pressure" => (0.0, 20.0),
        "plug_current" => (0.0, 80.0),
        "plug_current_total" => (0.0, 500.0),
        "starter_current" => (5.0, 3000.0),
        "crank_rpm" | "crank_rpm_by_ear" => (5.0, 800.0),
        "battery_rest_volts" | "cranking_volts" | "battery_load_test" | "starter_volts" => {
            (0.0, volts)
        }
        "crank_time" | "time_to_even" => (0.0, 600.0),
        "air_temperature" => (-60.0, 60.0),
        "engine_temperature" => (-60.0, 130.0),
        "soak" => (0.0, 2.0e7),
        "preheat" => (0.0, 600.0),
        "leak_down" => (0.0, 1.0),
        _ => wide(dimension, volts),
    }
}

fn wide(dimension: Dimension, volts: f64) -> Window {
    match dimension {
        Dimension::Temperature => (-60.0, 1300.0),
        Dimension::TemperatureDifference => (-1300.0, 1300.0),
        Dimension::Pressure => (-1.05, 500.0),
        Dimension::Voltage => (-volts, volts),
        Dimension::Current => (-3000.0, 3000.0),
        Dimension::Resistance => (0.0, 1e8),
        Dimension::Time => (0.0, 604_800.0),
        Dimension::Length => (-1000.0, 1.0e13),
        Dimension::RotationalSpeed => (0.0, 6000.0),
        Dimension::Volume | Dimension::VolumeRate => (0.0, 100_000.0),
        Dimension::Ratio => (0.0, 10.0),
        Dimension::Angle => (-360.0, 360.0),
        Dimension::Count => (0.0, 10_000.0),
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
        assert_eq!(
            of("cranking_volts", Dimension::Voltage, Some(12.0)).1,
            16.200000000000003
        );
        assert!(of("cranking_volts", Dimension::Voltage, None).1 > 30.0);
    }
}
