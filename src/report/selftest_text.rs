//! The self-test for people: one paragraph a check, its source behind it.
//!
//! Must not reckon.

use super::page::{Layout, Page};
use crate::selftest::Check;

/// Digits of a value that is printed beside a published one.
const DIGITS: usize = 10;

/// The list, and how many agree.
#[must_use]
pub fn selftest(checks: &[Check], layout: Layout) -> String {
    let mut page = Page::new(layout);
    for check in checks {
        let lead = if check.passed() {
            "agrees  "
        } else {
            "MISSES  "
        };
        let mut text = format!("{}: {}", check.name, short(check.expected));
        if !check.passed() {
            text.push_str(&format!(", found {}", short(check.found)));
        }
        page.hang(lead, &format!("{text}  [{}]", check.source));
    }
    page.gap();
    let agree = checks.iter().filter(|c| c.passed()).count();
    page.say(&format!(
        "{agree} of {} agree with their published values.",
        checks.len()
    ));
    page.finish()
}

/// The number without noughts at its end.
fn short(value: f64) -> String {
    let text = format!("{value:.DIGITS$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    text.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::page::Symbols;

    #[test]
    fn a_miss_says_what_was_found_instead() {
        let check = Check {
            name: "sprinkler: rain".to_owned(),
            source: "Murphy 1998",
            expected: 0.708,
            within: 5e-4,
            found: 0.5,
        };
        let page = selftest(&[check], Layout::new(80, Symbols::Ascii));
        assert_eq!(
            page,
            "MISSES  sprinkler: rain: 0.708, found 0.5 [Murphy 1998]\n\n\
             0 of 1 agree with their published values.\n"
        );
    }
}
