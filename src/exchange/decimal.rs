//! Numbers as cells write them: the decimal sign is decided for a column, not for a cell.
//!
//! `1,234` alone can be either; then the map must say. Must not know units.

/// What a sign between digits is, in one column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decimal {
    /// The comma.
    Comma,
    /// The dot.
    Dot,
    /// Every comma has exactly three digits behind it: nobody can tell.
    Unclear,
}

/// What was seen in the cells of a column.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Seen {
    /// Commas that can only be decimal signs (`8,4`, `1.234,5`, `0,234`).
    pub comma: u64,
    /// Dots that can only be decimal signs.
    pub dot: u64,
    /// Commas with exactly three digits behind (`1,234`).
    pub comma_three: u64,
    /// Dots with exactly three digits behind.
    pub dot_three: u64,
}

/// Why a number could not be made out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// No number.
    NotANumber,
    /// Decimal or thousands sign: the map must say.
    MustBeStated,
}

/// A cell cut in three: comparison, number, and what follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cut<'t> {
    /// `>`, `<`, `~` or nothing.
    pub cmp: &'static str,
    /// Sign, digits, and signs between digits.
    pub number: &'t str,
    /// The rest, trimmed.
    pub rest: &'t str,
}

/// Cuts a cell that begins with a number; `None` if it does not.
#[must_use]
pub fn cut(text: &str, thousands: Option<char>) -> Option<Cut<'_>> {
    let (cmp, text) = comparison(text.trim());
    let after_sign = text.trim_start_matches(['-', '+', '\u{2212}', '\u{2013}']);
    let sign = text.len() - after_sign.len();
    let bytes = text.as_bytes();
    let mut at = sign + (after_sign.len() - after_sign.trim_start().len());
    let digits_from = at;
    let is_digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    while at < bytes.len() {
        let c = text[at..].chars().next()?;
        let between = matches!(c, '.' | ',') || Some(c) == thousands;
        if c.is_ascii_digit() || (between && is_digit(at + c.len_utf8())) {
            at += c.len_utf8();
        } else {
            break;
        }
    }
    if at == digits_from {
        return None;
    }
    Some(Cut {
        cmp,
        number: &text[..at],
        rest: text[at..].trim(),
    })
}

fn comparison(text: &str) -> (&'static str, &str) {
    for (sign, is) in [
        (">", ">"),
        ("<", "<"),
        ("~", "~"),
        ("\u{2248}", "~"),
        ("\u{2265}", ">"),
        ("\u{2264}", "<"),
    ] {
        if let Some(rest) = text.strip_prefix(sign) {
            return (is, rest.strip_prefix('=').unwrap_or(rest).trim_start());
        }
    }
    ("", text)
}

impl Seen {
    /// Adds what was seen in other cells.
    pub fn add(&mut self, other: &Self) {
        self.comma += other.comma;
        self.dot += other.dot;
        self.comma_three += other.comma_three;
        self.dot_three += other.dot_three;
    }

    /// Looks at one cell.
    pub fn look(&mut self, text: &str) {
        let Some(cut) = cut(text, None) else { return };
        let number = cut.number;
        let (Some(first), Some(last)) = (number.find([',', '.']), number.rfind([',', '.'])) else {
            return;
        };
        let behind = number.len() - last - 1;
        let comma = number.as_bytes()[last] == b',';
        let same = number.as_bytes()[first] == number.as_bytes()[last];
        let repeated = first != last && same;
        let whole = number[..first].trim_start_matches(['-', '+', ' ', '\u{2212}', '\u{2013}']);
        // Two different signs, or digits no thousands sign could have behind it.
        let sure = (first != last && !same)
            || behind != 3
            || whole.starts_with('0')
            || whole.len() > 3
            || whole.is_empty();
        match (repeated, comma, sure) {
            // `1.234.567`: the sign that comes twice sets off thousands.
            (true, true, _) => self.dot += 1,
            (true, false, _) => self.comma += 1,
            (false, true, true) => self.comma += 1,
            (false, false, true) => self.dot += 1,
            (false, true, false) => self.comma_three += 1,
            (false, false, false) => self.dot_three += 1,
        }
    }

    /// The decimal sign of the column; `stated` wins.
    #[must_use]
    pub fn decide(&self, stated: Option<Decimal>) -> Decimal {
        if let Some(stated) = stated {
            return stated;
        }
        match (self.comma > 0, self.dot > 0) {
            (true, false) => Decimal::Comma,
            (false, true) => Decimal::Dot,
            // Both as decimal signs: each cell says for itself, and `1,234` stays unclear.
            (true, true) => Decimal::Unclear,
            (false, false) if self.comma_three > 0 => Decimal::Unclear,
            // A dot is how programs write; only a comma beside it would make it doubtful.
            (false, false) => Decimal::Dot,
        }
    }
}

