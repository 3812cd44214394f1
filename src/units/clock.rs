//! Times in parts: `2'30`, `8"4`, `1:30`, `1 min 30 s`, `1h30`. Must not read plain
//! numbers with a unit.

use super::dimension::Dimension;
use super::error::UnitError;
use super::scan::Scan;
use super::unit::Unit;

/// Seconds in a minute and in an hour.
const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;

/// Reads a time in parts, in seconds, if `scan` holds one; `Ok(None)` if it is written
/// another way. `1:30` is minutes and seconds, and hours and minutes where `hours` says so.
pub(super) fn read(scan: &Scan, hours: bool) -> Result<Option<f64>, UnitError> {
    let mut ahead = scan.clone();
    let lead = ahead.digits();
    let marked = matches!(ahead.peek(), Some(':' | '\'' | '"'));
    let result = match ahead.peek() {
        Some(':') if !lead.is_empty() => colon(scan, hours)?,
        Some('\'' | '"') if !lead.is_empty() => primes(scan)?,
        _ => words(scan)?,
    };
    match result {
        None if marked && !lead.is_empty() => Err(bad(scan, scan.at(), "write `8.4 s` or `2:30`")),
        other => Ok(other),
    }
}

fn bad(whole: &Scan, at: usize, hint: &str) -> UnitError {
    UnitError::BadClock {
        at,
        found: whole.rest(),
        hint: hint.to_owned(),
    }
}

fn number(text: &str) -> f64 {
    // Only digits and one dot come here; a run too long for f64 is infinite and caught above.
    text.parse().unwrap_or(f64::INFINITY)
}

/// Takes digits with an optional decimal part.
fn decimal(scan: &mut Scan) -> String {
    let mut text = scan.digits();
    if matches!(scan.peek(), Some('.' | ','))
        && scan.peek_ahead(1).is_some_and(|c| c.is_ascii_digit())
    {
        scan.step();
        text = format!("{text}.{}", scan.digits());
    }
    text
}

/// `1:30`, `0:08.4`, `1:30:00`, `1:30 h`, `1:30 min`.
fn colon(whole: &Scan, hours: bool) -> Result<Option<f64>, UnitError> {
    let hint = "write minutes and two digits of seconds, such as `1:30`";
    let mut scan = whole.clone();
    let mut parts = vec![scan.digits()];
    while scan.take(':') {
        let at = scan.at();
        let part = decimal(&mut scan);
        let two_digits = part.split('.').next().is_some_and(|w| w.len() == 2);
        if !two_digits || number(&part) >= 60.0 {
            return Err(bad(whole, at, hint));
        }
        parts.push(part);
    }
    scan.skip_blanks();
    let at = scan.at();
    let unit = scan.rest();
    let first = match (parts.len(), unit.trim()) {
        (3, "") | (3, "h") => HOUR,
        (2, "") if hours => HOUR,
        (2, "h") => HOUR,
        (2, "" | "min" | "m" | "mins") => MINUTE,
        _ => return Err(bad(whole, at, hint)),
    };
    if parts[..parts.len() - 1].iter().any(|p| p.contains('.')) {
        return Err(bad(whole, at, hint));
    }
    let mut worth = first;
    let mut total = 0.0;
    for part in &parts {
        total += number(part) * worth;
        worth /= 60.0;
    }
    Ok(Some(total))
}

