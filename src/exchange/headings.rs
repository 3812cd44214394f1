//! Headings of a table: names made one of a kind, rows joined, units and patterns found in them.
//!
//! Must not know what a column means.

use super::text::folded;
use crate::units::{Dimension, Unit};

/// Names of columns from the cells of one or several heading rows.
#[must_use]
pub fn names(rows: &[Vec<String>], cells: usize) -> Vec<String> {
    let width = rows.iter().map(Vec::len).max().unwrap_or(0).max(cells);
    let mut names: Vec<String> = Vec::with_capacity(width);
    for at in 0..width {
        let mut parts: Vec<String> = Vec::new();
        for (depth, row) in rows.iter().enumerate() {
            let own = |at: usize| {
                row.get(at)
                    .map(|c| c.split_whitespace().collect::<Vec<_>>().join(" "))
            };
            let mut part = own(at).unwrap_or_default();
            // A merged heading stands over the columns to its right as well.
            if part.is_empty() && depth + 1 < rows.len() {
                part = (0..at)
                    .rev()
                    .filter_map(own)
                    .find(|c| !c.is_empty())
                    .unwrap_or_default();
            }
            if !part.is_empty() {
                parts.push(part);
            }
        }
        let name = parts.join(" ");
        let name = if name.is_empty() {
            format!("column_{}", at + 1)
        } else {
            name
        };
        let mut one = name.clone();
        let mut n = 1;
        while names.contains(&one) {
            n += 1;
            one = format!("{name} ({n})");
        }
        names.push(one);
    }
    names
}

/// Units that stand bare among the words of a heading.
const BARE_UNITS: &[&str] = &[
    "s", "sec", "min", "h", "hrs", "V", "mV", "A", "bar", "psi", "kPa", "\u{b0}C", "\u{b0}F",
    "degC", "degF", "ohm", "ohms", "\u{3a9}", "rpm", "%", "km", "mi", "kgf/cm2",
];

/// The unit a heading states: in brackets, or as a word of its own.
#[must_use]
pub fn unit(heading: &str, dimension: Dimension) -> Option<Unit> {
    let meant = |text: &str| match Unit::meant_by(dimension, text).as_slice() {
        [unit] => Some(*unit),
        _ => None,
    };
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some((_, after)) = heading.split_once(open)
            && let Some((inside, _)) = after.split_once(close)
            && let Some(unit) = meant(inside.trim())
        {
            return Some(unit);
        }
    }
    let mut words = heading.split([' ', '_', ',', '/']);
    words.find_map(|w| BARE_UNITS.contains(&w).then(|| meant(w)).flatten())
}

/// Cylinder and trial of a heading that fits a pattern with `{cyl}` and `{trial}`.
#[must_use]
pub fn fits(pattern: &str, heading: &str) -> Option<(Option<u8>, Option<u32>)> {
    let (mut cylinder, mut trial) = (None, None);
    let mut rest = heading;
    let mut pattern = pattern;
    loop {
        let next = match (pattern.find("{cyl}"), pattern.find("{trial}")) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        let Some(at) = next else {
            return (rest == pattern).then_some((cylinder, trial));
        };
        rest = rest.strip_prefix(&pattern[..at])?;
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let (number, after) = rest.split_at(digits);
        rest = after;
        if pattern[at..].starts_with("{cyl}") {
            cylinder = Some(number.parse().ok().filter(|n| (1..=12).contains(n))?);
            pattern = &pattern[at + 5..];
        } else {
            trial = Some(number.parse().ok().filter(|n| (1..=1000).contains(n))?);
            pattern = &pattern[at + 7..];
        }
    }
}

/// A heading without case, units in brackets and signs, for guessing.
#[must_use]
pub fn stem(heading: &str) -> String {
    let cut = heading.split(['(', '[']).next().unwrap_or(heading);
    folded(&cut.replace(['_', '.', ':', '-', '/'], " "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(cells: &[&str]) -> Vec<String> {
        cells.iter().map(|c| (*c).to_owned()).collect()
    }

    #[test]
    fn unnamed_and_doubled_headings_get_names() {
        assert_eq!(
            names(&[row(&["Job", "", "Plug", "Plug"])], 5),
            ["Job", "column_2", "Plug", "Plug (2)", "column_5"]
        );
        let joined = names(
            &[row(&["Job", "Plug s", "", ""]), row(&["No", "1", "2", "3"])],
            4,
        );
        assert_eq!(joined, ["Job No", "Plug s 1", "Plug s 2", "Plug s 3"]);
    }

    #[test]
    fn units_stand_in_brackets_or_alone() {
        let code = |h, d| unit(h, d).map(|u| u.code());
        assert_eq!(
            code("Ambient (\u{b0}F)", Dimension::Temperature),
            Some("[degF]")
        );
        assert_eq!(code("Batt V crank", Dimension::Voltage), Some("V"));
        assert_eq!(code("Plug s 1", Dimension::Time), Some("s"));
        assert_eq!(code("Comp 1", Dimension::Pressure), None);
        assert_eq!(code("Pressure at pump", Dimension::Pressure), None);
    }

    #[test]
    fn patterns_take_cylinder_and_trial() {
        assert_eq!(fits("Plug s {cyl}", "Plug s 3"), Some((Some(3), None)));
        assert_eq!(fits("t{trial}_c{cyl}", "t1_c3"), Some((Some(3), Some(1))));
        assert_eq!(fits("Plug s {cyl}", "Plug s 13"), None);
        assert_eq!(fits("Comp", "Comp"), Some((None, None)));
        assert_eq!(fits("Comp", "Comp 1"), None);
    }
}
