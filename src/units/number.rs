//! Reading one number as people type it: comma or dot as decimal sign, no thousands signs.
//! Must not know units.

use super::dimension::Dimension;
use super::error::UnitError;
use super::scan::Scan;

/// Reads a number with optional sign and exponent. Leaves the scan behind it.
///
/// A comma followed by exactly three digits after one to three leading digits is ambiguous
/// (`1,234`) and refused, unless the whole part starts with zero (`0,234`), which no
/// thousands sign follows. A dot is always a decimal sign.
pub(super) fn read(scan: &mut Scan, dimension: Dimension) -> Result<f64, UnitError> {
    let start = scan.at();
    let negative = sign(scan);
    let at = scan.at();
    let whole = scan.digits();
    let mut text = whole.clone();
    let mut fraction = String::new();
    let mut mark = None;
    if let Some(c @ (',' | '.')) = scan.peek()
        && scan.peek_ahead(1).is_some_and(|c| c.is_ascii_digit())
    {
        scan.step();
        fraction = scan.digits();
        mark = Some(c);
        text = format!("{whole}{c}{fraction}");
    } else if !whole.is_empty()
        && matches!(scan.peek(), Some(',' | '.'))
        && scan.peek_ahead(1).is_none_or(|c| c == ' ')
    {
        // `8. ` or `8,`: a stray sign at the end changes nothing.
        scan.step();
    }
    if whole.is_empty() && fraction.is_empty() {
        return Err(UnitError::NotANumber {
            at: start,
            found: scan.rest(),
            dimension,
        });
    }
    if let Some(tail) = more_digits(scan) {
        let found = format!("{text}{tail}");
        return Err(UnitError::ThousandsSign { at, found });
    }
    if mark == Some(',')
        && fraction.len() == 3
        && (1..=3).contains(&whole.len())
        && !whole.starts_with('0')
    {
        return Err(UnitError::AmbiguousComma {
            at,
            found: text,
            thousands: format!("{whole}{fraction}"),
            decimal: format!("{whole}.{fraction}"),
        });
    }
    let exponent = exponent(scan);
    let digits = |t: &str| {
        if t.is_empty() {
            "0".to_owned()
        } else {
            t.to_owned()
        }
    };
    let written = format!("{}.{}{exponent}", digits(&whole), digits(&fraction));
    match written.parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(if negative { -v } else { v }),
        _ => Err(UnitError::OutOfReach {
            at,
            found: format!("{text}{exponent}"),
            dimension,
        }),
    }
}

/// Takes a sign; true for a minus.
fn sign(scan: &mut Scan) -> bool {
    let negative = scan.take('-');
    if !negative {
        scan.take('+');
    }
    scan.skip_blanks();
    negative
}

/// What would make the number just read a longer one: a further sign with digits
/// (`1.234.567`), or a blank and exactly three digits (`1 234`).
fn more_digits(scan: &Scan) -> Option<String> {
    let mut ahead = scan.clone();
    match ahead.peek() {
        Some(c @ (',' | '.')) => {
            ahead.step();
            let digits = ahead.digits();
            let tail = ahead.run(|c| c.is_ascii_digit() || ",.".contains(c));
            (!digits.is_empty()).then(|| format!("{c}{digits}{tail}"))
        }
        Some(' ') => {
            ahead.step();
            let digits = ahead.digits();
            let tail = ahead.run(|c| c.is_ascii_digit() || ",.".contains(c));
            (digits.len() == 3).then(|| format!(" {digits}{tail}"))
        }
        _ => None,
    }
}

/// Takes `e-3` and the like; only with digits, so that `8 e` stays a word.
fn exponent(scan: &mut Scan) -> String {
    let is_digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    if !matches!(scan.peek(), Some('e' | 'E')) {
        return String::new();
    }
    let signed = matches!(scan.peek_ahead(1), Some('-' | '+'));
    if !is_digit(scan.peek_ahead(if signed { 2 } else { 1 })) {
        return String::new();
    }
    scan.step();
    let mut text = String::from("e");
    if signed {
        text.extend(scan.peek());
        scan.step();
    }
    text.push_str(&scan.digits());
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Result<f64, UnitError> {
        read(&mut Scan::new(text), Dimension::Time)
    }

    #[test]
    fn comma_and_dot_are_both_decimal_signs() {
        for (text, value) in [
            ("8,4", 8.4),
            ("8.4", 8.4),
            (".6", 0.6),
            (",6", 0.6),
            ("0,234", 0.234),
            ("1234,567", 1234.567),
            ("1,2345", 1.2345),
            ("1.234", 1.234),
            ("+5", 5.0),
            ("\u{2212}18", -18.0),
            ("- 18", -18.0),
            ("1e-3", 0.001),
            ("2E3", 2000.0),
            ("8.", 8.0),
        ] {
            assert_eq!(number(text), Ok(value), "{text}");
        }
    }

    #[test]
    fn thousands_are_never_guessed() {
        let e = number("1,234").unwrap_err();
        assert_eq!(e.hint(), "write `1234` or `1.234`");
        assert_eq!(e.at(), 0);
        for text in ["12,345.6", "1.234,5", "1,234,567", "1.234.567", "1 234"] {
            let e = number(text).unwrap_err();
            assert!(matches!(e, UnitError::ThousandsSign { .. }), "{text}: {e}");
        }
    }

    #[test]
    fn what_is_no_number_says_so() {
        for text in ["", "abc", "-", ",", "..", "psi 400", "e5"] {
            let e = number(text).unwrap_err();
            assert!(matches!(e, UnitError::NotANumber { .. }), "{text}: {e}");
        }
        assert!(matches!(number("1e999"), Err(UnitError::OutOfReach { .. })));
    }
}
