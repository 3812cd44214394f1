//! Rule: no access group has to be open before itself.

use std::collections::{BTreeMap, BTreeSet};

use super::book::Book;

const RULE: &str = "access_cycle";

/// Finds every access group that comes after itself.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let file = book.file("checks.toml");
    let after: BTreeMap<&str, Vec<&str>> = k
        .access
        .iter()
        .map(|a| {
            let before = a.after.iter().map(|b| b.get_ref().as_str());
            (a.id.get_ref().as_str(), before.collect())
        })
        .collect();
    for group in &k.access {
        let own = group.id.get_ref().as_str();
        let mut seen = BTreeSet::new();
        let mut open = after[own].clone();
        while let Some(next) = open.pop() {
            if seen.insert(next) {
                open.extend(after.get(next).into_iter().flatten());
            }
        }
        if seen.contains(own) {
            let what = format!("`{own}` must be open before itself");
            let advice = "take one of the groups out of `after`";
            book.problem(RULE, file, group.id.span(), what, advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::found;

    #[test]
    fn both_groups_of_a_ring_are_found() {
        let from = "minutes = 10.0\n";
        let problems = found(
            "checks.toml",
            from,
            "minutes = 10.0\nafter = [\"plugs_out\"]\n",
        );
        let at = |s: &str| (RULE, format!("\"{s}\""));
        assert_eq!(problems, [at("covers"), at("plugs_out")]);
    }
}
