//! Rule: every part, check and repair belongs to a system that has a file.

use super::book::Book;
use crate::knowledge::parsed::SYSTEMS;

const RULE: &str = "systems";

/// Finds every system that is not on the list.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let parts = k.parts.iter().map(|p| (p.file, &p.id, &p.system));
    let checks = k.checks.iter().map(|c| (c.file, &c.id, &c.system));
    let repairs = k.repairs.iter().map(|r| (r.file, &r.id, &r.system));
    for (file, id, system) in parts.chain(checks).chain(repairs) {
        if !SYSTEMS.contains(&system.as_str()) {
            let what = format!("`{}` belongs to no known system: `{system}`", id.get_ref());
            let advice = format!("one of {}", SYSTEMS.join(", "));
            book.problem(RULE, file, id.span(), what, &advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::knowledge::rules::sample::one;

    #[test]
    fn an_unknown_or_empty_system_is_found() {
        one(
            "checks.toml",
            "system = \"preheat\"",
            "system = \"preheating\"",
            super::RULE,
            "\"relay_lamp\"",
        );
        one(
            "repairs.toml",
            "system = \"preheat\"",
            "system = \"\"",
            super::RULE,
            "\"replace_relay\"",
        );
    }
}
