//! Chances for people: whole numbers per hundred, the scale of words, and a row of dots.
//!
//! Word, number and dots come from the same whole number, so they cannot disagree. Words
//! never stand without the number. Must not hold any other wording.

use super::page::Symbols;

/// Below this nothing but "under 1" is said, above its counterpart nothing but "over 99".
const LEAST: f64 = 0.01;
/// Dots in a row.
pub const DOTS: usize = 20;
/// The scale of words, each from its number up: own judgement, not overlapping.
const WORDS: [(u8, &str); 7] = [
    (95, "almost sure"),
    (80, "very likely"),
    (60, "likely"),
    (40, "even-ish"),
    (20, "less likely"),
    (5, "unlikely"),
    (0, "nearly ruled out"),
];

/// The whole number per hundred: 0 stands for "under 1", 100 for "over 99".
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 1 and 99"
)]
pub fn whole(chance: f64) -> u8 {
    if chance < LEAST {
        0
    } else if chance > 1.0 - LEAST {
        100
    } else {
        (100.0 * chance).round() as u8
    }
}

/// `58`, `under 1`, `over 99`.
#[must_use]
pub fn count(chance: f64) -> String {
    match whole(chance) {
        0 => "under 1".to_owned(),
        100 => "over 99".to_owned(),
        n => n.to_string(),
    }
}

/// `58 of 100`, and at the ends `under 1`, `over 99`.
#[must_use]
pub fn of_100(chance: f64) -> String {
    match whole(chance) {
        0 | 100 => count(chance),
        n => format!("{n} of 100"),
    }
}

/// `likely (70 of 100)`: for sentences, where the ends need their hundred too.
#[must_use]
pub fn in_words(chance: f64) -> String {
    format!("{} ({} of 100)", word(chance), count(chance))
}

/// The word of the scale; never shown without the number.
fn word(chance: f64) -> &'static str {
    let n = whole(chance);
    WORDS
        .iter()
        .find(|(from, _)| n >= *from)
        .map_or("", |(_, word)| *word)
}

/// Twenty dots, filled from the left, one for five of a hundred.
#[must_use]
pub fn dots(chance: f64, symbols: Symbols) -> String {
    let filled = (2 * usize::from(whole(chance)) + 5) / 10;
    let (full, empty) = match symbols {
        Symbols::Unicode => ("●", "○"),
        Symbols::Ascii => ("o", "."),
    };
    full.repeat(filled) + &empty.repeat(DOTS - filled)
}

/// `up 12`, `down 3`, or nothing where the whole numbers are the same.
#[must_use]
pub fn change(before: f64, now: f64) -> Option<String> {
    let (before, now) = (whole(before), whole(now));
    match now.cmp(&before) {
        std::cmp::Ordering::Greater => Some(format!("up {}", now - before)),
        std::cmp::Ordering::Less => Some(format!("down {}", before - now)),
        std::cmp::Ordering::Equal => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The scale as laid down: bands meet at 5, 20, 40, 60, 80, 95.
    #[test]
    fn the_words_change_at_their_numbers() {
        let cases = [
            (0.004, "nearly ruled out (under 1 of 100)"),
            (0.044, "nearly ruled out (4 of 100)"),
            (0.05, "unlikely (5 of 100)"),
            (0.194, "unlikely (19 of 100)"),
            (0.20, "less likely (20 of 100)"),
            (0.40, "even-ish (40 of 100)"),
            (0.60, "likely (60 of 100)"),
            (0.80, "very likely (80 of 100)"),
            (0.95, "almost sure (95 of 100)"),
            (0.999, "almost sure (over 99 of 100)"),
        ];
        for (chance, words) in cases {
            assert_eq!(in_words(chance), words);
        }
    }

    #[test]
    fn nought_and_a_hundred_are_never_said() {
        for chance in [0.0, 1e-9, 0.009_99] {
            assert_eq!(of_100(chance), "under 1");
        }
        for chance in [1.0, 0.990_01] {
            assert_eq!(of_100(chance), "over 99");
        }
        assert_eq!(of_100(0.01), "1 of 100");
        assert_eq!(of_100(0.99), "99 of 100");
    }

    #[test]
    fn dots_number_and_word_come_from_one_whole_number() {
        for step in 0..=1000_u32 {
            let chance = f64::from(step) / 1000.0;
            let row = dots(chance, Symbols::Ascii);
            assert_eq!(row.len(), DOTS);
            let filled = row.bytes().filter(|b| *b == b'o').count();
            let n = usize::from(whole(chance));
            assert!((5 * filled).abs_diff(n) <= 2, "{chance}");
            assert!(row.starts_with(&"o".repeat(filled)), "filled from the left");
        }
        assert_eq!(dots(0.58, Symbols::Unicode).chars().count(), DOTS);
        assert_eq!(dots(0.58, Symbols::Ascii), "oooooooooooo........");
    }

    #[test]
    fn a_change_is_the_difference_of_what_was_shown() {
        assert_eq!(change(0.46, 0.58).as_deref(), Some("up 12"));
        assert_eq!(change(0.06, 0.03).as_deref(), Some("down 3"));
        assert_eq!(change(0.301, 0.304), None);
    }
}
