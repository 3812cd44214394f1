//! Rule: a table looks at no more than three variables, for wider ones are too wide to reckon
//! with; and at least one, unless something else speaks.

use super::book::Book;

const RULE: &str = "drivers";
/// Most variables a table may look at; wider tables make the network too wide (own judgement).
const MOST: usize = 3;

/// Finds tables over too many variables, and checks that look at nothing.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let signs = k
        .signs
        .iter()
        .map(|s| (s.file, &s.id, s.drivers.len(), true));
    let checks = k.checks.iter().map(|c| {
        let speaks = !c.link.is_empty();
        (c.file, &c.id, c.looks_at.len(), speaks)
    });
    for (file, id, count, may_be_none) in signs.chain(checks) {
        if count > MOST {
            let what = format!("`{}` looks at {count} variables", id.get_ref());
            let advice = "three at most: look at a function that stands for several parts";
            book.problem(RULE, file, id.span(), what, advice);
        }
        if count == 0 && !may_be_none {
            let what = format!("`{}` looks at nothing", id.get_ref());
            let advice = "name the variables it tells something about, or a link";
            book.problem(RULE, file, id.span(), what, advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn four_variables_are_too_many_and_none_too_few() {
        let four = "looks_at = [\"relay\", \"spare\", \"feed\", \"smoke\"]";
        one(
            "checks.toml",
            "looks_at = [\"relay\"]",
            four,
            RULE,
            "\"relay_lamp\"",
        );
        let from = "looks_at = [\"relay\"]\nstates = [\"bright\", \"off\"]\nrow = [{ given = { relay = [\"burnt\"] }, chance = [0.1, 0.9] }, ";
        let to = "looks_at = []\nstates = [\"bright\", \"off\"]\nrow = [";
        one("checks.toml", from, to, RULE, "\"relay_lamp\"");
        let four = "drivers = [\"relay\", \"spare\", \"feed\", \"catch\"]";
        one(
            "starts.toml",
            "drivers = [\"feed\"]",
            four,
            RULE,
            "\"smoke\"",
        );
    }
}
