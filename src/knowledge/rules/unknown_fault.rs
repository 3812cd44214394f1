//! Rule: a repair removes faults there are.

use super::book::Book;

const RULE: &str = "unknown_fault";

/// Finds every fault named by a repair that no part has, and repairs that remove nothing.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for repair in &k.repairs {
        for fix in &repair.fixes {
            let name = fix.fault.get_ref();
            let known = name.split_once('.').is_some_and(|(part, fault)| {
                let part = k.parts.iter().find(|p| p.id.get_ref() == part);
                part.is_some_and(|p| p.fault.iter().any(|f| f.id.get_ref() == fault))
            });
            if !known {
                let what = format!("there is no fault `{name}`");
                let advice = "write it as `part.fault`, as the part's file has them";
                book.problem(RULE, repair.file, fix.fault.span(), what, advice);
            }
        }
        if repair.fixes.is_empty() {
            let what = format!("`{}` removes nothing", repair.id.get_ref());
            let advice = "name the faults it removes";
            book.problem(RULE, repair.file, repair.id.span(), what, advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::found;

    #[test]
    fn an_unknown_fault_is_found_where_it_stands() {
        let to =
            "{ fault = \"relay.burnt\", surely = 0.98 }, { fault = \"relay.wet\", surely = 0.5 }";
        let from = "{ fault = \"relay.burnt\", surely = 0.98 }";
        let problems = found("repairs.toml", from, to);
        assert_eq!(problems, [(RULE, "\"relay.wet\"".to_owned())]);
    }
}
