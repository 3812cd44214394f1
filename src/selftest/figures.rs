//! Published figures: outlier rules, compression and current, units.
//!
//! Must not hold figures of our own judgement.

use super::check::Check;
use crate::evidence::trials::reference::{Sides, dixon, dixon_n3, esd, grubbs, grubbs_critical};
use crate::units::physics::{
    battery_minimum_volts, compression_end_pressure, compression_end_temperature,
    copper_resistance, power,
};
use crate::units::{Dimension, Quantity, Unit};

const KELVIN: f64 = 273.15;

/// Tietjen & Moore 1972, Technometrics 14(3): atomic masses.
const MASSES: [f64; 8] = [
    199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57,
];
/// The eight values of breaking strength in the NIST Dataplot manual.
const WIRE: [f64; 8] = [568.0, 570.0, 570.0, 570.0, 572.0, 578.0, 584.0, 596.0];
/// Rosner 1983, Technometrics 25(2): 165.
const ROSNER: [f64; 54] = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58,
    1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23,
    2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30,
    3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
];
/// Most outliers looked for in it.
const ROSNER_MOST: usize = 10;

const HANDBOOK: &str = "NIST/SEMATECH e-Handbook of Statistical Methods 1.3.5.17";
const DATAPLOT: &str = "NIST Dataplot manual, Dixon test";
const CENGEL: &str = "Cengel & Boles, Thermodynamics, Diesel cycle (recalled)";
const COPPER: &str = "IEC 60028, resistance of copper at 20 degC";
const DEFINED: &str = "definition of the unit";
const OHM: &str = "Ohm's and Joule's laws";
const SERVICE: &str = "vehicle-service pages, volts while cranking (common practice)";

fn check(
    name: &str,
    source: &'static str,
    expected: f64,
    within: f64,
    found: Option<f64>,
) -> Check {
    Check {
        name: name.to_owned(),
        source,
        expected,
        within,
        found: found.unwrap_or(f64::NAN),
    }
}

/// Every published figure, with the one found here.
pub(super) fn checks() -> Vec<Check> {
    let mut list = outliers();
    list.extend(physics());
    list.extend(units());
    list
}

fn outliers() -> Vec<Check> {
    // Printed cut off, not rounded: one unit of the last place.
    let g = grubbs(&MASSES).map(|g| g.statistic);
    let critical = grubbs_critical(8, 0.05, Sides::One);
    let d = dixon(&WIRE).map(|d| d.high);
    let found = esd(&ROSNER, ROSNER_MOST);
    #[expect(clippy::cast_precision_loss, reason = "a few outliers")]
    let count = found.as_ref().map(|e| e.outliers as f64);
    let third = found.as_ref().and_then(|e| e.steps.get(2));
    vec![
        check("Grubbs: statistic of the masses", HANDBOOK, 2.4687, 1e-4, g),
        check(
            "Grubbs: 5 % limit of 8 values",
            HANDBOOK,
            2.032,
            5e-4,
            critical,
        ),
        check("Dixon: ratio of the wire", DATAPLOT, 0.461_538, 5e-7, d),
        check(
            "Dixon: 5 % limit of 3 values",
            "Rorabacher 1991, Anal. Chem. 63: 139",
            0.941,
            5e-4,
            Some(dixon_n3(0.05)),
        ),
        check(
            "generalised ESD: third statistic of Rosner's values",
            HANDBOOK,
            3.179,
            1e-3,
            third.map(|s| s.statistic),
        ),
        check(
            "generalised ESD: outliers in Rosner's values",
            HANDBOOK,
            3.0,
            0.0,
            count,
        ),
    ]
}

fn physics() -> Vec<Check> {
    let start = 540.0 / 1.8 - KELVIN;
    let end = (compression_end_temperature(start, 18.0, 1.4) + KELVIN) * 1.8;
    let pressure = compression_end_pressure(14.7, 18.0, 1.4);
    vec![
        check(
            "compression: end temperature, r 18, degR",
            CENGEL,
            1716.0,
            0.5,
            Some(end),
        ),
        check(
            "compression: end pressure, r 18, psi",
            CENGEL,
            841.0,
            0.5,
            Some(pressure),
        ),
        check(
            "copper: ohms of 1 m of 1 mm2",
            COPPER,
            0.017_241,
            5e-7,
            Some(copper_resistance(1.0, 1.0, 20.0)),
        ),
        check(
            "watts of 11 V at 22 A",
            OHM,
            242.0,
            0.5,
            Some(power(11.0, 0.5)),
        ),
        check(
            "battery: least volts while cranking, 0 degF",
            SERVICE,
            8.5,
            0.02,
            Some(battery_minimum_volts(-160.0 / 9.0)),
        ),
    ]
}

fn units() -> Vec<Check> {
    let convert = |dimension, value: f64, from: &str, to: &str| {
        let from = Unit::by_code(dimension, from)?;
        let to = Unit::by_code(dimension, to)?;
        Quantity::new(value, from).to(to)
    };
    let pressure = |value, from, to| convert(Dimension::Pressure, value, from, to);
    let degrees = |value| convert(Dimension::Temperature, value, "[degF]", "Cel");
    vec![
        check(
            "1 psi in kPa",
            DEFINED,
            6.894_757_293_168,
            5e-13,
            pressure(1.0, "[psi]", "kPa"),
        ),
        check(
            "1 bar in psi",
            DEFINED,
            14.503_773_773,
            5e-10,
            pressure(1.0, "bar", "[psi]"),
        ),
        check(
            "1 atm in kPa",
            DEFINED,
            101.325,
            5e-4,
            pressure(1.0, "atm", "kPa"),
        ),
        check("23 degF in degC", DEFINED, -5.0, 5e-13, degrees(23.0)),
        check("-40 degF in degC", DEFINED, -40.0, 5e-12, degrees(-40.0)),
    ]
}
