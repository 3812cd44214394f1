//! Rule: every other word means an id there is.

use std::collections::BTreeSet;

use super::book::Book;

const RULE: &str = "words";

/// Finds words whose meaning does not exist.
pub(super) fn rule(book: &mut Book<'_>) {
    let k = book.knowledge;
    let file = book.file("vocabulary.toml");
    let ids: BTreeSet<&str> = k
        .checks
        .iter()
        .map(|c| &c.id)
        .chain(k.repairs.iter().map(|r| &r.id))
        .chain(k.access.iter().map(|a| &a.id))
        .chain(k.tools.iter().map(|t| &t.id))
        .map(|id| id.get_ref().as_str())
        .collect();
    for word in &k.words {
        let means = word.means.get_ref().as_str();
        let known = match means.split_once('.') {
            Some((variable, state)) => book.variables.has(variable, state),
            None => book.variables.knows(means) || ids.contains(means),
        };
        if !known {
            let what = format!("`{}` means nothing known: `{means}`", word.word.get_ref());
            let advice = "name a part, sign, check, repair or tool, or `part.fault`";
            book.problem(RULE, file, word.means.span(), what, advice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::knowledge::rules::sample::{found, one};

    #[test]
    fn a_word_without_a_meaning_is_found() {
        one(
            "vocabulary.toml",
            "means = \"relay\"",
            "means = \"delay\"",
            RULE,
            "\"delay\"",
        );
        one(
            "vocabulary.toml",
            "means = \"relay\"",
            "means = \"relay.wet\"",
            RULE,
            "\"relay.wet\"",
        );
    }

    #[test]
    fn faults_states_and_tools_are_meanings() {
        for meaning in ["relay.burnt", "smoke.white", "multimeter", "replace_relay"] {
            let to = format!("means = \"{meaning}\"");
            assert_eq!(found("vocabulary.toml", "means = \"relay\"", &to), []);
        }
    }
}