/// `2'30`, `2'30"`, `2'`, `8"4`, `8"`, `8''4`.
fn primes(whole: &Scan) -> Result<Option<f64>, UnitError> {
    let mut scan = whole.clone();
    let mut seconds = scan.digits();
    let mut minutes = 0.0;
    if scan.peek() == Some('\'') && scan.peek_ahead(1) != Some('\'') {
        scan.step();
        minutes = number(&seconds);
        let at = scan.at();
        seconds = decimal(&mut scan);
        if seconds.is_empty() {
            return Ok(scan.is_done().then_some(minutes * MINUTE));
        }
        if seconds.split('.').next().is_none_or(|w| w.len() != 2) {
            let hint = "write two digits of seconds (`2'05`), or a decimal (`2.5 min`)";
            return Err(bad(whole, at, hint));
        }
        if number(&seconds) >= 60.0 {
            return Err(bad(whole, at, "seconds after minutes stay below 60"));
        }
    }
    if scan.take('"') || (scan.take('\'') && scan.take('\'')) {
        // The mark stands where the decimal sign would: 8"4 is 8.4 s.
        let part = scan.digits();
        if !part.is_empty() && !seconds.contains('.') {
            seconds = format!("{seconds}.{part}");
        }
    }
    scan.skip_blanks();
    if !scan.take_word("s") {
        scan.take_word("sec");
    }
    Ok(scan.is_done().then(|| minutes * MINUTE + number(&seconds)))
}

/// `1 min 30 s`, `2m30s`, `1 h 20 min`, `1h30`: two parts or more, the larger unit first.
fn words(whole: &Scan) -> Result<Option<f64>, UnitError> {
    let mut scan = whole.clone();
    let mut total = 0.0;
    let mut parts = 0;
    let mut last = f64::INFINITY;
    while !scan.is_done() {
        let at = scan.at();
        let text = decimal(&mut scan);
        scan.skip_blanks();
        let word = scan.run(char::is_alphabetic);
        scan.skip_blanks();
        if text.is_empty() || (word.is_empty() && parts == 0) {
            return Ok(None);
        }
        let worth = match Unit::meant_by(Dimension::Time, &word).as_slice() {
            [unit] => unit.to_canonical(1.0),
            // `1h30`: the next smaller unit, the only one that leaves room for two digits.
            [] if word.is_empty() && (last == HOUR || last == MINUTE) => last / 60.0,
            _ => return Ok(None),
        };
        let value = number(&text);
        if parts > 0 && (worth >= last || value * worth >= last) {
            let hint = "put the larger unit first, such as `1 min 30 s`";
            return Err(bad(whole, at, hint));
        }
        total += value * worth;
        last = worth;
        parts += 1;
    }
    Ok((parts > 1).then_some(total))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(text: &str) -> Result<Option<f64>, UnitError> {
        read(&Scan::new(text), false)
    }

    #[test]
    fn parts_add_up() {
        for (text, value) in [
            ("8\"4", 8.4),
            ("8''4", 8.4),
            ("8\"", 8.0),
            ("8\"4 s", 8.4),
            ("15\u{2033}1", 15.1),
            ("2'30", 150.0),
            ("2'30\"", 150.0),
            ("2'30\"5", 150.5),
            ("2'", 120.0),
            ("2\u{2032}30\u{2033}", 150.0),
            ("1:30", 90.0),
            ("0:08.4", 8.4),
            ("0:08,4", 8.4),
            ("1:30:00", 5400.0),
            ("1:30 h", 5400.0),
            ("1:30 min", 90.0),
            ("1 min 30 s", 90.0),
            ("2m30s", 150.0),
            ("1 h 20 min", 4800.0),
            ("1h30", 5400.0),
        ] {
            assert_eq!(seconds(text), Ok(Some(value)), "{text}");
        }
        assert_eq!(read(&Scan::new("1:30"), true), Ok(Some(5400.0)));
    }

    #[test]
    fn plain_numbers_are_left_to_others() {
        for text in ["8.4 s", "90s", "12 h", "8", "", "fast"] {
            assert_eq!(seconds(text), Ok(None), "{text}");
        }
    }

    #[test]
    fn impossible_clocks_say_where() {
        for (text, at) in [
            ("1:75", 2),
            ("1:5", 2),
            ("2'5", 2),
            ("2'75", 2),
            ("1'234", 2),
            ("30 s 1 min", 5),
            ("1 min 90 s", 6),
            ("1:30 psi", 5),
            ("1:2.5:30", 2),
        ] {
            let e = seconds(text).unwrap_err();
            assert!(matches!(e, UnitError::BadClock { .. }), "{text}: {e}");
            assert_eq!(e.at(), at, "{text}");
        }
    }
}
