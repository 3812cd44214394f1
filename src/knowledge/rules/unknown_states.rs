//! Rule: figures speak only of variables and states there are, and rows only of the variables
//! their table looks at.

use std::collections::BTreeMap;
use std::ops::Range;

use super::super::spanned::Spanned;

use super::book::Book;
use crate::knowledge::function::FunctionFrom;
use crate::knowledge::sign::SignLink;

const RULE: &str = "unknown_states";

/// Finds every variable or state that does not exist.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for part in &k.parts {
        let Some(given) = &part.given else { continue };
        variable(book, part.file, given);
        for state in part.given_rows.keys() {
            pair(book, part.file, given.span(), (given.get_ref(), state));
        }
    }
    for function in &k.functions {
        from(book, function.file, &function.from);
    }
    for sign in &k.signs {
        for driver in &sign.drivers {
            variable(book, sign.file, driver);
        }
        for row in &sign.row {
            given(
                book,
                sign.file,
                row.chance.span(),
                &row.given,
                &sign.drivers,
            );
        }
        from(book, sign.file, &sign.from);
        links(book, sign.file, &sign.link, &sign.states);
    }
    let starts = book.file("starts.toml");
    let yes = ["yes".to_owned()];
    links(book, starts, &k.starts.complaint.link, &yes);
    for check in &k.checks {
        for looked in &check.looks_at {
            variable(book, check.file, looked);
        }
        for row in &check.row {
            let at = row.chance.as_ref().map_or(check.id.span(), Spanned::span);
            given(book, check.file, at, &row.given, &check.looks_at);
        }
        links(book, check.file, &check.link, &check.states);
    }
}

fn variable(book: &mut Book<'_>, file: usize, name: &Spanned<String>) {
    if !book.variables.knows(name.get_ref()) {
        let what = format!("there is no variable `{}`", name.get_ref());
        let advice = "name a part, a function, a sign or a counted variable";
        book.problem(RULE, file, name.span(), what, advice);
    }
}

fn pair(book: &mut Book<'_>, file: usize, span: Range<usize>, (variable, state): (&str, &str)) {
    // An unknown variable is reported where it is named first.
    if book.variables.knows(variable) && !book.variables.has(variable, state) {
        let what = format!("`{variable}` has no state `{state}`");
        let advice = book.variables.listed(variable);
        book.problem(RULE, file, span, what, &advice);
    }
}

fn from(book: &mut Book<'_>, file: usize, all: &[FunctionFrom]) {
    for one in all {
        variable(book, file, &one.var);
        let named = (one.var.get_ref().as_str(), one.state.get_ref().as_str());
        pair(book, file, one.state.span(), named);
    }
}

fn links(book: &mut Book<'_>, file: usize, all: &[SignLink], states: &[String]) {
    for link in all {
        variable(book, file, &link.var);
        let named = (link.var.get_ref().as_str(), link.state.get_ref().as_str());
        pair(book, file, link.state.span(), named);
        for said in link.says.get_ref().keys().filter(|s| !states.contains(s)) {
            let what = format!("it says `{said}`, which is not one of the states");
            let advice = format!("one of {}", states.join(", "));
            book.problem(RULE, file, link.says.span(), what, &advice);
        }
    }
}

fn given(
    book: &mut Book<'_>,
    file: usize,
    span: Range<usize>,
    given: &BTreeMap<String, Vec<String>>,
    looked_at: &[Spanned<String>],
) {
    for (variable, states) in given {
        if !looked_at.iter().any(|l| l.get_ref() == variable) {
            let what = format!("a row is given `{variable}`, which the table does not look at");
            let advice = "name it among the variables looked at, or take it out of the row";
            book.problem(RULE, file, span.clone(), what, advice);
        }
        for state in states {
            pair(book, file, span.clone(), (variable, state));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::{found, one};

    #[test]
    fn an_unknown_variable_is_found_where_it_stands() {
        one(
            "preheat.toml",
            "given = \"relay\"",
            "given = \"delay\"",
            RULE,
            "\"delay\"",
        );
        one(
            "functions.toml",
            "var = \"relay\"",
            "var = \"delay\"",
            RULE,
            "\"delay\"",
        );
        one(
            "starts.toml",
            "var = \"spare\"",
            "var = \"delay\"",
            RULE,
            "\"delay\"",
        );
    }

    #[test]
    fn an_unknown_state_is_found_where_it_stands() {
        one("functions.toml", "\"burnt\"", "\"open\"", RULE, "\"open\"");
        one(
            "starts.toml",
            "{ white = 1.0 }",
            "{ green = 1.0 }",
            RULE,
            "{ green = 1.0 }",
        );
        one(
            "checks.toml",
            "relay = [\"burnt\"]",
            "relay = [\"open\"]",
            RULE,
            "[0.1, 0.9]",
        );
        one(
            "preheat.toml",
            "{ burnt = [0.2] }",
            "{ open = [0.2] }",
            RULE,
            "\"relay\"",
        );
    }

    #[test]
    fn a_row_speaks_only_of_what_the_table_looks_at() {
        let problems = found(
            "checks.toml",
            "{ relay = [\"burnt\"] }, chance",
            "{ feed = [\"none\"] }, chance",
        );
        assert_eq!(problems, [(RULE, "[0.1, 0.9]".to_owned())]);
    }
}
