//! What people type becomes the right quantity, or an error that says where and what to do.
//! Expected values are arithmetic on the definitions of the units.

use approx::assert_relative_eq;
use hardstart::units::{Cmp, Dimension, Quantity, Unit, UnitError, list};
use proptest::prelude::*;

fn parse(text: &str, dimension: Dimension) -> Result<(Cmp, f64), UnitError> {
    Quantity::parse(text, dimension, None).map(|p| (p.cmp, p.quantity.value))
}

#[test]
fn one_reading_typed_four_ways_is_one_value() {
    let seconds = Some(Dimension::Time.canonical());
    for text in [
        "8,4",
        "8.4",
        "8.4 s",
        "8,4 s",
        "8\"4",
        "8.4s",
        "8.4 sec.",
        "\u{a0}8,4\u{202f}s",
    ] {
        let parsed = Quantity::parse(text, Dimension::Time, seconds).unwrap();
        assert_eq!(parsed.quantity.value, 8.4, "{text}");
        assert_eq!(parsed.quantity.typed, text);
        assert_eq!(parsed.cmp, Cmp::Equal);
    }
}

#[test]
fn workshop_spellings() {
    use Dimension as D;
    for (text, dimension, value) in [
        ("2'30", D::Time, 150.0),
        ("1:30", D::Time, 90.0),
        ("90s", D::Time, 90.0),
        ("45s", D::Time, 45.0),
        ("1,5 min", D::Time, 90.0),
        ("12 h", D::Time, 43_200.0),
        ("0R6", D::Resistance, 0.6),
        ("R47", D::Resistance, 0.47),
        ("4k7", D::Resistance, 4700.0),
        ("0,6 Ω", D::Resistance, 0.6),
        ("600 mOhm", D::Resistance, 0.6),
        ("28 kgf/cm2", D::Pressure, 28.0 * 0.980_665),
        ("28 kg", D::Pressure, 28.0 * 0.980_665),
        ("28 kgf·cm⁻²", D::Pressure, 28.0 * 0.980_665),
        ("2,8 MPa", D::Pressure, 28.0),
        ("2800 kPa", D::Pressure, 28.0),
        ("100 mmH2O", D::Pressure, 100.0 * 9.806_65e-5),
        ("100 mm H2O", D::Pressure, 100.0 * 9.806_65e-5),
        ("-18C", D::Temperature, -18.0),
        ("\u{2212}18 °C", D::Temperature, -18.0),
        ("-6 degC", D::Temperature, -6.0),
        ("32 degF", D::Temperature, 0.0),
        ("-40 F", D::Temperature, -40.0),
        ("12 K", D::TemperatureDifference, 12.0),
        ("12.4v", D::Voltage, 12.4),
        ("340 mV", D::Voltage, 0.34),
        ("15 A", D::Current, 15.0),
        ("15 amps", D::Current, 15.0),
        ("180 rpm", D::RotationalSpeed, 180.0),
        ("180 1/min", D::RotationalSpeed, 180.0),
        ("80 %", D::Ratio, 0.8),
        ("1.4x", D::Ratio, 1.4),
        ("12°", D::Angle, 12.0),
        ("50 cc", D::Volume, 50.0),
        ("300 mm3", D::Volume, 0.3),
        ("3", D::Count, 3.0),
        ("3 drops", D::Count, 3.0),
        ("0,85 mm", D::Length, 0.85),
    ] {
        let (cmp, got) = parse(text, dimension).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!(cmp, Cmp::Equal);
        assert_relative_eq!(got, value, max_relative = 1e-12);
    }
    // 0 °F is −160/9 °C.
    let (_, got) = parse("0°F", D::Temperature).unwrap();
    assert_relative_eq!(got, -160.0 / 9.0, max_relative = 1e-12);
}

#[test]
fn comparisons_are_kept() {
    for (text, cmp, value) in [
        ("> 60 s", Cmp::Above, 60.0),
        (">60s", Cmp::Above, 60.0),
        ("≥ 1:00", Cmp::Above, 60.0),
        ("< 3 s", Cmp::Below, 3.0),
        ("~ 8 s", Cmp::About, 8.0),
        ("ca. 8 s", Cmp::About, 8.0),
        ("about 8 s", Cmp::About, 8.0),
        ("= 8 s", Cmp::Equal, 8.0),
    ] {
        assert_eq!(parse(text, Dimension::Time), Ok((cmp, value)), "{text}");
    }
    let parsed = Quantity::parse("<3", Dimension::Time, Some(Dimension::Time.canonical()));
    assert_eq!(parsed.unwrap().cmp, Cmp::Below);
}

#[test]
fn hours_make_a_clock_of_hours_and_minutes() {
    let hours = Unit::by_code(Dimension::Time, "h");
    let parsed = Quantity::parse("1:30", Dimension::Time, hours).unwrap();
    assert_eq!(parsed.quantity.value, 5400.0);
}