/// The number with a dot as decimal sign and no thousands sign.
///
/// # Errors
/// When it is no number, or can be read in two ways.
pub fn plain(number: &str, decimal: Decimal, thousands: Option<char>) -> Result<String, Trouble> {
    let mut out = String::with_capacity(number.len());
    let mut rest = number;
    for (sign, keep) in [
        ("-", true),
        ("\u{2212}", true),
        ("\u{2013}", true),
        ("+", false),
    ] {
        if let Some(after) = rest.strip_prefix(sign) {
            rest = after.trim_start();
            if keep {
                out.push('-');
            }
            break;
        }
    }
    let mut groups = rest.split(|c| c == ',' || c == '.' || Some(c) == thousands);
    let first = groups.next().unwrap_or_default();
    let signs: Vec<char> = rest.chars().filter(|c| !c.is_ascii_digit()).collect();
    if first.is_empty() && signs.is_empty() || first.bytes().any(|b| !b.is_ascii_digit()) {
        return Err(Trouble::NotANumber);
    }
    if signs.is_empty() {
        out.push_str(first);
        return Ok(out);
    }
    let decimal_at = decimal_place(rest, first, &signs, decimal, thousands)?;
    if first.is_empty() {
        out.push('0');
    }
    out.push_str(first);
    for (at, group) in groups.enumerate() {
        if group.is_empty() || group.bytes().any(|b| !b.is_ascii_digit()) {
            return Err(Trouble::NotANumber);
        }
        if decimal_at == Some(at) {
            out.push('.');
        } else if group.len() != 3 {
            return Err(Trouble::NotANumber);
        }
        out.push_str(group);
    }
    Ok(out)
}

/// Which of the signs is the decimal sign, if one is; it must be the last.
fn decimal_place(
    number: &str,
    first: &str,
    signs: &[char],
    decimal: Decimal,
    thousands: Option<char>,
) -> Result<Option<usize>, Trouble> {
    let last = signs.len() - 1;
    let behind = number.len() - number.rfind([',', '.']).map_or(0, |at| at + 1);
    let twice = signs.iter().filter(|c| **c == signs[last]).count() > 1;
    let sign = signs[last];
    if Some(sign) == thousands {
        return Ok(None);
    }
    let own = match decimal {
        Decimal::Comma => sign == ',',
        Decimal::Dot => sign == '.',
        Decimal::Unclear => false,
    };
    if twice {
        // The same sign twice sets off thousands, unless it is the decimal sign.
        return if own {
            Err(Trouble::NotANumber)
        } else {
            Ok(None)
        };
    }
    if own {
        return Ok(Some(last));
    }
    let cannot_be_thousands =
        behind != 3 || first.starts_with('0') || first.len() > 3 || first.is_empty();
    if cannot_be_thousands || signs.iter().any(|c| *c != sign) {
        return Ok(Some(last));
    }
    // `1.234` in a column with decimal commas, or `1,234` anywhere else: not guessed.
    Err(Trouble::MustBeStated)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, decimal: Decimal) -> Result<String, Trouble> {
        plain(cut(text, None).unwrap().number, decimal, None)
    }

    #[test]
    fn the_column_decides_what_a_comma_is() {
        let seen = |cells: &[&str]| {
            let mut seen = Seen::default();
            cells.iter().for_each(|c| seen.look(c));
            seen.decide(None)
        };
        assert_eq!(seen(&["8,4", "12", "1,234"]), Decimal::Comma);
        assert_eq!(seen(&["8.4 s", "12"]), Decimal::Dot);
        assert_eq!(seen(&["1,234", "2,500"]), Decimal::Unclear);
        assert_eq!(seen(&["1.234,5"]), Decimal::Comma);
        assert_eq!(seen(&["1,234.5", "1,000"]), Decimal::Dot);
        assert_eq!(seen(&["0,234"]), Decimal::Comma);
        assert_eq!(seen(&["1.234.567"]), Decimal::Comma);
        assert_eq!(seen(&["no glow"]), Decimal::Dot);
    }

    #[test]
    fn numbers_come_out_with_a_dot() {
        assert_eq!(read("8,4", Decimal::Comma), Ok("8.4".to_owned()));
        assert_eq!(read("1,234", Decimal::Comma), Ok("1.234".to_owned()));
        assert_eq!(read("1,234", Decimal::Unclear), Err(Trouble::MustBeStated));
        assert_eq!(read("1.234", Decimal::Comma), Err(Trouble::MustBeStated));
        assert_eq!(read("9.8", Decimal::Comma), Ok("9.8".to_owned()));
        assert_eq!(read("1.234,5", Decimal::Comma), Ok("1234.5".to_owned()));
        assert_eq!(read("1,234.5", Decimal::Dot), Ok("1234.5".to_owned()));
        assert_eq!(read("1,234,567", Decimal::Dot), Ok("1234567".to_owned()));
        assert_eq!(read("-18", Decimal::Dot), Ok("-18".to_owned()));
        assert_eq!(read("\u{2212}18,5", Decimal::Comma), Ok("-18.5".to_owned()));
        assert_eq!(read(",6", Decimal::Comma), Ok("0.6".to_owned()));
        let spaced = cut("1 234,5", Some(' ')).unwrap().number;
        assert_eq!(
            plain(spaced, Decimal::Comma, Some(' ')),
            Ok("1234.5".to_owned())
        );
    }

    #[test]
    fn a_cell_is_cut_into_comparison_number_and_rest() {
        let cut = |text| cut(text, None).map(|c| (c.cmp, c.number, c.rest));
        assert_eq!(cut("28 bar"), Some(("", "28", "bar")));
        assert_eq!(cut("> 60s"), Some((">", "60", "s")));
        assert_eq!(cut("8\"4"), Some(("", "8", "\"4")));
        assert_eq!(cut("8,4"), Some(("", "8,4", "")));
        assert_eq!(cut("08. Mrz"), Some(("", "08", ". Mrz")));
        assert_eq!(cut("no glow"), None);
        assert_eq!(cut("-"), None);
    }
}
