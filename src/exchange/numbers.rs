//! A number with its unit in a cell: cut, converted, and held against what it can be.
//!
//! Must not guess: what is hard to believe is kept as typed and not used.

use std::collections::BTreeMap;

use super::cell::{Meaning, Remark, Units, Value, not_a_number, number_trouble, unreadable, word};
use super::dates::{self, PLAUSIBLE_SERIALS};
use super::decimal::{self, Decimal};
use super::issue::{Code, Level};
use super::text::folded;
use super::windows::other_unit;
use crate::job::Window;
use crate::units::{Dimension, Quantity, Unit, UnitError};

/// What is known about the numbers of a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Numbers {
    /// Decimal sign.
    pub decimal: Decimal,
    /// Thousands sign.
    pub thousands: Option<char>,
    /// What they measure.
    pub dimension: Dimension,
    /// Unit of bare numbers.
    pub unit: Option<Unit>,
    /// Whether the heading states that unit.
    pub heading: bool,
    /// Lowest and highest believable, canonical.
    pub window: Window,
    /// Whether day numbers of a spreadsheet may stand here unharmed (hours, kilometres).
    pub counter: bool,
    /// Convert what is plausible only in another unit.
    pub guess_units: bool,
    /// Turn the sign.
    pub turn_sign: bool,
    /// Times are fractions of a day.
    pub day_fraction: bool,
    /// Only a plain value will do, no `>` or `<`.
    pub plain: bool,
    /// Name of the result off the end of the scale.
    pub off_scale: Option<String>,
}

/// Whether a text begins as numbers do.
fn begins_as_number(text: &str) -> bool {
    let rest = text.trim_start_matches([
        '<', '>', '=', '~', '-', '+', ' ', '\u{2212}', '\u{2013}', '\u{2264}', '\u{2265}',
    ]);
    rest.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',')
        && rest.len() > usize::from(rest.starts_with(['.', ',']))
}

fn unit_trouble(text: &str, error: &UnitError) -> Remark {
    if let Some(was) = dates::damaged(text) {
        let _ = was;
        return not_a_number(text);
    }
    let code = match error {
        UnitError::UnitUnknown { .. }
        | UnitError::WrongDimension { .. }
        | UnitError::UnitAmbiguous { .. } => Code::UnitUnknown,
        UnitError::UnitMissing { .. }
        | UnitError::AmbiguousComma { .. }
        | UnitError::ThousandsSign { .. } => Code::MustBeStated,
        _ => Code::NumberBad,
    };
    Remark::new(
        code,
        Level::Cell,
        format!("`{text}`: {error}"),
        error.hint(),
    )
}

impl Numbers {
    /// Understands one cell.
    pub fn read(
        &self,
        text: &str,
        words: &BTreeMap<String, Meaning>,
        states: &BTreeMap<String, String>,
        units: &mut Units,
        remarks: &mut Vec<Remark>,
    ) -> Value {
        if text.is_empty() {
            return Value::Empty;
        }
        let numeric = begins_as_number(text);
        let own = || !words.is_empty() && words.contains_key(&folded(text));
        if (!numeric || own())
            && let Some(value) = word(text, words, states, remarks, Some(self))
        {
            return value;
        }
        let cut = if numeric {
            decimal::cut(text, self.thousands)
        } else {
            None
        };
        let Some(cut) = cut else {
            return self.written_out(text, remarks);
        };
        let unit = match (cut.rest, self.unit) {
            ("", Some(unit)) => unit,
            ("", None) if self.dimension == Dimension::Count => self.dimension.canonical(),
            ("", None) => {
                let what =
                    format!("`{text}` has no unit, and neither the heading nor the map gives one");
                return unreadable(
                    Remark::new(
                        Code::MustBeStated,
                        Level::Cell,
                        what,
                        "state `unit` for this column",
                    ),
                    remarks,
                );
            }
            (rest, _) => match units.find(self.dimension, rest) {
                Some(unit) => unit,
                None if dates::damaged(text).is_some() => {
                    return unreadable(not_a_number(text), remarks);
                }
                None => return self.written_out(text, remarks),
            },
        };
        let number = match decimal::plain(cut.number, self.decimal, self.thousands) {
            Ok(number) => number,
            Err(trouble) => return unreadable(number_trouble(text, trouble), remarks),
        };
        let Some(value) = number.parse::<f64>().ok().filter(|v| v.is_finite()) else {
            return unreadable(not_a_number(text), remarks);
        };
        self.override_said(cut.rest, unit, remarks);
        self.settle(
            text,
            cut.cmp,
            number,
            value,
            unit,
            cut.rest.is_empty(),
            remarks,
        )
    }

