//! Physics against published figures; the source stands beside each check. Printed figures are
//! held to half a unit of their last place.

use approx::assert_abs_diff_eq;
use hardstart::units::physics::*;
use hardstart::units::{Dimension, Quantity, Unit};

/// Source: Cengel & Boles, Diesel cycle, example 9-3 (recalled): r 18, k 1.4, 540 °R, 14.7 psia
/// gives T2 1716 °R and p2 841 psia.
#[test]
fn diesel_cycle_example() {
    let rankine = |celsius: f64| (celsius + 273.15) * 1.8;
    let t1 = 540.0 / 1.8 - 273.15;
    let t2 = rankine(compression_end_temperature(t1, 18.0, 1.4));
    assert_abs_diff_eq!(t2, 1716.0, epsilon = 0.5);
    assert_abs_diff_eq!(t2, 1715.9, epsilon = 0.05);
    assert_abs_diff_eq!(
        compression_end_pressure(14.7, 18.0, 1.4),
        841.0,
        epsilon = 0.5
    );
}

/// Source: Cengel & Boles, end-of-chapter problem: r 20, 95 kPa, 293 K. T2 971.14 K and
/// p2 6297.5 kPa lead to its printed answers (63.5 %, 933 kPa), followed here to the efficiency
/// `1 − r^(1−k) (c^k − 1) / (k (c − 1))` with cut-off ratio c = 2200 K / T2.
#[test]
fn diesel_cycle_problem() {
    let t2 = compression_end_temperature(293.0 - 273.15, 20.0, 1.4) + 273.15;
    assert_abs_diff_eq!(t2, 971.14, epsilon = 0.05);
    assert_abs_diff_eq!(
        compression_end_pressure(95.0, 20.0, 1.4),
        6297.5,
        epsilon = 0.5
    );
    let (k, cut_off) = (1.4_f64, 2200.0 / t2);
    let efficiency = 1.0 - 20.0_f64.powf(1.0 - k) * (cut_off.powf(k) - 1.0) / (k * (cut_off - 1.0));
    assert_abs_diff_eq!(efficiency, 0.635, epsilon = 0.0005);
}

/// Source: recomputed polytropic table (a second implementation, not a publication).
#[test]
fn compression_table_of_a_second_implementation() {
    for (start, ratio, row) in [
        (-20.0, 18.0, [178.1, 248.3, 329.4, 423.0, 531.3]),
        (-20.0, 22.0, [196.6, 275.1, 366.7, 473.7, 598.5]),
        (0.0, 18.0, [213.8, 289.5, 377.0, 478.0, 594.8]),
        (0.0, 22.0, [233.7, 318.4, 417.3, 532.7, 667.4]),
        (20.0, 16.0, [237.3, 313.1, 400.3, 500.5, 615.5]),
        (20.0, 18.0, [249.4, 330.7, 424.6, 533.0, 658.4]),
        (20.0, 22.0, [270.8, 361.7, 467.8, 591.7, 736.2]),
    ] {
        for (n, expected) in [1.20, 1.25, 1.30, 1.35, 1.40].into_iter().zip(row) {
            let got = compression_end_temperature(start, ratio, n);
            assert_abs_diff_eq!(got, expected, epsilon = 0.051);
        }
    }
    for (ratio, row) in [
        (16.0, [28.2, 32.4, 37.2, 42.8, 49.1]),
        (18.0, [32.5, 37.6, 43.4, 50.2, 58.0]),
        (22.0, [41.4, 48.3, 56.3, 65.8, 76.8]),
    ] {
        for (n, expected) in [1.20, 1.25, 1.30, 1.35, 1.40].into_iter().zip(row) {
            let got = compression_end_pressure(1.013_25, ratio, n);
            assert_abs_diff_eq!(got, expected, epsilon = 0.051);
        }
    }
}

