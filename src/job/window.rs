//! Windows of belief: numbers outside are kept as typed, marked and not used until somebody
//! confirms them.
//!
//! Wide, per quantity, and aware of the volts of the system. Must not judge a part.

use crate::units::{Dimension, Quantity};

/// Engine and air temperatures a start may have, degC (own judgement: colder and hotter
/// starts of a whole engine do not happen).
pub const START_TEMPERATURE: (f64, f64) = (-60.0, 130.0);

/// Volts above the name of the system that a charging system may reach (own judgement:
/// 15 V on 12, 30 V on 24, with room).
const CHARGING: f64 = 1.5;
/// Highest system volts met, V, where they are not known (own judgement).
const HIGHEST_SYSTEM: f64 = 32.0;

/// Lowest and highest believable value in the canonical unit (all own judgement, common
/// practice behind them, no source).
fn window(dimension: Dimension, system_volts: Option<f64>) -> (f64, f64) {
    match dimension {
        // A glowing tip is seen by some pyrometers.
        Dimension::Temperature => (-60.0, 1300.0),
        Dimension::TemperatureDifference => (-1300.0, 1300.0),
        // Full vacuum to nozzles that open at 400 bar.
        Dimension::Pressure => (-1.05, 500.0),
        Dimension::Voltage => {
            let most = system_volts.unwrap_or(HIGHEST_SYSTEM) * CHARGING;
            (-most, most)
        }
        // A large starter's first rush.
        Dimension::Current => (-3000.0, 3000.0),
        // An open meter may show tens of megohms.
        Dimension::Resistance => (0.0, 1e8),
        // A week: rests and standing included.
        Dimension::Time => (0.0, 604_800.0),
        // Lifts, wear and drips, to a metre of pipe.
        Dimension::Length => (-1000.0, 10_000.0),
        Dimension::RotationalSpeed => (0.0, 6000.0),
        Dimension::Volume => (0.0, 100_000.0),
        Dimension::VolumeRate => (0.0, 100_000.0),
        Dimension::Ratio => (0.0, 10.0),
        Dimension::Angle => (-360.0, 360.0),
        Dimension::Count => (0.0, 10_000.0),
    }
}

/// Why a number is hard to believe, if it is.
pub(super) fn suspect(quantity: &Quantity, system_volts: Option<f64>) -> Option<String> {
    let (low, high) = window(quantity.dimension, system_volts);
    if (low..=high).contains(&quantity.value) {
        return None;
    }
    let unit = quantity.dimension.canonical().symbol();
    let name = quantity.dimension.name();
    Some(format!(
        "{quantity} is outside {low} to {high} {unit} for a {name}; kept, not used until confirmed"
    ))
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
    fn the_window_of_volts_follows_the_system() {
        // 25.2 V at rest is a sound 24 V set and no reading of a 12 V one (own judgement).
        assert!(suspect(&volts("25.2 V"), Some(24.0)).is_none());
        assert!(suspect(&volts("25.2 V"), Some(12.0)).is_some());
        assert!(suspect(&volts("14.4 V"), Some(12.0)).is_none());
        assert!(suspect(&volts("25.2 V"), None).is_none());
    }
}
