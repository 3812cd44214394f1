//! The list of units with their exact factors. Data only.
//!
//! Sources of the factors: the international inch (25.4 mm), pound (0.45359237 kg), standard
//! gravity (9.80665 m/s²) and atmosphere (101 325 Pa) are exact by definition; the
//! conventional columns are mercury at 13 595.1 kg/m³ and water at 1 000 kg/m³. Codes follow
//! the UCUM table where it has one. `kg` as a pressure is workshop shorthand for kgf/cm²
//! (common practice, no source).

use super::dimension::Dimension as D;
use super::unit::Unit;

/// Pounds-force a square inch in bar: 0.45359237 · 9.80665 / (0.0254² · 10⁵), as a ratio of
/// whole numbers.
const PSI: (f64, f64) = (44_482_216_152_605.0, 645_160_000_000_000.0);
/// Inch of mercury in bar: 13 595.1 · 9.80665 · 0.0254 / 10⁵.
const IN_HG: (f64, f64) = (135_951.0 * 980_665.0 * 254.0, 1e15);
/// Millimetre of mercury in bar: 13 595.1 · 9.80665 · 0.001 / 10⁵.
const MM_HG: (f64, f64) = (135_951.0 * 980_665.0, 1e14);
/// Millimetre of water in bar: 1 000 · 9.80665 · 0.001 / 10⁵.
const MM_H2O: (f64, f64) = (980_665.0, 1e10);
/// Inch of water in bar: 25.4 times the millimetre.
const IN_H2O: (f64, f64) = (980_665.0 * 254.0, 1e11);

const fn unit(
    dimension: D,
    code: &'static str,
    symbol: &'static str,
    spellings: &'static [&'static str],
    (numerator, denominator): (f64, f64),
) -> Unit {
    scale(
        dimension,
        code,
        symbol,
        spellings,
        (numerator, denominator),
        0.0,
    )
}

const fn scale(
    dimension: D,
    code: &'static str,
    symbol: &'static str,
    spellings: &'static [&'static str],
    (numerator, denominator): (f64, f64),
    zero: f64,
) -> Unit {
    Unit {
        dimension,
        code,
        symbol,
        spellings,
        numerator,
        denominator,
        zero,
    }
}

const ONE: (f64, f64) = (1.0, 1.0);