    fn override_said(&self, rest: &str, unit: Unit, remarks: &mut Vec<Remark>) {
        if let Some(heading) = self
            .unit
            .filter(|u| self.heading && !rest.is_empty() && *u != unit)
        {
            let what = format!(
                "the cell says {}, the heading {}; the cell holds",
                unit.symbol(),
                heading.symbol()
            );
            remarks.push(Remark::new(Code::UnitOverride, Level::Note, what, ""));
        }
    }

    /// Forms with marks inside the digits, times in parts, comparisons in words.
    fn written_out(&self, text: &str, remarks: &mut Vec<Remark>) -> Value {
        match Quantity::parse(text, self.dimension, self.unit) {
            Ok(parsed) => {
                let quantity = parsed.quantity;
                let number = format!("{}", quantity.as_typed());
                self.settle(
                    text,
                    parsed.cmp.sign(),
                    number,
                    quantity.as_typed(),
                    quantity.unit,
                    false,
                    remarks,
                )
            }
            Err(error) => unreadable(unit_trouble(text, &error), remarks),
        }
    }

    /// The number as the job writes it, or why it is not used.
    #[allow(clippy::too_many_arguments)]
    fn settle(
        &self,
        text: &str,
        cmp: &str,
        number: String,
        value: f64,
        unit: Unit,
        bare: bool,
        remarks: &mut Vec<Remark>,
    ) -> Value {
        let (mut number, mut value, mut unit) = (number, value, unit);
        if self.day_fraction && bare && (0.0..1.0).contains(&value) {
            // A day has 86 400 s; a fraction is rounded to the hundredth it was typed in.
            value = (value * 8_640_000.0).round() / 100.0;
            unit = self.dimension.canonical();
            number = format!("{value}");
        }
        if self.turn_sign {
            value = -value;
            number = format!("{value}");
        }
        let written = |number: &str, unit: Unit| {
            let gap = if cmp.is_empty() { "" } else { " " };
            format!("{cmp}{gap}{number} {}", unit.symbol())
                .trim_end()
                .to_owned()
        };
        let canonical = unit.to_canonical(value);
        if self.dimension == Dimension::Temperature && canonical < -273.15 || !canonical.is_finite()
        {
            return unreadable(not_a_number(text), remarks);
        }
        if self.plain && matches!(cmp, ">" | "<") {
            let what = format!("`{text}` is a limit where a value is needed; kept, not used");
            remarks.push(Remark::new(
                Code::NumberBad,
                Level::Cell,
                what.clone(),
                "write the value itself",
            ));
            return Value::Doubtful(written(&number, unit), what);
        }
        if (self.window.0..=self.window.1).contains(&canonical) {
            return Value::Result(written(&number, unit));
        }
        let serial = bare && value.fract() == 0.0 && PLAUSIBLE_SERIALS.contains(&(value as i64));
        if serial && !self.counter {
            let what = format!(
                "`{text}` looks like a number that a spreadsheet turned into a date; kept as unreadable"
            );
            return unreadable(
                Remark::new(
                    Code::DamagedBySheet,
                    Level::Cell,
                    what,
                    "look the value up in the source",
                ),
                remarks,
            );
        }
        let other = if bare {
            other_unit(value, self.dimension, unit, self.window)
        } else {
            None
        };
        let symbol = self.dimension.canonical();
        let Some(other) = other else {
            let what = format!(
                "{} is outside {} to {} {}; kept, not used",
                written(&number, unit),
                self.window.0,
                self.window.1,
                symbol.symbol()
            );
            remarks.push(Remark::new(
                Code::OutOfWindow,
                Level::Cell,
                what.clone(),
                "look at the figure and its unit",
            ));
            return Value::Doubtful(written(&number, unit), what);
        };
        let rounded = (other.to_canonical(value) * 10.0).round() / 10.0;
        if self.guess_units {
            let what = format!(
                "{} read as {}, as the map allows",
                written(&number, unit),
                other.symbol()
            );
            remarks.push(Remark::new(Code::UnitSuspect, Level::Note, what, ""));
            return Value::Result(written(&number, other));
        }
        let what = format!(
            "{} is hard to believe ({rounded} {} if {}); kept, not used",
            written(&number, unit),
            symbol.symbol(),
            other.symbol()
        );
        let hint = "state the unit in the map, or set `guess_units = true` for this column";
        remarks.push(Remark::new(
            Code::UnitSuspect,
            Level::Cell,
            what.clone(),
            hint,
        ));
        Value::Doubtful(written(&number, unit), what)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Absent;

    fn numbers(dimension: Dimension, unit: &str, window: Window) -> Numbers {
        Numbers {
            decimal: Decimal::Comma,
            thousands: None,
            dimension,
            unit: Unit::by_code(dimension, unit),
            heading: true,
            window,
            counter: false,
            guess_units: false,
            turn_sign: false,
            day_fraction: false,
            plain: false,
            off_scale: Some("no_glow".to_owned()),
        }
    }

    fn read(numbers: &Numbers, text: &str) -> (Value, Vec<Code>) {
        let mut remarks = Vec::new();
        let none = BTreeMap::new();
        let value = numbers.read(
            text,
            &BTreeMap::new(),
            &none,
            &mut Units::default(),
            &mut remarks,
        );
        (value, remarks.iter().map(|r| r.code).collect())
    }

    fn is(text: &str) -> Value {
        Value::Result(text.to_owned())
    }

    #[test]
    fn units_come_from_the_cell_before_the_heading() {
        let bar = numbers(Dimension::Pressure, "bar", (1.0, 80.0));
        assert_eq!(read(&bar, "28 bar"), (is("28 bar"), vec![]));
        assert_eq!(
            read(&bar, "410psi"),
            (is("410 psi"), vec![Code::UnitOverride])
        );
        assert_eq!(read(&bar, "28 kg").0, is("28 kgf/cm²"));
        assert_eq!(read(&bar, "27,5"), (is("27.5 bar"), vec![]));
        let (value, codes) = read(&bar, "412");
        assert!(matches!(value, Value::Doubtful(..)), "{value:?}");
        assert_eq!(codes, [Code::UnitSuspect]);
        assert_eq!(read(&bar, "412 bar").1, [Code::OutOfWindow]);
        assert_eq!(
            read(&bar, "45359"),
            (
                Value::Absent(Absent::Unreadable),
                vec![Code::DamagedBySheet]
            )
        );
    }

    #[test]
    fn times_are_read_in_every_spelling() {
        let s = numbers(Dimension::Time, "s", (0.2, 300.0));
        for (text, value) in [
            ("8\"4", "8.4 s"),
            ("45s", "45 s"),
            ("1:30", "90 s"),
            ("2'30", "150 s"),
            ("1,5 min", "1.5 min"),
            ("> 60", "> 60 s"),
            ("8,4", "8.4 s"),
        ] {
            assert_eq!(read(&s, text).0, is(value), "{text}");
        }
        assert_eq!(read(&s, "no glow").0, is("no_glow"));
        assert_eq!(read(&s, "OL").0, is("no_glow"));
        assert_eq!(
            read(&s, "08. Mrz"),
            (
                Value::Absent(Absent::Unreadable),
                vec![Code::DamagedBySheet]
            )
        );
        assert_eq!(read(&s, "8/9/8").1, [Code::DamagedBySheet]);
        assert_eq!(read(&s, "nt").0, Value::Absent(Absent::NotTested));
        assert_eq!(read(&s, "-").0, Value::Absent(Absent::NotRecorded));
        assert_eq!(read(&s, "8 furlong").1, [Code::UnitUnknown]);
        let day = Numbers {
            day_fraction: true,
            decimal: Decimal::Dot,
            ..s
        };
        assert_eq!(read(&day, "0.000520833").0, is("45 s"));
    }

    #[test]
    fn temperatures_and_ohms() {
        let f = numbers(Dimension::Temperature, "[degF]", (-60.0, 60.0));
        assert_eq!(read(&f, "21"), (is("21 °F"), vec![]));
        assert_eq!(read(&f, "-5 C"), (is("-5 °C"), vec![Code::UnitOverride]));
        assert_eq!(read(&f, "0°F").0, is("0 °F"));
        let ohm = numbers(Dimension::Resistance, "Ohm", (0.0, 1e8));
        assert_eq!(read(&ohm, "0R6").0, is("0.6 Ω"));
    }
}
