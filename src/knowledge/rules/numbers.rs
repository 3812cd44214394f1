//! Rule: a check that reads a number says its quantity, unit and law, and each row its centre
//! and spread; a check that reads a state says its states and chances.

use super::book::Book;
use crate::knowledge::check::{Check, CheckKind, Law, Relative};
use crate::units::{Dimension, Unit};

const RULE: &str = "numbers";

/// Finds checks whose kind and figures do not go together.
pub(super) fn rule(book: &mut Book<'_>) {
    for check in &book.knowledge.checks {
        let said = match check.kind {
            CheckKind::States => states(check),
            CheckKind::Number => number(check),
        };
        for what in said {
            let advice = "compare with another check of the same kind";
            book.problem(RULE, check.file, check.id.span(), what, advice);
        }
        unit(book, check);
    }
}

fn states(check: &Check) -> Vec<String> {
    let mut said = Vec::new();
    if check.states.len() < 2 {
        said.push("a reading of states needs two states or more".to_owned());
    }
    if check
        .row
        .iter()
        .any(|r| r.chance.is_none() || r.mean.is_some())
    {
        said.push("a row of a reading of states has chances and no mean".to_owned());
    }
    said
}

fn number(check: &Check) -> Vec<String> {
    let mut said = Vec::new();
    for (there, name) in [
        (check.quantity.is_some(), "quantity"),
        (check.unit.is_some(), "unit"),
        (check.law.is_some(), "law"),
    ] {
        if !there {
            said.push(format!("a reading of a number needs `{name}`"));
        }
    }
    let log = check.law == Some(Law::LogNormal);
    for row in &check.row {
        match (row.mean, row.sd) {
            (Some(mean), Some(sd)) if sd > 0.0 && mean.is_finite() && (!log || mean > 0.0) => {}
            _ => said.push(
                "a row needs `mean` and a `sd` over nought; a log-normal law a mean over nought"
                    .to_owned(),
            ),
        }
        if row.chance.is_some() {
            said.push("a row of a number has no chances of states".to_owned());
        }
        if row.off_scale.is_some() && check.off_scale.is_none() {
            said.push("a row is off the end, but the result there has no name".to_owned());
        }
    }
    let rated = [Relative::Nominal, Relative::NominalTimesCylinders];
    if check.relative.is_some_and(|r| rated.contains(&r)) && check.nominal.is_none() {
        said.push("a ratio to the rated value needs `nominal`".to_owned());
    }
    if check.bounds.windows(2).any(|w| w[0] >= w[1]) {
        said.push("the bounds do not rise".to_owned());
    }
    if !check.link.is_empty() {
        said.push("a number has no links".to_owned());
    }
    said
}

fn unit(book: &mut Book<'_>, check: &Check) {
    let (Some(quantity), Some(unit)) = (&check.quantity, &check.unit) else {
        return;
    };
    let Some(dimension) = Dimension::from_name(quantity.get_ref()) else {
        let names: Vec<&str> = Dimension::ALL.iter().map(|d| d.name()).collect();
        let what = format!("`{}` is no quantity", quantity.get_ref());
        let advice = format!("one of {}", names.join(", "));
        book.problem(RULE, check.file, quantity.span(), what, &advice);
        return;
    };
    if Unit::meant_by(dimension, unit.get_ref()).len() != 1 {
        let what = format!("`{}` is no unit of {}", unit.get_ref(), dimension.name());
        let advice = format!("for example {}", dimension.canonical().code());
        book.problem(RULE, check.file, unit.span(), what, &advice);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::{found, one};

    #[test]
    fn a_number_without_law_quantity_or_unit_is_found() {
        let at = "\"relay_drop\"";
        one("checks.toml", "law = \"normal\"\n", "", RULE, at);
        one("checks.toml", "quantity = \"voltage\"\n", "", RULE, at);
        one("checks.toml", "unit = \"V\"\n", "", RULE, at);
        one(
            "checks.toml",
            "mean = 2.0, sd = 1.5",
            "mean = 2.0, sd = 0.0",
            RULE,
            at,
        );
        one(
            "checks.toml",
            "mean = 0.1, sd = 0.05",
            "mean = 0.1",
            RULE,
            at,
        );
        one(
            "checks.toml",
            "law = \"normal\"",
            "law = \"normal\"\nrelative = \"nominal\"",
            RULE,
            at,
        );
    }

    #[test]
    fn a_unit_of_another_quantity_is_found() {
        one(
            "checks.toml",
            "unit = \"V\"",
            "unit = \"bar\"",
            RULE,
            "\"bar\"",
        );
        one(
            "checks.toml",
            "\"voltage\"",
            "\"tension\"",
            RULE,
            "\"tension\"",
        );
    }

    #[test]
    fn a_reading_of_states_with_a_number_in_it_is_found() {
        let problems = found(
            "checks.toml",
            "chance = [0.95, 0.05]",
            "mean = 1.0, sd = 1.0",
        );
        assert_eq!(problems, [(RULE, "\"relay_lamp\"".to_owned())]);
    }
}
