//! Rule: no id stands twice. Parts, functions, signs and what the network makes share names.

use std::collections::BTreeSet;
use std::ops::Range;

use super::book::Book;
use super::variables::Variables;

const RULE: &str = "duplicate_ids";

/// Finds every second use of an id.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let (checks, words) = (book.file("checks.toml"), book.file("vocabulary.toml"));
    let variables = k
        .parts
        .iter()
        .map(|p| (p.file, &p.id))
        .chain(k.functions.iter().map(|f| (f.file, &f.id)))
        .chain(k.signs.iter().map(|s| (s.file, &s.id)));
    let made: BTreeSet<&str> = Variables::made().collect();
    twice(book, made, variables);
    let none = BTreeSet::new;
    twice(book, none(), k.checks.iter().map(|c| (c.file, &c.id)));
    twice(book, none(), k.access.iter().map(|a| (checks, &a.id)));
    twice(book, none(), k.tools.iter().map(|t| (checks, &t.id)));
    twice(book, none(), k.hazards.iter().map(|h| (checks, &h.id)));
    twice(book, none(), k.repairs.iter().map(|r| (r.file, &r.id)));
    twice(book, none(), k.words.iter().map(|w| (words, &w.word)));
    for part in &k.parts {
        let sound = BTreeSet::from(["sound"]);
        twice(book, sound, part.fault.iter().map(|f| (part.file, &f.id)));
    }
}

fn twice<'a>(
    book: &mut Book<'_>,
    mut seen: BTreeSet<&'a str>,
    ids: impl Iterator<Item = (usize, &'a crate::knowledge::Spanned<String>)>,
) {
    for (file, id) in ids {
        if !seen.insert(id.get_ref()) {
            let span: Range<usize> = id.span();
            let what = format!("`{}` stands here a second time", id.get_ref());
            book.problem(RULE, file, span, what, "give one of them another id");
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::knowledge::rules::sample::one;

    #[test]
    fn a_second_id_is_found_within_its_kind() {
        let quoted = |s: &str| format!("\"{s}\"");
        let at = quoted("relay_lamp");
        one(
            "checks.toml",
            "\"relay_drop\"",
            "\"relay_lamp\"",
            super::RULE,
            &at,
        );
        let at = quoted("covers");
        one(
            "checks.toml",
            "\"multimeter\"\nlabel",
            "\"multimeter\"\nlabel = \"m\"\n[[access]]\nid = \"covers\"\ncode = \"A1\"\nminutes = 1.0\nstays_open = true\nlabel",
            super::RULE,
            &at,
        );
    }
}
