//! Rule: every figure says where it comes from and how firmly it is held.

use std::ops::Range;

use super::book::Book;

const RULE: &str = "origin";

/// A file, a place in it, and the source and strength stated there, if any.
type Stated<'a> = (usize, Range<usize>, (Option<&'a str>, Option<f64>));

/// Finds empty sources and strengths that are not over nought.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for (file, defaults) in k.defaults.iter().enumerate() {
        let own = (Some(defaults.source.as_str()), Some(defaults.strength));
        stated(book, file, 0..0, own);
    }
    let checks = book.file("checks.toml");
    let mut all: Vec<Stated<'_>> = Vec::new();
    for p in &k.parts {
        all.push((p.file, p.id.span(), (p.source.as_deref(), p.strength)));
    }
    for f in &k.functions {
        all.push((f.file, f.id.span(), (f.source.as_deref(), f.strength)));
        for g in &f.from {
            all.push((f.file, g.gives.span(), (g.source.as_deref(), g.strength)));
        }
    }
    for s in &k.signs {
        all.push((s.file, s.id.span(), (s.source.as_deref(), s.strength)));
        for r in &s.row {
            all.push((s.file, r.chance.span(), (r.source.as_deref(), r.strength)));
        }
        for l in &s.link {
            all.push((s.file, l.says.span(), (l.source.as_deref(), l.strength)));
        }
    }
    for c in &k.checks {
        all.push((c.file, c.id.span(), (c.source.as_deref(), c.strength)));
        for r in &c.row {
            all.push((c.file, c.id.span(), (r.source.as_deref(), r.strength)));
        }
    }
    for h in &k.hazards {
        all.push((checks, h.id.span(), (h.source.as_deref(), None)));
    }
    for r in &k.repairs {
        all.push((r.file, r.id.span(), (r.source.as_deref(), r.strength)));
    }
    for (file, at, origin) in all {
        stated(book, file, at, origin);
    }
}

fn stated(
    book: &mut Book<'_>,
    file: usize,
    at: Range<usize>,
    (source, strength): (Option<&str>, Option<f64>),
) {
    if source.is_some_and(|s| s.trim().is_empty()) {
        let what = "the source is empty".to_owned();
        let advice = "a published source, `common practice, no source` or `own judgement`";
        book.problem(RULE, file, at.clone(), what, advice);
    }
    if strength.is_some_and(|s| !(s > 0.0 && s.is_finite())) {
        let what = "the strength is not over nought".to_owned();
        let advice = "give how many jobs the figure is worth";
        book.problem(RULE, file, at, what, advice);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::one;

    #[test]
    fn an_empty_source_or_a_strength_of_nought_is_found() {
        let from = "copies = 0.6";
        let at = "\"relay_lamp\"";
        one("checks.toml", from, "copies = 0.6\nsource = \"\"", RULE, at);
        one(
            "checks.toml",
            from,
            "copies = 0.6\nstrength = 0.0",
            RULE,
            at,
        );
        one(
            "functions.toml",
            "source = \"own judgement\"",
            "source = \" \"",
            RULE,
            "",
        );
        one(
            "repairs.toml",
            "strength = 10.0",
            "strength = -1.0",
            RULE,
            "",
        );
        one(
            "checks.toml",
            "text = \"A plug snaps.\"",
            "text = \"A plug snaps.\"\nsource = \"\"",
            RULE,
            "\"plug_removal\"",
        );
    }
}
