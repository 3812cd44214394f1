//! The kinds of quantity a cold-start job deals in, each with its canonical unit.
//! Must not know spellings or do arithmetic.

use serde::{Deserialize, Serialize};

use super::table::TABLE;
use super::unit::Unit;

/// What a number measures. Each dimension stores its values in one canonical unit.
///
/// Pressures are kept as read: whether a gauge shows pressure above the atmosphere or
/// absolute pressure is a property of the check, not of the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dimension {
    /// A temperature on a scale with a zero point; canonical °C.
    Temperature,
    /// A difference of two temperatures; canonical K.
    TemperatureDifference,
    /// Pressure or vacuum, as the gauge shows it; canonical bar. Water columns belong here.
    Pressure,
    /// Voltage or voltage drop; canonical V.
    Voltage,
    /// Current; canonical A.
    Current,
    /// Resistance; canonical Ω.
    Resistance,
    /// A duration; canonical s.
    Time,
    /// A length or a distance; canonical mm.
    Length,
    /// Turns in a time; canonical turns a minute.
    RotationalSpeed,
    /// A volume; canonical mL.
    Volume,
    /// A volume in a time; canonical mL a minute.
    VolumeRate,
    /// A share or a ratio; canonical 1 (so 80 % is stored as 0.8).
    Ratio,
    /// An angle; canonical degree.
    Angle,
    /// A number of things; canonical 1. The only dimension in which a bare number is whole.
    Count,
}

impl Dimension {
    /// All dimensions, in the order in which they are listed to people.
    pub const ALL: [Dimension; 14] = [
        Dimension::Temperature,
        Dimension::TemperatureDifference,
        Dimension::Pressure,
        Dimension::Voltage,
        Dimension::Current,
        Dimension::Resistance,
        Dimension::Time,
        Dimension::Length,
        Dimension::RotationalSpeed,
        Dimension::Volume,
        Dimension::VolumeRate,
        Dimension::Ratio,
        Dimension::Angle,
        Dimension::Count,
    ];

    /// The name in plain words, as used in messages.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Temperature => "temperature",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Pressure => "pressure",
            Dimension::Voltage => "voltage",
            Dimension::Current => "current",
            Dimension::Resistance => "resistance",
            Dimension::Time => "time",
            Dimension::Length => "length",
            Dimension::RotationalSpeed => "rotational speed",
            Dimension::Volume => "volume",
            Dimension::VolumeRate => "volume rate",
            Dimension::Ratio => "ratio",
            Dimension::Angle => "angle",
            Dimension::Count => "count",
        }
    }

    /// The dimension of that [`name`](Self::name); underscores count as spaces.
    pub fn from_name(name: &str) -> Option<Dimension> {
        let name = name.trim().replace('_', " ");
        Dimension::ALL.into_iter().find(|d| d.name() == name)
    }

    /// The unit in which values of this dimension are stored.
    pub fn canonical(self) -> Unit {
        let own = TABLE.iter().filter(|u| u.dimension() == self);
        // The table lists the canonical unit of a dimension first; a test keeps that.
        own.copied().next().unwrap_or(TABLE[0])
    }

    /// A reading of this kind as a person would write it, for hints.
    pub fn example(self) -> &'static str {
        match self {
            Dimension::Temperature => "-6 °C",
            Dimension::TemperatureDifference => "12 K",
            Dimension::Pressure => "28 bar",
            Dimension::Voltage => "12.4 V",
            Dimension::Current => "15 A",
            Dimension::Resistance => "0.6 Ω",
            Dimension::Time => "8.4 s",
            Dimension::Length => "0.85 mm",
            Dimension::RotationalSpeed => "180 rpm",
            Dimension::Volume => "50 mL",
            Dimension::VolumeRate => "300 mL/min",
            Dimension::Ratio => "80 %",
            Dimension::Angle => "12 deg",
            Dimension::Count => "3",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_unit_of_each_dimension_is_canonical_and_scales_by_one() {
        for d in Dimension::ALL {
            let unit = d.canonical();
            assert_eq!(unit.dimension(), d);
            assert_eq!(unit.to_canonical(7.25), 7.25, "{}", d.name());
        }
    }

    #[test]
    fn names_read_back() {
        for d in Dimension::ALL {
            assert_eq!(Dimension::from_name(d.name()), Some(d));
            assert_eq!(Dimension::from_name(&d.name().replace(' ', "_")), Some(d));
        }
        assert_eq!(Dimension::from_name("torque"), None);
    }
}
