//! Rule: chances lie between nought and one, and those of a row add to one.

use std::ops::Range;

use super::book::Book;
use crate::knowledge::sign::SignLink;

const RULE: &str = "chances";
/// How far the sum of a row may be from one.
const WITHIN: f64 = 1e-9;

/// Finds every chance that is none.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    for p in &k.parts {
        for row in p.given_rows.values() {
            single(book, p.file, p.id.span(), row);
            single(book, p.file, p.id.span(), &[row.iter().sum()]);
        }
        for share in p.fault.iter().filter_map(|f| f.part_of_code) {
            single(book, p.file, p.id.span(), &[share]);
        }
    }
    for f in &k.functions {
        row(book, f.file, &f.leak);
        f.from.iter().for_each(|g| row(book, f.file, &g.gives));
    }
    for s in &k.signs {
        s.row.iter().for_each(|r| row(book, s.file, &r.chance));
        s.from.iter().for_each(|g| row(book, s.file, &g.gives));
        links(book, s.file, &s.link);
    }
    let starts = book.file("starts.toml");
    links(book, starts, &k.starts.complaint.link);
    for c in &k.checks {
        for r in &c.row {
            r.chance.iter().for_each(|list| row(book, c.file, list));
            single(book, c.file, c.id.span(), r.off_scale.as_slice());
        }
        links(book, c.file, &c.link);
        single(book, c.file, c.id.span(), &[c.copies]);
        let risk = c.risk.as_ref().map(|r| r.chance);
        single(book, c.file, c.id.span(), risk.as_slice());
    }
    let checks = book.file("checks.toml");
    for a in &k.access {
        let risk = a.risk.as_ref().map(|r| r.chance);
        single(book, checks, a.id.span(), risk.as_slice());
    }
    for r in &k.repairs {
        single(book, r.file, r.id.span(), &[r.bad_new]);
        for fix in &r.fixes {
            single(book, r.file, fix.fault.span(), &[fix.surely]);
        }
    }
}

fn row(book: &mut Book<'_>, file: usize, list: &crate::knowledge::Spanned<Vec<f64>>) {
    single(book, file, list.span(), list.get_ref());
    adds(book, file, list.span(), list.get_ref().iter().sum());
}

fn links(book: &mut Book<'_>, file: usize, all: &[SignLink]) {
    for link in all {
        single(book, file, link.state.span(), &[link.speaks]);
        let says: Vec<f64> = link.says.get_ref().values().copied().collect();
        single(book, file, link.says.span(), &says);
        adds(book, file, link.says.span(), says.iter().sum());
    }
}

fn single(book: &mut Book<'_>, file: usize, at: Range<usize>, list: &[f64]) {
    for chance in list {
        if !(0.0..=1.0 + WITHIN).contains(chance) {
            let what = format!("{chance} is no chance");
            book.problem(RULE, file, at.clone(), what, "give a figure from 0 to 1");
        }
    }
}

fn adds(book: &mut Book<'_>, file: usize, at: Range<usize>, sum: f64) {
    if (sum - 1.0).abs() > WITHIN || sum.is_nan() {
        let what = format!("the chances add to {sum}");
        book.problem(RULE, file, at, what, "make them add to 1");
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::{found, one};

    #[test]
    fn a_row_that_does_not_add_to_one_is_found() {
        one(
            "functions.toml",
            "[0.1, 0.9]",
            "[0.1, 0.8]",
            RULE,
            "[0.1, 0.8]",
        );
        one(
            "starts.toml",
            "[0.2, 0.8]",
            "[0.2, 0.79]",
            RULE,
            "[0.2, 0.79]",
        );
        one(
            "checks.toml",
            "[0.95, 0.05]",
            "[0.95, 0.06]",
            RULE,
            "[0.95, 0.06]",
        );
        one(
            "starts.toml",
            "white = 1.0",
            "white = 0.5",
            RULE,
            "{ white = 0.5 }",
        );
    }

    #[test]
    fn a_chance_out_of_bounds_is_found_even_where_the_row_adds_up() {
        let problems = found("checks.toml", "[0.95, 0.05]", "[1.25, -0.25]");
        let each = (RULE, "[1.25, -0.25]".to_owned());
        assert_eq!(problems, [each.clone(), each]);
        one(
            "repairs.toml",
            "surely = 0.98",
            "surely = 98.0",
            RULE,
            "\"relay.burnt\"",
        );
        one(
            "checks.toml",
            "copies = 0.6",
            "copies = 60.0",
            RULE,
            "\"relay_lamp\"",
        );
    }
}
