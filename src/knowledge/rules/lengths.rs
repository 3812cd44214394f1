//! Rule: a row has one figure a state, and a number one name more than it has bounds.

use std::ops::Range;

use super::book::Book;
use crate::knowledge::check::CheckKind;

const RULE: &str = "lengths";

/// Finds every list of the wrong length.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for part in &k.parts {
        for row in part.given_rows.values() {
            let at = part.id.span();
            long(book, part.file, at, row.len(), part.fault.len(), "faults");
        }
    }
    for f in &k.functions {
        let states = f.states.len();
        long(
            book,
            f.file,
            f.leak.span(),
            f.leak.get_ref().len(),
            states,
            "states",
        );
        for from in &f.from {
            let gives = &from.gives;
            long(
                book,
                f.file,
                gives.span(),
                gives.get_ref().len(),
                states,
                "states",
            );
        }
    }
    for s in &k.signs {
        let rows = s.row.iter().map(|r| &r.chance);
        for list in rows.chain(s.from.iter().map(|f| &f.gives)) {
            long(
                book,
                s.file,
                list.span(),
                list.get_ref().len(),
                s.states.len(),
                "states",
            );
        }
        if let Some(seconds) = &s.seconds {
            let bounds = s.states.len().saturating_sub(1);
            long(
                book,
                s.file,
                s.id.span(),
                seconds.len(),
                bounds,
                "bounds of seconds",
            );
        }
    }
    for c in &k.checks {
        if c.kind == CheckKind::States {
            for list in c.row.iter().filter_map(|r| r.chance.as_ref()) {
                long(
                    book,
                    c.file,
                    list.span(),
                    list.get_ref().len(),
                    c.states.len(),
                    "states",
                );
            }
        } else if !(c.bounds.is_empty() && c.bound_names.is_empty()) {
            let names = c.bounds.len() + 1;
            long(
                book,
                c.file,
                c.id.span(),
                c.bound_names.len(),
                names,
                "names of outcomes",
            );
        }
    }
}

fn long(book: &mut Book<'_>, file: usize, at: Range<usize>, is: usize, wanted: usize, of: &str) {
    if is != wanted {
        let what = format!("{is} figures for {wanted} {of}");
        book.problem(RULE, file, at, what, "give one for each, in the same order");
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn a_list_of_the_wrong_length_is_found() {
        one("functions.toml", "[0.99, 0.01]", "[1.0]", RULE, "[1.0]");
        one(
            "functions.toml",
            "[0.1, 0.9]",
            "[0.1, 0.8, 0.1]",
            RULE,
            "[0.1, 0.8, 0.1]",
        );
        one(
            "starts.toml",
            "[0.7, 0.3]",
            "[0.7, 0.2, 0.1]",
            RULE,
            "[0.7, 0.2, 0.1]",
        );
        one("checks.toml", "[0.95, 0.05]", "[1.0]", RULE, "[1.0]");
        one(
            "checks.toml",
            "[\"ordinary\", \"much\"]",
            "[\"ordinary\"]",
            RULE,
            "\"relay_drop\"",
        );
        one("preheat.toml", "[0.2]", "[0.2, 0.1]", RULE, "\"spare\"");
    }
}