/// Source: vehicle-service pages, °F 70 60 50 40 30 20 10 0 (common practice, not a standard).
#[test]
fn battery_volts_in_the_cold() {
    let volts = [9.6, 9.5, 9.4, 9.3, 9.1, 8.9, 8.7, 8.5];
    for (i, expected) in volts.into_iter().enumerate() {
        let celsius = (70.0 - 10.0 * i as f64 - 32.0) * 5.0 / 9.0;
        assert_abs_diff_eq!(battery_minimum_volts(celsius), expected, epsilon = 1e-9);
    }
    // The whole °C printed beside them.
    for (celsius, expected) in [
        (21.0, 9.6),
        (10.0, 9.4),
        (-1.0, 9.1),
        (-12.0, 8.7),
        (-18.0, 8.5),
    ] {
        assert_abs_diff_eq!(battery_minimum_volts(celsius), expected, epsilon = 0.02);
    }
    assert_eq!(battery_minimum_volts(40.0), 9.6);
    assert_eq!(battery_minimum_volts(-40.0), 8.5);
}

/// Source: US Army TM 5-4210-230 table 3 (power left); a vehicle-service page (power needed).
#[test]
fn battery_power_in_the_cold() {
    for (fahrenheit, left) in [(80.0, 1.0), (32.0, 0.65), (0.0, 0.40), (-20.0, 0.20)] {
        let celsius = (fahrenheit - 32.0) * 5.0 / 9.0;
        assert_abs_diff_eq!(battery_power_left(celsius), left, epsilon = 1e-9);
    }
    let ratio = |c: f64| battery_power_left(c) / cranking_power_needed(c);
    assert_abs_diff_eq!(ratio(0.0), 0.4194, epsilon = 5e-5);
    assert_abs_diff_eq!(ratio(-160.0 / 9.0), 0.1905, epsilon = 5e-5);
}

/// Source: IEC 60028 (1/58 Ω·mm²/m at 20 °C, 0.00393 per K).
#[test]
fn copper_warms_and_resists() {
    assert_abs_diff_eq!(copper_resistance(1.0, 1.0, 20.0), 0.017_241, epsilon = 5e-7);
    for (celsius, ratio) in [
        (-20.0, 0.842_80),
        (0.0, 0.921_40),
        (50.0, 1.117_90),
        (90.0, 1.275_10),
    ] {
        assert_abs_diff_eq!(copper_resistance_ratio(celsius), ratio, epsilon = 1e-12);
    }
    // Source: IEC 60228 annex, factors to 20 °C (built with 0.004 per K, hence the tolerance).
    for (celsius, factor) in [
        (5.0, 1.064),
        (10.0, 1.042),
        (50.0, 0.893),
        (75.0, 0.820),
        (100.0, 0.758),
    ] {
        assert_abs_diff_eq!(
            1.0 / copper_resistance_ratio(celsius),
            factor,
            epsilon = 0.005
        );
    }
    // Source: IEC 60228 class 2 limits in Ω/km: solid copper of that area stays below them.
    for (area, limit) in [(2.5, 7.41), (16.0, 1.15), (35.0, 0.524), (70.0, 0.268)] {
        let per_km = copper_resistance(1000.0, area, 20.0);
        assert!(
            per_km < limit && per_km > 0.9 * limit,
            "{area} mm²: {per_km}"
        );
    }
}