#[test]
fn a_bare_number_is_never_given_a_unit() {
    let e = parse("400", Dimension::Pressure).unwrap_err();
    assert!(matches!(e, UnitError::UnitMissing { .. }));
    assert_eq!(e.at(), 3);
    assert!(e.hint().contains("psi"), "{}", e.hint());
    // A default of another dimension is no default.
    let volts = Some(Dimension::Voltage.canonical());
    let e = Quantity::parse("400", Dimension::Pressure, volts).unwrap_err();
    assert!(matches!(e, UnitError::UnitMissing { .. }));
}

#[test]
fn errors_point_and_advise() {
    let kind = |text, d| parse(text, d).unwrap_err();
    let e = kind("12 bar", Dimension::Voltage);
    assert!(matches!(
        e,
        UnitError::WrongDimension {
            is: Dimension::Pressure,
            at: 3,
            ..
        }
    ));
    assert_eq!(e.hint(), "write `12.4 V`");
    let e = kind("\u{2212}8 parsec", Dimension::Time);
    assert!(matches!(e, UnitError::UnitUnknown { at: 5, .. }), "{e:?}");
    let e = kind("8-9 s", Dimension::Time);
    assert!(matches!(e, UnitError::TwoNumbers { .. }), "{e:?}");
    let e = kind("8.2/8.4/15.1", Dimension::Time);
    assert!(matches!(e, UnitError::TwoNumbers { .. }), "{e:?}");
    let e = kind("5 MOHM", Dimension::Resistance);
    assert!(matches!(e, UnitError::UnitAmbiguous { .. }), "{e:?}");
    let e = kind("1,234 V", Dimension::Voltage);
    assert_eq!(e.hint(), "write `1234` or `1.234`");
    let e = kind("-300 °C", Dimension::Temperature);
    assert!(matches!(e, UnitError::OutOfReach { .. }), "{e:?}");
    let e = kind("  ", Dimension::Time);
    assert!(matches!(e, UnitError::Empty { .. }));
    let e = kind("no glow", Dimension::Time);
    assert!(matches!(e, UnitError::NotANumber { .. }));
}

fn any_unit() -> impl Strategy<Value = Unit> {
    (0..list().len()).prop_map(|i| list()[i])
}

/// Room for rounding beside a scale whose zero lies elsewhere (K, °F).
fn close(a: f64, b: f64, unit: Unit) -> bool {
    let size = a.abs().max(b.abs()).max(unit.zero().abs());
    (a - b).abs() <= 1e-12 * size
}

proptest! {
    #[test]
    fn written_reads_back(unit in any_unit(), value in -200.0..1e7_f64) {
        let value = if unit.dimension() == Dimension::Temperature { value.abs() } else { value };
        let written = Quantity::new(value, unit);
        let read = Quantity::parse(&written.typed, unit.dimension(), None);
        let read = read.map_err(|e| TestCaseError::fail(format!("{}: {e}", written.typed)))?;
        prop_assert_eq!(read.quantity.unit, unit);
        prop_assert!(close(read.quantity.value, written.value, unit), "{}", written.typed);
    }

    #[test]
    fn what_was_typed_in_the_canonical_unit_is_stored_exactly(value in -200.0..1e7_f64) {
        for d in Dimension::ALL {
            let text = format!("{value} {}", d.canonical().symbol());
            let read = Quantity::parse(&text, d, None).unwrap();
            prop_assert_eq!(read.quantity.value, value);
        }
    }

    #[test]
    fn conversion_there_and_back_changes_nothing(unit in any_unit(), value in -1e6..1e6_f64) {
        let back = unit.from_canonical(unit.to_canonical(value));
        prop_assert!(close(back, value, unit), "{value} {} -> {back}", unit.code());
    }

    #[test]
    fn showing_another_unit_does_not_change_what_is_stored(unit in any_unit(), value in 0.0..1e4_f64) {
        let quantity = Quantity::new(value, unit);
        let before = quantity.clone();
        for other in list() {
            let shown = quantity.to(*other);
            prop_assert_eq!(shown.is_some(), other.dimension() == unit.dimension());
        }
        prop_assert_eq!(quantity, before);
    }

    #[test]
    fn any_text_gives_a_value_or_an_error_inside_the_text(text in "\\PC{0,24}") {
        for d in Dimension::ALL {
            match Quantity::parse(&text, d, Some(d.canonical())) {
                Ok(p) => prop_assert!(p.quantity.value.is_finite()),
                Err(e) => {
                    prop_assert!(e.at() <= text.len());
                    prop_assert!(text.is_char_boundary(e.at()));
                    prop_assert!(!e.hint().is_empty());
                }
            }
        }
    }

    #[test]
    fn any_text_near_a_quantity_is_handled(text in "[-<>~0-9,.:'\"RkKhminsCF °%/eE−]{0,14}") {
        for d in Dimension::ALL {
            match Quantity::parse(&text, d, None) {
                Ok(p) => prop_assert!(p.quantity.value.is_finite()),
                Err(e) => prop_assert!(text.is_char_boundary(e.at())),
            }
        }
    }
}
