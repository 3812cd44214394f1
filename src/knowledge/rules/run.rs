//! Runs every rule over the knowledge. Must not hold a rule itself.

use super::book::Book;
use super::{
    access_cycle, chances, drivers, duplicate_ids, fits_all, lengths, numbers, origin, repaired,
    safety, starting_chances, steps, systems, things, unknown_fault, unknown_states, words,
};
use crate::knowledge::files::KnowledgeFiles;
use crate::knowledge::load::Knowledge;
use crate::knowledge::problem::Problem;

/// Every rule, in the order in which their problems are listed.
const RULES: [fn(&mut Book<'_>); 17] = [
    duplicate_ids::rule,
    systems::rule,
    unknown_states::rule,
    drivers::rule,
    lengths::rule,
    chances::rule,
    fits_all::rule,
    numbers::rule,
    things::rule,
    access_cycle::rule,
    safety::rule,
    steps::rule,
    unknown_fault::rule,
    repaired::rule,
    origin::rule,
    words::rule,
    starting_chances::rule,
];

/// Runs every rule; problems in the order of the rules.
pub(in crate::knowledge) fn check_all(
    knowledge: &Knowledge,
    files: &KnowledgeFiles,
) -> Vec<Problem> {
    let mut book = Book::new(knowledge, files);
    for rule in RULES {
        rule(&mut book);
    }
    book.found
}
