//! Rule: for every fault there is a repair.

use super::book::Book;

const RULE: &str = "repaired";

/// Finds faults that no repair removes.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for part in &k.parts {
        for fault in &part.fault {
            let name = format!("{}.{}", part.id.get_ref(), fault.id.get_ref());
            let fixes = |f: &crate::knowledge::repair::Fix| *f.fault.get_ref() == name;
            if !k.repairs.iter().any(|r| r.fixes.iter().any(fixes)) {
                let what = format!("no repair removes `{name}`");
                let advice = "add a repair, or name the fault in one";
                book.problem(RULE, part.file, fault.id.span(), what, advice);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::found;

    #[test]
    fn a_fault_without_a_repair_is_found_at_the_fault() {
        let problems = found("repairs.toml", "\"spare.bad\"", "\"relay.burnt\"");
        assert_eq!(problems, [(RULE, "\"bad\"".to_owned())]);
    }
}
