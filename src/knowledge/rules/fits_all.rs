//! Rule: the last row of a table fits every case, and no row stands behind such a one.

use std::ops::Range;

use super::book::Book;

const RULE: &str = "fits_all";

/// Finds tables with no row for the rest, and rows that can never be reached.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for sign in &k.signs {
        let rest = sign.row.iter().map(|r| r.given.is_empty());
        table(book, sign.file, sign.id.span(), rest.collect());
    }
    for check in &k.checks {
        let rest = check.row.iter().map(|r| r.given.is_empty());
        table(book, check.file, check.id.span(), rest.collect());
    }
}

fn table(book: &mut Book<'_>, file: usize, at: Range<usize>, rest: Vec<bool>) {
    match rest.iter().position(|fits_all| *fits_all) {
        None => {
            let what = "no row fits all other cases".to_owned();
            book.problem(
                RULE,
                file,
                at,
                what,
                "end the table with a row without `given`",
            );
        }
        Some(first) if first + 1 < rest.len() => {
            let what = "rows stand behind the one that fits all".to_owned();
            book.problem(RULE, file, at, what, "put the row without `given` last");
        }
        Some(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn a_table_without_a_row_for_the_rest_is_found() {
        one(
            "starts.toml",
            ", { chance = [0.7, 0.3] }",
            "",
            RULE,
            "\"smoke\"",
        );
        one(
            "checks.toml",
            ", { chance = [0.95, 0.05] }",
            "",
            RULE,
            "\"relay_lamp\"",
        );
    }

    #[test]
    fn a_row_behind_the_one_that_fits_all_is_found() {
        let from = "{ given = { feed = [\"none\"] }, chance = [0.2, 0.8] }, { chance";
        let to = "{ chance = [0.2, 0.8] }, { given = { feed = [\"none\"] }, chance";
        one("starts.toml", from, to, RULE, "\"smoke\"");
    }
}