/// Source: Ohm's and Joule's laws.
#[test]
fn preheat_by_ohms_law() {
    for (volts, ohms, amps, watts) in [
        (11.0, 0.5, 22.00, 242.0),
        (11.0, 0.6, 18.33, 201.7),
        (11.0, 1.0, 11.00, 121.0),
        (11.5, 0.5, 23.00, 264.5),
        (11.5, 0.6, 19.17, 220.4),
        (11.5, 1.0, 11.50, 132.25),
        (12.0, 0.5, 24.0, 288.0),
        (12.0, 0.6, 20.0, 240.0),
        (12.0, 1.0, 12.0, 144.0),
    ] {
        assert_abs_diff_eq!(current(volts, ohms), amps, epsilon = 0.005);
        assert_abs_diff_eq!(power(volts, ohms), watts, epsilon = 0.05);
    }
    assert_abs_diff_eq!(4.0 * current(11.0, 0.6), 73.33, epsilon = 0.005);
    // 0.2 Ω of bad contact before a 0.6 Ω plug at 11.5 V.
    let amps = current(11.5, 0.8);
    assert_abs_diff_eq!(amps, 14.375, epsilon = 1e-12);
    assert_abs_diff_eq!(amps * 0.6, 8.625, epsilon = 1e-12);
    assert_abs_diff_eq!(power(8.625, 0.6), 123.98, epsilon = 0.005);
    assert_abs_diff_eq!(preheat_power_ratio(8.625, 11.5), 0.5625, epsilon = 1e-12);
    // 11.4 V gives 84.5 % of the heat at 12.4 V.
    assert_abs_diff_eq!(preheat_power_ratio(11.4, 12.4), 0.845, epsilon = 5e-4);
}

/// Source: four-stroke cycle; 12 strokes in 4 s on four cylinders are 90 rpm.
#[test]
fn cranking_speed_by_ear() {
    assert_eq!(rpm_from_pulses(12, 4, 4.0), Some(90.0));
    assert_eq!(rpm_from_pulses(12, 0, 4.0), None);
    assert_eq!(rpm_from_pulses(12, 4, 0.0), None);
}

fn unit(dimension: Dimension, code: &str) -> Unit {
    Unit::by_code(dimension, code).expect("a listed unit")
}

/// Sources: definitions of pound, inch, standard gravity and atmosphere; unit tables printing
/// 6.894757293168 kPa, 14.503773773 psi, 14.223343307 psi, 3.386389 kPa.
#[test]
fn pressure_units() {
    let convert = |value: f64, from: &str, to: &str| {
        Quantity::new(value, unit(Dimension::Pressure, from))
            .to(unit(Dimension::Pressure, to))
            .expect("a pressure")
    };
    assert_abs_diff_eq!(
        convert(1.0, "[psi]", "kPa"),
        6.894_757_293_168,
        epsilon = 1e-11
    );
    assert_abs_diff_eq!(
        convert(1.0, "bar", "[psi]"),
        14.503_773_773,
        epsilon = 5e-10
    );
    assert_abs_diff_eq!(convert(1.0, "att", "kPa"), 98.0665, epsilon = 1e-11);
    assert_abs_diff_eq!(
        convert(1.0, "att", "[psi]"),
        14.223_343_307,
        epsilon = 5e-10
    );
    assert_abs_diff_eq!(convert(1.0, "att", "bar"), 0.980_665, epsilon = 1e-12);
    assert_abs_diff_eq!(convert(1.0, "atm", "kPa"), 101.325, epsilon = 1e-11);
    // Printed cut off, not rounded (14.6959487755): one unit of the last place.
    assert_abs_diff_eq!(convert(1.0, "atm", "[psi]"), 14.695_948_775, epsilon = 1e-9);
    assert_abs_diff_eq!(
        convert(1.0, "MPa", "[psi]"),
        145.037_737_730,
        epsilon = 5e-9
    );
    assert_abs_diff_eq!(convert(1.0, "[in_i'Hg]", "kPa"), 3.386_389, epsilon = 5e-7);
    assert_abs_diff_eq!(convert(400.0, "[psi]", "bar"), 27.58, epsilon = 0.005);
    assert_abs_diff_eq!(convert(1500.0, "[psi]", "bar"), 103.0, epsilon = 0.5);
}

/// Source: definition of the scales; printed to one decimal.
#[test]
fn temperature_scales() {
    for (fahrenheit, celsius) in [
        (70.0, 21.1),
        (32.0, 0.0),
        (0.0, -17.8),
        (-20.0, -28.9),
        (-40.0, -40.0),
    ] {
        let quantity = Quantity::new(fahrenheit, unit(Dimension::Temperature, "[degF]"));
        assert_abs_diff_eq!(quantity.value, celsius, epsilon = 0.05);
    }
}
