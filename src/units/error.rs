//! Why a typed quantity could not be understood, where in the text, and what to write
//! instead. Must not print.

use thiserror::Error;

use super::dimension::Dimension;

/// A typed quantity that could not be understood. `at` is a byte offset into the text as it
/// was typed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum UnitError {
    /// Nothing but blanks.
    #[error("nothing was written where a {} belongs", .dimension.name())]
    Empty {
        /// What was expected.
        dimension: Dimension,
    },
    /// No number where one belongs.
    #[error("no number at byte {at}: `{found}`")]
    NotANumber {
        /// Byte offset.
        at: usize,
        /// What stands there.
        found: String,
        /// What was expected.
        dimension: Dimension,
    },
    /// `1,234` can be one thousand two hundred and thirty-four, or one and a bit.
    #[error("`{found}` can mean {thousands} or {decimal}")]
    AmbiguousComma {
        /// Byte offset of the number.
        at: usize,
        /// The number as typed.
        found: String,
        /// Read as a thousands sign.
        thousands: String,
        /// Read as a decimal sign.
        decimal: String,
    },
    /// More than one decimal or thousands sign, or blanks between digits.
    #[error("`{found}` holds a thousands sign")]
    ThousandsSign {
        /// Byte offset of the number.
        at: usize,
        /// The number as typed.
        found: String,
    },
    /// Two numbers where one belongs (`8-9 s`, `8/9`).
    #[error("more than one number: `{found}` follows at byte {at}")]
    TwoNumbers {
        /// Byte offset of the second one.
        at: usize,
        /// What follows.
        found: String,
        /// What was expected.
        dimension: Dimension,
    },
    /// A bare number in a field without a unit of its own.
    #[error("the unit is missing")]
    UnitMissing {
        /// Byte offset where the unit belongs.
        at: usize,
        /// The number as typed.
        number: String,
        /// What was expected.
        dimension: Dimension,
    },
    /// A word that is no unit we know.
    #[error("unknown unit `{found}`")]
    UnitUnknown {
        /// Byte offset of the unit.
        at: usize,
        /// The unit as typed.
        found: String,
        /// What was expected.
        dimension: Dimension,
    },
    /// A word that fits two units of this dimension.
    #[error("`{found}` can mean {first} or {second}")]
    UnitAmbiguous {
        /// Byte offset of the unit.
        at: usize,
        /// The unit as typed.
        found: String,
        /// Code of one reading.
        first: &'static str,
        /// Code of another.
        second: &'static str,
    },
    /// A unit of something else.
    #[error("`{found}` measures {}, but a {} belongs here", .is.name(), .dimension.name())]
    WrongDimension {
        /// Byte offset of the unit.
        at: usize,
        /// The unit as typed.
        found: String,
        /// What that unit measures.
        is: Dimension,
        /// What was expected.
        dimension: Dimension,
    },
    /// Minutes and seconds that do not make a time (`1:75`, `2'5`).
    #[error("`{found}` is no time in minutes and seconds")]
    BadClock {
        /// Byte offset of the part that is wrong.
        at: usize,
        /// The text as typed.
        found: String,
        /// What to write.
        hint: String,
    },
    /// A number that nothing of this kind can have: too large, or below absolute zero.
    #[error("`{found}` is out of reach for a {}", .dimension.name())]
    OutOfReach {
        /// Byte offset of the number.
        at: usize,
        /// The number as typed.
        found: String,
        /// What was expected.
        dimension: Dimension,
    },
}

impl UnitError {
    /// Byte offset in the typed text at which the trouble starts.
    pub fn at(&self) -> usize {
        match self {
            UnitError::Empty { .. } => 0,
            UnitError::NotANumber { at, .. }
            | UnitError::AmbiguousComma { at, .. }
            | UnitError::ThousandsSign { at, .. }
            | UnitError::TwoNumbers { at, .. }
            | UnitError::UnitMissing { at, .. }
            | UnitError::UnitUnknown { at, .. }
            | UnitError::UnitAmbiguous { at, .. }
            | UnitError::WrongDimension { at, .. }
            | UnitError::BadClock { at, .. }
            | UnitError::OutOfReach { at, .. } => *at,
        }
    }

    /// What to write instead.
    pub fn hint(&self) -> String {
        match self {
            UnitError::Empty { dimension } | UnitError::NotANumber { dimension, .. } => {
                format!("write `{}`", dimension.example())
            }
            UnitError::AmbiguousComma {
                thousands, decimal, ..
            } => format!("write `{thousands}` or `{decimal}`"),
            UnitError::ThousandsSign { found, .. } => match without_thousands(found) {
                Some(number) => format!("write the digits together: `{number}`"),
                None => "write the digits together, with at most one decimal sign".to_owned(),
            },
            UnitError::TwoNumbers { dimension, .. } => {
                format!(
                    "give one number an entry, such as `{}`; repeats are trials of their own",
                    dimension.example()
                )
            }
            UnitError::UnitMissing {
                number, dimension, ..
            } => {
                let units = symbols(*dimension);
                let first = dimension.canonical().symbol();
                format!("write `{number} {first}` (or one of: {units})")
            }
            UnitError::UnitUnknown { dimension, .. } => {
                format!(
                    "write `{}` (units known here: {})",
                    dimension.example(),
                    symbols(*dimension)
                )
            }
            UnitError::WrongDimension { dimension, .. } => {
                format!("write `{}`", dimension.example())
            }
            UnitError::UnitAmbiguous { first, second, .. } => {
                format!("write `{first}` or `{second}`")
            }
            UnitError::BadClock { hint, .. } => hint.clone(),
            UnitError::OutOfReach { dimension, .. } => {
                format!("check the figure; such as `{}`", dimension.example())
            }
        }
    }
}

/// The symbols of the units of a dimension, for hints.
fn symbols(dimension: Dimension) -> String {
    let known: Vec<&str> = super::unit::list()
        .iter()
        .filter(|u| u.dimension() == dimension && !u.symbol().is_empty())
        .map(|u| u.symbol())
        .collect();
    known.join(", ")
}

/// `12,345.6` → `12345.6`: the last sign is the decimal one if it differs from the others.
fn without_thousands(found: &str) -> Option<String> {
    let marks: Vec<char> = found.chars().filter(|c| ",.".contains(*c)).collect();
    let digits = |t: &str| -> String { t.chars().filter(|c| c.is_ascii_digit()).collect() };
    let last = *marks.last()?;
    if marks.len() > 1 && marks[..marks.len() - 1].iter().all(|&m| m != last) {
        let (whole, part) = found.rsplit_once(last)?;
        return Some(format!("{}.{}", digits(whole), digits(part)));
    }
    (marks.len() > 1).then(|| digits(found))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hints_say_what_to_write() {
        let e = UnitError::ThousandsSign {
            at: 0,
            found: "12,345.6".to_owned(),
        };
        assert_eq!(e.hint(), "write the digits together: `12345.6`");
        let e = UnitError::UnitMissing {
            at: 3,
            number: "400".to_owned(),
            dimension: Dimension::Pressure,
        };
        assert!(e.hint().starts_with("write `400 bar`"), "{}", e.hint());
        assert!(e.hint().contains("psi"));
        assert_eq!(e.at(), 3);
    }
}
