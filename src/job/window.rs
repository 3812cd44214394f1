//! Windows of belief: numbers outside are kept as typed, marked and not used until somebody
//! confirms them.
//!
//! Wide, per quantity, and aware of the volts of the system. Must not judge a part.

use crate::units::{Dimension, Quantity};

/// Engine and air temperatures a start may have, degC (own judgement: colder and hotter
/// starts of a whole engine do not happen).
pub const START_TEMPERATURE: (f64, f64) = (-60.0, 130.0);

/// Volts a charging system may reach, as a share of the name of the system (own judgement:
/// 15 V on 12, 30 V on 24, with room).
const CHARGING: f64 = 1.35;
/// Highest system volts met, V, where they are not known (own judgement).
const HIGHEST_SYSTEM: f64 = 32.0;

/// The checks of one battery, of two in a row too.
const ONE_BATTERY: [&str; 2] = ["battery_rest_volts", "battery_load_test"];
/// Name of the volts of one battery, V: a system of 24 V has two in a row.
const BATTERY: f64 = 12.0;

/// Lowest and highest believable value, in the canonical unit of the dimension.
pub type Window = (f64, f64);

/// The window of a check or a field by its name; of its dimension alone where the name has none of
/// its own. All bounds are own judgement, wide on purpose.
#[must_use]
pub fn window(name: &str, dimension: Dimension, system_volts: Option<f64>) -> Window {
    let volts = (system_volts.unwrap_or(HIGHEST_SYSTEM) * CHARGING * 10.0).round() / 10.0;
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
        one if ONE_BATTERY.contains(&one) => {
            (0.0, volts.min((BATTERY * CHARGING * 10.0).round() / 10.0))
        }
        "cranking_volts" | "battery_load_test" | "starter_volts" => (0.0, volts),
        "crank_time" | "time_to_even" => (0.0, LONGEST_SIGN),
        "air_temperature" => (-60.0, 60.0),
        "engine_temperature" => START_TEMPERATURE,
        "soak" => (0.0, 2.0e7),
        "preheat" => (0.0, 600.0),
        "leak_down" => (0.0, 1.0),
        // Volts at a plug that glows at all; leads a meter is sold with.
        "supply" => (3.0, volts),
        "leads" => (0.0, 2.0),
        _ => of_dimension(dimension, volts),
    }
}

fn of_dimension(dimension: Dimension, volts: f64) -> Window {
    match dimension {
        // A glowing tip is seen by some pyrometers.
        Dimension::Temperature => (-60.0, 1300.0),
        Dimension::TemperatureDifference => (-1300.0, 1300.0),
        // Full vacuum to nozzles that open at 400 bar.
        Dimension::Pressure => (-1.05, 500.0),
        Dimension::Voltage => (-volts, volts),
        // A large starter's first rush.
        Dimension::Current => (-3000.0, 3000.0),
        // An open meter may show tens of megohms.
        Dimension::Resistance => (0.0, 1e8),
        // A week: rests and standing included.
        Dimension::Time => (0.0, 604_800.0),
        // Lifts, wear and drips, to a metre of pipe.
        Dimension::Length => (-1000.0, 10_000.0),
        Dimension::RotationalSpeed => (0.0, 6000.0),
        Dimension::Volume | Dimension::VolumeRate => (0.0, 100_000.0),
        Dimension::Ratio => (0.0, 10.0),
        Dimension::Angle => (-360.0, 360.0),
        Dimension::Count => (0.0, 10_000.0),
    }
}

/// Why a number of a check is hard to believe, if it is; a figure beside it has no name.
pub(super) fn suspect(
    name: &str,
    quantity: &Quantity,
    system_volts: Option<f64>,
) -> Option<String> {
    let (low, high) = window(name, quantity.dimension, system_volts);
    if (low..=high).contains(&quantity.value) {
        return None;
    }
    let unit = quantity.dimension.canonical().symbol();
    let what = quantity.dimension.name();
    let turned = quantity.dimension == Dimension::Current && quantity.value < 0.0;
    let is_set = ONE_BATTERY.contains(&name) && quantity.value > high;
    let hint = if turned {
        "is the clamp the other way round? "
    } else if is_set {
        "this asks for one 12 V battery, so were both of a 24 V set read together? "
    } else {
        ""
    };
    Some(format!(
        "{quantity} is outside {low} to {high} {unit} for a {what}; {hint}kept, not used until \
         confirmed"
    ))
}

/// Why ohms are hard to believe from which the meter's leads leave nothing, if they are.
pub(super) fn less_than_leads(read: &Quantity, leads: &Quantity) -> Option<String> {
    let same = read.dimension == Dimension::Resistance;
    (same && read.value < leads.value).then(|| {
        format!("{read} is less than the leads alone, {leads}; kept, not used until confirmed")
    })
}

/// Longest believable time of a sign timed in seconds, s (own judgement: ten minutes).
const LONGEST_SIGN: f64 = 600.0;

/// Why the seconds of a sign are hard to believe, if they are.
pub(super) fn suspect_seconds(quantity: &Quantity) -> Option<String> {
    (!(0.0..=LONGEST_SIGN).contains(&quantity.value)).then(|| {
        format!(
            "{quantity} is outside 0 to {LONGEST_SIGN} s for a start; kept, not used until confirmed"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(text: &str) -> Quantity {
        Quantity::parse(text, Dimension::Voltage, None)
            .unwrap()
            .quantity
    }

    #[test]
    fn a_compression_of_four_hundred_bar_is_hard_to_believe() {
        // The reader of job files took what the import puts aside.
        let read = |text| {
            Quantity::parse(text, Dimension::Pressure, None)
                .unwrap()
                .quantity
        };
        assert!(suspect("compression", &read("400 bar"), None).is_some());
        assert!(suspect("compression", &read("400 psi"), None).is_none());
    }

    #[test]
    fn the_window_of_volts_follows_the_system() {
        // 25.2 V at rest is a sound 24 V set and no reading of a 12 V one (own judgement).
        assert!(suspect("", &volts("25.2 V"), Some(24.0)).is_none());
        assert!(suspect("", &volts("25.2 V"), Some(12.0)).is_some());
        assert!(suspect("", &volts("14.4 V"), Some(12.0)).is_none());
        assert!(suspect("", &volts("25.2 V"), None).is_none());
        assert!(suspect("battery_rest_volts", &volts("17 V"), Some(12.0)).is_some());
    }
}