#[rustfmt::skip]
pub(super) const TABLE: &[Unit] = &[
    scale(D::Temperature, "Cel", "°C", &["C", "degC", "degreesC", "celsius", "º C", "deg.C", "grdC", "GradC"], ONE, 0.0),
    scale(D::Temperature, "[degF]", "°F", &["F", "degF", "degreesF", "fahrenheit", "ºF", "deg.F"], (5.0, 9.0), 32.0),
    scale(D::Temperature, "K", "K", &["kelvin"], ONE, 273.15),

    unit(D::TemperatureDifference, "K", "K", &["C", "°C", "degC", "Cel", "kelvin", "celsius"], ONE),
    unit(D::TemperatureDifference, "[degF]", "°F", &["F", "degF", "fahrenheit"], (5.0, 9.0)),

    unit(D::Pressure, "bar", "bar", &["bars"], ONE),
    unit(D::Pressure, "mbar", "mbar", &["hPa"], (1.0, 1000.0)),
    unit(D::Pressure, "Pa", "Pa", &[], (1.0, 100_000.0)),
    unit(D::Pressure, "kPa", "kPa", &[], (1.0, 100.0)),
    unit(D::Pressure, "MPa", "MPa", &[], (10.0, 1.0)),
    unit(D::Pressure, "[psi]", "psi", &["lb/in2", "lbs/in2", "lbf/in2", "lb/sq in", "lbs", "lb", "pounds"], PSI),
    unit(D::Pressure, "att", "kgf/cm²", &["kgf/cm2", "kg/cm2", "kgf/cm^2", "kg/cm^2", "kgf·cm-2", "kgf cm-2", "kgf", "kg", "kilo", "kilos", "kp/cm2", "at"], (980_665.0, 1_000_000.0)),
    unit(D::Pressure, "atm", "atm", &[], (101_325.0, 100_000.0)),
    unit(D::Pressure, "[in_i'Hg]", "inHg", &["in.Hg", "\"Hg", "inches of mercury", "inch Hg"], IN_HG),
    unit(D::Pressure, "mm[Hg]", "mmHg", &["Torr", "mm of mercury"], MM_HG),
    unit(D::Pressure, "mm[H2O]", "mmH2O", &["mm WC", "mm WS", "mm water", "mm of water", "mmwg"], MM_H2O),
    unit(D::Pressure, "[in_i'H2O]", "inH2O", &["in.H2O", "\"H2O", "inches of water", "inch H2O", "in WC", "inwg"], IN_H2O),

    unit(D::Voltage, "V", "V", &["volt", "volts", "Vdc", "VDC", "V DC"], ONE),
    unit(D::Voltage, "mV", "mV", &["millivolt", "millivolts"], (1.0, 1000.0)),

    unit(D::Current, "A", "A", &["amp", "amps", "ampere", "amperes", "Adc"], ONE),
    unit(D::Current, "mA", "mA", &["milliamp", "milliamps"], (1.0, 1000.0)),

    unit(D::Resistance, "Ohm", "Ω", &["ohm", "ohms", "R"], ONE),
    unit(D::Resistance, "mOhm", "mΩ", &["mohm", "mohms", "milliohm", "milliohms"], (1.0, 1000.0)),
    unit(D::Resistance, "kOhm", "kΩ", &["kohm", "kohms", "k", "kiloohm"], (1000.0, 1.0)),
    unit(D::Resistance, "MOhm", "MΩ", &["Mohm", "Mohms", "megohm", "megohms"], (1_000_000.0, 1.0)),

    unit(D::Time, "s", "s", &["sec", "secs", "second", "seconds", "Sek", "\""], ONE),
    unit(D::Time, "ms", "ms", &["msec", "millisecond", "milliseconds"], (1.0, 1000.0)),
    unit(D::Time, "min", "min", &["mins", "minute", "minutes", "m", "'"], (60.0, 1.0)),
    unit(D::Time, "h", "h", &["hr", "hrs", "hour", "hours", "Std"], (3600.0, 1.0)),
    unit(D::Time, "d", "d", &["day", "days"], (86_400.0, 1.0)),

    unit(D::Length, "mm", "mm", &["millimetre", "millimetres", "millimeter", "millimeters"], ONE),
    unit(D::Length, "um", "µm", &["micron", "microns"], (1.0, 1000.0)),
    unit(D::Length, "cm", "cm", &[], (10.0, 1.0)),
    unit(D::Length, "m", "m", &["metre", "metres", "meter", "meters"], (1000.0, 1.0)),
    unit(D::Length, "km", "km", &["kilometre", "kilometres"], (1_000_000.0, 1.0)),
    unit(D::Length, "[in_i]", "in", &["inch", "inches", "\""], (254.0, 10.0)),
    unit(D::Length, "[mil_i]", "thou", &["mil"], (254.0, 10_000.0)),
    unit(D::Length, "[ft_i]", "ft", &["foot", "feet", "'"], (3048.0, 10.0)),
    unit(D::Length, "[mi_i]", "mi", &["mile", "miles"], (1_609_344.0, 1.0)),

    unit(D::RotationalSpeed, "/min", "rpm", &["1/min", "r/min", "rev/min", "min-1", "min^-1", "U/min", "revs", "turns/min"], ONE),
    unit(D::RotationalSpeed, "/s", "1/s", &["rps", "r/s", "rev/s", "s-1"], (60.0, 1.0)),

    unit(D::Volume, "mL", "mL", &["cc", "ccm", "cm3", "cm^3"], ONE),
    unit(D::Volume, "mm3", "mm³", &["mm^3", "cmm"], (1.0, 1000.0)),
    unit(D::Volume, "cL", "cL", &[], (10.0, 1.0)),
    unit(D::Volume, "dL", "dL", &[], (100.0, 1.0)),
    unit(D::Volume, "L", "L", &["litre", "litres", "liter", "liters", "ltr"], (1000.0, 1.0)),

    unit(D::VolumeRate, "mL/min", "mL/min", &["cc/min", "cm3/min", "ccm/min"], ONE),
    unit(D::VolumeRate, "L/min", "L/min", &[], (1000.0, 1.0)),
    unit(D::VolumeRate, "L/h", "L/h", &[], (1000.0, 60.0)),

    unit(D::Ratio, "1", "x", &["×", "times", "fold"], ONE),
    unit(D::Ratio, "%", "%", &["percent", "per cent", "pct", "of 100"], (1.0, 100.0)),

    unit(D::Angle, "deg", "deg", &["°", "º", "degree", "degrees", "Grad"], ONE),
    unit(D::Angle, "'", "arcmin", &["′"], (1.0, 60.0)),

    unit(D::Count, "{count}", "", &["x", "times", "pcs", "pieces", "drops", "strokes", "count"], ONE),
];
