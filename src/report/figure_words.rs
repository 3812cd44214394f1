//! What a figure is called, and how far it moves, for people.
//!
//! Must not reckon.

use crate::diagnosis::ranges::Figure;
use crate::knowledge::Knowledge;

/// What a figure is about, from its id.
#[must_use]
pub fn name(knowledge: &Knowledge, figure: &Figure) -> String {
    let words = figure.id.split(':').collect::<Vec<_>>();
    match &words[..] {
        ["root", fault] => format!("how common: {}", state(knowledge, fault)),
        ["given", part, driver, fault] => format!(
            "how common: {}, with {}",
            state(knowledge, &format!("{part}.{fault}")),
            state(knowledge, driver)
        ),
        ["function", id, "leak", out] => {
            format!(
                "{} {}, with nothing known wrong",
                function(knowledge, id),
                plain(out)
            )
        }
        ["function", id, from, out] => format!(
            "{} {}, from {}",
            function(knowledge, id),
            plain(out),
            state(knowledge, from)
        ),
        ["sign", id, from, rest @ ..] => format!(
            "{}: {}",
            sign(knowledge, id),
            plain(&join(&[state(knowledge, from)], rest))
        ),
        ["check", id, from, rest @ ..] => format!(
            "{}: {}",
            check(knowledge, id),
            plain(&join(&[state(knowledge, from)], rest))
        ),
        ["start", rest @ ..] => plain(&join(&["start".to_owned()], rest)),
        ["complaint", "leak"] => "a complaint with nothing wrong".to_owned(),
        ["complaint", from] => format!("a complaint because of {}", state(knowledge, from)),
        ["repair", id, rest @ ..] => plain(&join(&[(*id).to_owned()], rest)),
        ["engines", kind] => format!("how common this kind of engine is: {kind}"),
        ["told"] => "how far what is told can be relied on".to_owned(),
        ["wide_share"] => "how often a number is wild".to_owned(),
        _ => plain(&figure.id),
    }
}

/// How far a figure moves: `2.3 times commoner`, `odds 1.8 times smaller`, `up by 12`.
#[must_use]
pub fn moved(figure: &Figure, spreads: f64) -> String {
    let far = spreads * figure.spread;
    if figure.adds {
        let way = if far > 0.0 { "up" } else { "down" };
        return format!("{way} by {:.2}", far.abs());
    }
    let times = far.abs().exp();
    let chance = figure.value > 0.0 && figure.value < 1.0;
    match (figure.id.starts_with("root:"), chance, far > 0.0) {
        (true, _, true) => format!("{times:.1} times commoner"),
        (true, _, false) => format!("{times:.1} times rarer"),
        (false, true, true) => format!("odds {times:.1} times greater"),
        (false, true, false) => format!("odds {times:.1} times smaller"),
        (false, false, true) => format!("{times:.1} times greater"),
        (false, false, false) => format!("{times:.1} times smaller"),
    }
}

fn plain(word: &str) -> String {
    word.replace('_', " ")
}

fn join(first: &[String], rest: &[&str]) -> String {
    let all = first.iter().map(String::as_str).chain(rest.iter().copied());
    all.collect::<Vec<_>>().join(", ")
}

/// `part.fault` by its label, anything else as it is written.
fn state(knowledge: &Knowledge, id: &str) -> String {
    let fault = id.split_once('.').and_then(|(part, fault)| {
        let part = knowledge.parts.iter().find(|p| p.id.get_ref() == part)?;
        part.fault.iter().find(|f| f.id.get_ref() == fault)
    });
    match fault {
        Some(fault) => fault.label.clone(),
        None => plain(&id.replace('.', " ")),
    }
}

fn function(knowledge: &Knowledge, id: &str) -> String {
    let known = knowledge.functions.iter().find(|f| f.id.get_ref() == id);
    known.map_or_else(|| plain(id), |f| f.label.clone())
}

fn sign(knowledge: &Knowledge, id: &str) -> String {
    let known = knowledge.signs.iter().find(|s| s.id.get_ref() == id);
    known.map_or_else(|| plain(id), |s| s.label.clone())
}

fn check(knowledge: &Knowledge, id: &str) -> String {
    let known = knowledge.checks.iter().find(|c| c.id.get_ref() == id);
    known.map_or_else(|| plain(id), |c| c.label.clone())
}
