//! From typed text to a quantity. Never guesses a unit: a bare number needs the field's own.

use super::clock;
use super::dimension::Dimension;
use super::error::UnitError;
use super::number;
use super::quantity::{Cmp, Parsed, Quantity};
use super::scan::Scan;
use super::unit::{Unit, list};

/// Nothing is colder than this, in °C.
const ABSOLUTE_ZERO: f64 = -273.15;

impl Quantity {
    /// Understands `text` as a quantity of `dimension`.
    ///
    /// `default_unit` is the unit of the field the text was typed into; without it a bare
    /// number is an error (but for counts, which have no unit). Comma and dot are both decimal
    /// signs; `1,234` is refused. Times may be written in parts (`2'30`, `8"4`, `1:30`; the
    /// last is hours and minutes where the default unit is hours), resistances with the mark
    /// in place of the decimal sign (`0R6`, `4k7`).
    ///
    /// # Errors
    /// A [`UnitError`] with the byte offset in `text` and what to write instead.
    pub fn parse(
        text: &str,
        dimension: Dimension,
        default_unit: Option<Unit>,
    ) -> Result<Parsed, UnitError> {
        let default_unit = default_unit.filter(|u| u.dimension() == dimension);
        let mut scan = Scan::new(text);
        if scan.is_done() {
            return Err(UnitError::Empty { dimension });
        }
        let cmp = comparison(&mut scan);
        let start = scan.at();
        let whole = scan.clone();
        let (value, unit) = match in_parts(&scan, dimension, default_unit)? {
            Some(found) => found,
            None => {
                let value = number::read(&mut scan, dimension)?;
                (
                    value,
                    unit_after(&mut scan, &whole, dimension, default_unit)?,
                )
            }
        };
        let canonical = unit.to_canonical(value);
        if !canonical.is_finite()
            || (dimension == Dimension::Temperature && canonical < ABSOLUTE_ZERO)
        {
            return Err(UnitError::OutOfReach {
                at: start,
                found: whole.rest(),
                dimension,
            });
        }
        let quantity = Quantity {
            value: canonical,
            dimension,
            unit,
            typed: text.to_owned(),
        };
        Ok(Parsed { cmp, quantity })
    }
}

/// Takes `>`, `≥`, `<`, `≤`, `~`, `about`, `ca.` and the like.
fn comparison(scan: &mut Scan) -> Cmp {
    let cmp = match scan.peek() {
        Some('>' | '≥' | '⩾') => Cmp::Above,
        Some('<' | '≤' | '⩽') => Cmp::Below,
        Some('~' | '≈' | '∼') => Cmp::About,
        Some('=') => Cmp::Equal,
        _ => {
            let about = ["about", "ca", "approx", "circa"];
            if !about.iter().any(|w| scan.take_word(w)) {
                return Cmp::Equal;
            }
            scan.take('.');
            scan.skip_blanks();
            return Cmp::About;
        }
    };
    scan.step();
    scan.take('=');
    scan.skip_blanks();
    cmp
}

/// Values written with a mark inside the digits: value and the unit it is in.
fn in_parts(
    scan: &Scan,
    dimension: Dimension,
    default_unit: Option<Unit>,
) -> Result<Option<(f64, Unit)>, UnitError> {
    match dimension {
        Dimension::Time => {
            let hours = default_unit.is_some_and(|u| u.code() == "h");
            let seconds = clock::read(scan, hours)?;
            Ok(seconds.map(|s| (s, dimension.canonical())))
        }
        Dimension::Resistance => Ok(resistor(scan)),
        _ => Ok(None),
    }
}

/// `0R6`, `R47`, `4k7`: the letter stands where the decimal sign would.
/// IEC 60062 marking of resistors (recalled).
fn resistor(scan: &Scan) -> Option<(f64, Unit)> {
    let mut ahead = scan.clone();
    let whole = ahead.digits();
    let code = match ahead.peek() {
        Some('R' | 'r') => "Ohm",
        Some('k' | 'K') if !whole.is_empty() => "kOhm",
        _ => return None,
    };
    ahead.step();
    let part = ahead.digits();
    ahead.skip_blanks();
    for word in ["ohm", "ohms", "Ω"] {
        if ahead.take_word(word) {
            break;
        }
    }
    if part.is_empty() || !ahead.is_done() {
        return None;
    }
    let value: f64 = format!("0{whole}.{part}").parse().ok()?;
    Some((value, Unit::by_code(Dimension::Resistance, code)?))
}

/// The unit written behind a number, or the default of the field.
fn unit_after(
    scan: &mut Scan,
    whole: &Scan,
    dimension: Dimension,
    default_unit: Option<Unit>,
) -> Result<Unit, UnitError> {
    let number_end = scan.at();
    scan.skip_blanks();
    let at = scan.at();
    if scan.is_done() {
        if dimension == Dimension::Count {
            return Ok(dimension.canonical());
        }
        let number = whole.rest();
        return default_unit.ok_or(UnitError::UnitMissing {
            at: number_end,
            number,
            dimension,
        });
    }
    let found = scan.rest();
    let meant = |d: Dimension| match Unit::meant_by(d, &found) {
        none if none.is_empty() => Unit::meant_by(d, found.trim_end_matches(['.', ','])),
        some => some,
    };
    match meant(dimension).as_slice() {
        [unit] => return Ok(*unit),
        [first, second, ..] => {
            return Err(UnitError::UnitAmbiguous {
                at,
                found,
                first: first.code(),
                second: second.code(),
            });
        }
        [] => {}
    }
    let separator = |c: char| matches!(c, '-' | '/' | ';' | '&' | '+' | '.' | ',' | ' ');
    let after = found.trim_start_matches(separator);
    if after.starts_with(|c: char| c.is_ascii_digit()) {
        return Err(UnitError::TwoNumbers {
            at,
            found,
            dimension,
        });
    }
    let other = list()
        .iter()
        .map(Unit::dimension)
        .find(|&d| d != dimension && d != Dimension::Count && !meant(d).is_empty());
    Err(match other {
        Some(is) => UnitError::WrongDimension {
            at,
            found,
            is,
            dimension,
        },
        None => UnitError::UnitUnknown {
            at,
            found,
            dimension,
        },
    })
}
