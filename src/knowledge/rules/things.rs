//! Rule: access groups, tools and cautions that are named exist.

use std::collections::BTreeSet;

use super::super::spanned::Spanned;

use super::book::Book;

const RULE: &str = "things";

/// Finds every name of an access group, tool or caution that is not on its list.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let file = book.file("checks.toml");
    let access: BTreeSet<&str> = k.access.iter().map(|a| a.id.get_ref().as_str()).collect();
    let tools: BTreeSet<&str> = k.tools.iter().map(|t| t.id.get_ref().as_str()).collect();
    let hazards: BTreeSet<&str> = k.hazards.iter().map(|h| h.id.get_ref().as_str()).collect();
    for group in &k.access {
        listed(book, file, &group.after, &access, "access group");
        listed(book, file, &group.hazards, &hazards, "caution");
    }
    for check in &k.checks {
        listed(book, check.file, &check.access, &access, "access group");
        listed(book, check.file, &check.hazards, &hazards, "caution");
        for tool in check.tools.iter().flatten() {
            if !tools.contains(tool.as_str()) {
                let what = format!("there is no tool `{tool}`");
                let advice = "add it to the list of tools, or name one of them";
                book.problem(RULE, check.file, check.id.span(), what, advice);
            }
        }
        if check.tools.iter().any(Vec::is_empty) {
            let what = "a choice of tools is empty".to_owned();
            book.problem(RULE, check.file, check.id.span(), what, "name a tool");
        }
    }
    for repair in &k.repairs {
        listed(book, repair.file, &repair.access, &access, "access group");
        listed(book, repair.file, &repair.hazards, &hazards, "caution");
    }
}

fn listed(
    book: &mut Book<'_>,
    file: usize,
    names: &[Spanned<String>],
    list: &BTreeSet<&str>,
    kind: &str,
) {
    for name in names
        .iter()
        .filter(|n| !list.contains(n.get_ref().as_str()))
    {
        let what = format!("there is no {kind} `{}`", name.get_ref());
        let names: Vec<&str> = list.iter().copied().collect();
        let advice = format!("one of {}", names.join(", "));
        book.problem(RULE, file, name.span(), what, &advice);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn names_that_are_not_listed_are_found() {
        one(
            "checks.toml",
            "after = [\"covers\"]",
            "after = [\"bonnet\"]",
            RULE,
            "\"bonnet\"",
        );
        one(
            "checks.toml",
            "[[\"multimeter\"]]",
            "[[\"gauge\"]]",
            RULE,
            "\"relay_lamp\"",
        );
        let both = "hazards = [\"plug_removal\", \"noise\"]\nhow";
        one(
            "checks.toml",
            "hazards = [\"plug_removal\"]\nhow",
            both,
            RULE,
            "\"noise\"",
        );
        let more = "parts_cost = 4.0\naccess = [\"bonnet\"]";
        one("repairs.toml", "parts_cost = 4.0", more, RULE, "\"bonnet\"");
    }
}
