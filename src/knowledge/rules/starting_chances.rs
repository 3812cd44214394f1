//! Rule: the generated layer of starting chances speaks of faults there are, with chances that
//! are some and offsets that are finite.

use super::book::Book;

const RULE: &str = "starting_chances";
const ADVICE: &str = "generate the layer again from the shares";

/// Finds unknown faults and impossible figures in the generated layer.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let file = book.file("roots.toml");
    for cell in &k.roots.cell {
        let place = format!("{}, {}, {}", cell.band, cell.chamber, cell.preheat);
        for (fault, chance) in &cell.chance {
            known(book, file, fault, &place);
            if !(0.0..=1.0).contains(chance) {
                let what = format!("{place}: {chance} is no chance of `{fault}`");
                book.problem(RULE, file, 0..0, what, ADVICE);
            }
        }
    }
    for other in &k.roots.other {
        for (fault, offset) in &other.offset {
            known(book, file, fault, other.context.get_ref());
            if !offset.is_finite() {
                let what = format!("{offset} is no offset of `{fault}`");
                book.problem(RULE, file, other.context.span(), what, ADVICE);
            }
        }
    }
}

fn known(book: &mut Book<'_>, file: usize, fault: &str, place: &str) {
    let parts = &book.knowledge.parts;
    let known = fault.split_once('.').is_some_and(|(part, state)| {
        let part = parts.iter().find(|p| p.id.get_ref() == part);
        part.is_some_and(|p| p.fault.iter().any(|f| f.id.get_ref() == state))
    });
    if !known {
        let what = format!("{place}: there is no fault `{fault}`");
        book.problem(RULE, file, 0..0, what, ADVICE);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::found;

    fn cell(fault: &str, chance: &str) -> Vec<(&'static str, String)> {
        let cell = format!(
            "roots = {{ cell = [{{ band = \"hot\", chamber = \"swirl\", preheat = \"plugs\", chance = {{ \"{fault}\" = {chance} }} }}] }}"
        );
        found("roots.toml", "roots = {}", &cell)
    }

    #[test]
    fn unknown_faults_and_impossible_chances_are_found() {
        assert_eq!(cell("relay.burnt", "0.1"), []);
        assert_eq!(cell("relay.wet", "0.1"), [(RULE, String::new())]);
        assert_eq!(cell("relay.burnt", "1.1"), [(RULE, String::new())]);
    }
}
