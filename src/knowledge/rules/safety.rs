//! Rule of safety: whoever is told to open injection lines or pull plugs is told the danger
//! first, in the check itself.

use super::book::Book;

const RULE: &str = "safety";
/// Access groups and tools, and the caution that must stand at a check that uses them.
const MUST: [(&str, &str); 5] = [
    ("injector_lines", "fuel_injection"),
    ("injectors_out", "fuel_injection"),
    ("line_spanner", "fuel_injection"),
    ("injector_tester", "fuel_injection"),
    ("plugs_out", "plug_removal"),
];

/// Finds checks, repairs and access groups that lack the caution.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let file = book.file("checks.toml");
    let names = |list: &[crate::knowledge::Spanned<String>]| -> Vec<String> {
        list.iter().map(|n| n.get_ref().clone()).collect()
    };
    let checks = k.checks.iter().map(|c| {
        let mut uses = names(&c.access);
        uses.extend(c.tools.iter().flatten().cloned());
        (c.file, &c.id, uses, names(&c.hazards))
    });
    let repairs = k
        .repairs
        .iter()
        .map(|r| (r.file, &r.id, names(&r.access), names(&r.hazards)));
    let access = k
        .access
        .iter()
        .map(|a| (file, &a.id, vec![a.id.get_ref().clone()], names(&a.hazards)));
    for (file, id, uses, hazards) in checks.chain(repairs).chain(access) {
        let mut lacking: Vec<&str> = MUST
            .iter()
            .filter(|(thing, caution)| {
                uses.iter().any(|u| u == thing) && !hazards.iter().any(|h| h == caution)
            })
            .map(|(_, caution)| *caution)
            .collect();
        lacking.dedup();
        for caution in lacking {
            let what = format!("`{}` lacks the caution `{caution}`", id.get_ref());
            let advice = "put it into `hazards`, so that it is said before the steps";
            book.problem(RULE, file, id.span(), what, advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn pulling_plugs_or_opening_lines_without_the_caution_is_found() {
        let from = "cold = \"keeps\"\nhazards = [\"plug_removal\"]";
        one(
            "checks.toml",
            from,
            "cold = \"keeps\"",
            RULE,
            "\"relay_lamp\"",
        );
        let from = "stays_open = false\nhazards = [\"plug_removal\"]";
        one(
            "checks.toml",
            from,
            "stays_open = false",
            RULE,
            "\"plugs_out\"",
        );
        let from = "parts_cost = 4.0";
        let to = "parts_cost = 4.0\naccess = [\"plugs_out\"]\nhazards = [\"fuel_injection\"]";
        one("repairs.toml", from, to, RULE, "\"replace_relay\"");
    }
}
