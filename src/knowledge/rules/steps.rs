//! Rule: a check has three to six steps, none of them empty, and takes time.

use super::book::Book;

const RULE: &str = "steps";
/// Fewest and most steps a person follows from a sheet (own judgement).
const STEPS: std::ops::RangeInclusive<usize> = 3..=6;

/// Finds checks with too few, too many or empty steps, or without minutes.
pub(super) fn rule(book: &mut Book<'_>) {
    for check in &book.knowledge.checks {
        let count = check.how.len();
        let empty = check.how.iter().any(|s| s.trim().is_empty());
        if !STEPS.contains(&count) || empty {
            let what = format!("{count} steps, empty ones among them: {empty}");
            let advice = "write three to six short steps, what to do first";
            book.problem(RULE, check.file, check.id.span(), what, advice);
        }
        let each = check.minutes_each.unwrap_or(0.0);
        if !(check.minutes > 0.0 && each >= 0.0) {
            let what = "a check takes time".to_owned();
            let advice = "give minutes over nought";
            book.problem(RULE, check.file, check.id.span(), what, advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn two_seven_or_empty_steps_and_no_minutes_are_found() {
        let from = "how = [\"Look.\", \"Hold.\", \"Write.\"]";
        let at = "\"relay_lamp\"";
        one(
            "checks.toml",
            from,
            "how = [\"Look.\", \"Hold.\"]",
            RULE,
            at,
        );
        one(
            "checks.toml",
            from,
            "how = [\"a\", \"b\", \"c\", \"d\", \"e\", \"f\", \"g\"]",
            RULE,
            at,
        );
        one(
            "checks.toml",
            from,
            "how = [\"Look.\", \" \", \"Write.\"]",
            RULE,
            at,
        );
        one("checks.toml", "minutes = 2.0", "minutes = 0.0", RULE, at);
    }
}
