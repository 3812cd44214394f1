//! Free text of a shop into causes and work: phrases, negation, doubt, several at once.
//!
//! A part replaced is work, not a cause, unless the text says it helped. Must not invent: what
//! no phrase covers is counted and kept as text.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::text::folded;
use crate::knowledge::{Knowledge, Scope};

/// Shop phrases for causes: `phrase,cause,weight`.
const CAUSES: &str = include_str!("phrases/causes.csv");
/// Shop phrases for work: `phrase,repair`.
const WORK: &str = include_str!("phrases/work.csv");

/// One phrase; `{cyl}` stands for a number.
#[derive(Debug, Clone, PartialEq)]
pub struct Phrase {
    words: Vec<String>,
    /// The fault (`part.fault`) or repair it names.
    pub means: Arc<str>,
    /// How surely it names it; below one half the text counts as unsure.
    pub weight: f64,
}

/// Phrases, with how to match them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Phrases {
    list: Vec<Phrase>,
    /// Phrases by their first word, in order.
    first: HashMap<String, Vec<usize>>,
}

/// A phrase found in a text.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The fault or repair.
    pub means: Arc<str>,
    /// The cylinder named.
    pub cylinder: Option<u8>,
    /// The text says it was not that.
    pub negated: bool,
    /// The text is not sure.
    pub hedged: bool,
}

/// A text taken apart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Parsed {
    /// What was found, in order.
    pub found: Vec<Found>,
    /// Pieces no phrase covers, in order.
    pub unmapped: Vec<String>,
    /// Pieces that say nothing is known (`?`).
    pub unknown: usize,
}

const NOT: &[&str] = &[
    "not", "no", "isn't", "wasn't", "never", "nicht", "kein", "keine",
];
const UNSURE: &[&str] = &[
    "maybe",
    "poss",
    "possibly",
    "perhaps",
    "probably",
    "prob",
    "suspect",
    "suspected",
    "likely",
    "vielleicht",
];
const DONE: &[&str] = &[
    "renewed",
    "replaced",
    "changed",
    "new",
    "fitted",
    "swapped",
    "overhauled",
    "rebuilt",
    "repl",
];
const HELPED: &[&str] = &[
    "cured",
    "fixed",
    "better",
    "fine now",
    "ok now",
    "starts well",
    "solved",
];
const NO_HELP: &[&str] = &[
    "no change",
    "no chg",
    "no better",
    "same",
    "no difference",
    "no effect",
    "didn't help",
];
/// No word for an outcome is longer, blanks between its words let pass.
const LONGEST_OUTCOME: usize = 64;
const NOTHING: &[&str] = &[
    "?",
    "??",
    "unknown",
    "don't know",
    "not found",
    "nothing found",
    "none",
    "-",
    "n/a",
];

/// The text in words; a number after `#`, `no` or `cyl` is just a number.
fn words(text: &str) -> Vec<String> {
    let text = folded(text).replace(['#', '.', '(', ')', '"', ':', '!', '?'], " ");
    text.split([' ', '-'])
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

fn number(word: &str) -> Option<u8> {
    word.parse().ok().filter(|n| (1..=12).contains(n))
}

impl Phrase {
    fn new(text: &str, means: &str, weight: f64) -> Self {
        Self {
            words: words(text),
            means: means.into(),
            weight,
        }
    }

    /// The cylinder it names, if these words begin with it.
    fn begins(&self, words: &[String]) -> Option<Option<u8>> {
        if self.words.len() > words.len() {
            return None;
        }
        let mut cylinder = None;
        for (own, word) in self.words.iter().zip(words) {
            if own == "{cyl}" {
                cylinder = Some(number(word)?);
            } else if own != word && !plural(own, word) {
                return None;
            }
        }
        Some(cylinder)
    }
}

fn plural(one: &str, word: &str) -> bool {
    word.strip_suffix('s')
        .is_some_and(|w| w == one && w.len() > 2)
}

impl Phrases {
    /// The phrases for causes: our own, and what the knowledge files call each fault.
    #[must_use]
    pub fn causes(knowledge: &Knowledge) -> Self {
        let mut phrases = Self::default();
        phrases.add(CAUSES);
        for part in &knowledge.parts {
            for fault in &part.fault {
                let id = format!("{}.{}", part.id.get_ref(), fault.id.get_ref());
                phrases.list.push(Phrase::new(&fault.label, &id, 1.0));
                if part.scope == Scope::Cylinder {
                    phrases
                        .list
                        .push(Phrase::new(&format!("{} {{cyl}}", fault.label), &id, 1.0));
                }
                phrases.list.push(Phrase::new(&id, &id, 1.0));
            }
        }
        for word in &knowledge.words {
            if let Some(id) = the_fault(knowledge, word.means.get_ref()) {
                phrases
                    .list
                    .push(Phrase::new(word.word.get_ref(), &id, 1.0));
            }
        }
        phrases.index();
        phrases
    }

    /// The phrases for work.
    #[must_use]
    pub fn work() -> Self {
        let mut phrases = Self::default();
        phrases.add(WORK);
        phrases
    }

    /// Adds phrases of a file `phrase,cause[,cylinder_group][,weight]`, before all others;
    /// the lines that are none.
    pub fn add(&mut self, csv: &str) -> Vec<usize> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .from_reader(csv.as_bytes());
        let (mut added, mut wrong) = (Vec::new(), Vec::new());
        let mut weight_at = 2;
        for (at, row) in reader.records().enumerate() {
            let Ok(row) = row else {
                wrong.push(at + 1);
                continue;
            };
            if at == 0 && row.get(0) == Some("phrase") {
                weight_at = row
                    .iter()
                    .position(|c| c.trim() == "weight")
                    .unwrap_or(usize::MAX);
                continue;
            }
            let weight = row.get(weight_at).map(str::trim).filter(|w| !w.is_empty());
            let weight = weight.map_or(Some(1.0), |w| w.parse().ok());
            match (row.get(0), row.get(1), weight) {
                (Some(text), Some(means), Some(weight)) if !text.trim().is_empty() => {
                    added.push(Phrase::new(text, means.trim(), weight));
                }
                _ => wrong.push(at + 1),
            }
        }
        added.append(&mut self.list);
        self.list = added;
        self.index();
        wrong
    }

    /// Phrases that name nothing in `known`.
    pub fn strange(&self, known: impl Fn(&str) -> bool) -> Vec<&str> {
        self.list
            .iter()
            .map(|p| &*p.means)
            .filter(|m| !known(m))
            .collect()
    }

    /// Puts the phrases in the order of their first words.
    fn index(&mut self) {
        self.first.clear();
        for (at, phrase) in self.list.iter().enumerate() {
            if let Some(word) = phrase.words.first() {
                self.first.entry(word.clone()).or_default().push(at);
            }
        }
    }

    /// The longest phrase within a piece of text, the first of several.
    fn longest(&self, piece: &[String]) -> Option<(&Phrase, Option<u8>)> {
        let mut best: Option<(usize, Option<u8>)> = None;
        for from in 0..piece.len() {
            let word = piece[from].as_str();
            let one = word.strip_suffix('s').unwrap_or(word);
            let other = (one != word).then_some(one);
            for key in std::iter::once(word).chain(other) {
                for &at in self.first.get(key).into_iter().flatten() {
                    let length = |at: usize| self.list[at].words.len();
                    let better = best.is_none_or(|(b, _)| {
                        length(at) > length(b) || (length(at) == length(b) && at < b)
                    });
                    if better && let Some(cylinder) = self.list[at].begins(&piece[from..]) {
                        best = Some((at, cylinder));
                    }
                }
            }
        }
        best.map(|(at, cylinder)| (&self.list[at], cylinder))
    }

    /// The phrase within one piece, whatever it begins with.
    #[must_use]
    pub fn plain(&self, piece: &str) -> Option<Found> {
        let (phrase, cylinder) = self.longest(&words(piece))?;
        Some(Found {
            means: Arc::clone(&phrase.means),
            cylinder,
            negated: false,
            hedged: false,
        })
    }

    /// Takes one piece of a text apart.
    #[must_use]
    pub fn one(&self, piece: &str) -> Parsed {
        let mut parsed = Parsed::default();
        self.piece(piece, &mut parsed);
        parsed
    }

    /// The pieces of a text, each with the outcome that belongs to it.
    pub fn each(text: &str, mut take: impl FnMut(&str)) {
        let mut waiting: Option<String> = None;
        for piece in pieces(text) {
            let plain = if piece.len() <= LONGEST_OUTCOME {
                folded(piece)
            } else {
                String::new()
            };
            let outcome = NO_HELP.contains(&plain.as_str()) || HELPED.contains(&plain.as_str());
            match &mut waiting {
                // "renewed plugs, no change": the outcome belongs to what stands before it.
                Some(before) if outcome => {
                    before.push(' ');
                    before.push_str(&plain);
                }
                _ => {
                    if let Some(before) = waiting.replace(piece.to_owned()) {
                        take(&before);
                    }
                }
            }
        }
        if let Some(last) = waiting {
            take(&last);
        }
    }

    fn piece(&self, piece: &str, parsed: &mut Parsed) {
        let plain = folded(piece);
        if plain.is_empty() {
            return;
        }
        if NOTHING.contains(&plain.as_str()) {
            parsed.unknown += 1;
            return;
        }
        // "and" parts two causes only if both sides are known.
        if let Some((left, right)) = split_and(&plain)
            && self.longest(&words(left)).is_some()
            && self.longest(&words(right)).is_some()
        {
            self.piece(left, parsed);
            self.piece(right, parsed);
            return;
        }
        let all = words(&plain);
        let has = |list: &[&str]| {
            list.iter().any(|w| {
                plain.contains(w)
                    && w.split(' ')
                        .all(|p| all.iter().any(|a| a == p.trim_end_matches('.')))
            })
        };
        let first = all.first().map_or("", String::as_str);
        let helped = !has(NO_HELP) && has(HELPED);
        let no_help = has(NO_HELP);
        if DONE.contains(&first) && !helped && !no_help {
            parsed.unmapped.push(piece.trim().to_owned());
            return;
        }
        let Some((phrase, cylinder)) = self.longest(&all) else {
            parsed.unmapped.push(piece.trim().to_owned());
            return;
        };
        parsed.found.push(Found {
            means: Arc::clone(&phrase.means),
            cylinder,
            negated: NOT.contains(&first) || no_help || plain.contains("ruled out"),
            hedged: phrase.weight < 0.5 || has(UNSURE) || plain.ends_with('?'),
        });
    }
}

impl Parsed {
    /// Adds what another piece says.
    pub fn extend(&mut self, piece: &Self) {
        self.found.extend_from_slice(&piece.found);
        self.unmapped.extend_from_slice(&piece.unmapped);
        self.unknown += piece.unknown;
    }
}

/// Pieces between `+ & / , ;`, line ends, and dashes with blanks around them.
fn pieces(text: &str) -> impl Iterator<Item = &str> {
    let lines = text.split(['+', '&', '/', ',', ';']);
    lines
        .flat_map(|piece| piece.split(" - "))
        .flat_map(|p| p.split(" \u{2013} "))
        .map(str::trim)
}

/// The two sides of the first "and".
fn split_and(text: &str) -> Option<(&str, &str)> {
    text.split_once(" and ")
        .or_else(|| text.split_once(" und "))
}

/// The fault an identifier names: itself, or the only fault of a part.
fn the_fault(knowledge: &Knowledge, means: &str) -> Option<String> {
    if let Some((part, fault)) = means.split_once('.') {
        let part = knowledge.parts.iter().find(|p| p.id.get_ref() == part)?;
        return part
            .fault
            .iter()
            .any(|f| f.id.get_ref() == fault)
            .then(|| means.to_owned());
    }
    let part = knowledge.parts.iter().find(|p| p.id.get_ref() == means)?;
    match part.fault.as_slice() {
        [only] => Some(format!("{means}.{}", only.id.get_ref())),
        _ => None,
    }
}

/// Counts of pieces no phrase covers, most frequent first; bounded, so that memory stays flat.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Unmapped(BTreeMap<String, u64>);

impl Unmapped {
    /// Most different texts that are counted.
    const MOST: usize = 5000;

    /// Counts one.
    pub fn count(&mut self, text: &str) {
        let key: String = folded(text).chars().take(80).collect();
        if let Some(n) = self.0.get_mut(&key) {
            *n += 1;
        } else if self.0.len() < Self::MOST {
            self.0.insert(key, 1);
        }
    }

    /// Texts with their counts, most frequent first.
    #[must_use]
    pub fn ranked(&self) -> Vec<(&str, u64)> {
        let mut all: Vec<(&str, u64)> = self.0.iter().map(|(t, n)| (t.as_str(), *n)).collect();
        all.sort_by_key(|(text, n)| (std::cmp::Reverse(*n), *text));
        all
    }
}

#[cfg(test)]
mod tests {
    use super::super::memo::Memo;
    use super::*;
    use crate::knowledge::{KnowledgeFiles, load};

    fn read(text: &str) -> Vec<String> {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let parsed = Memo::default().causes(&Phrases::causes(&knowledge), text);
        let found = parsed.found.iter().map(|f| {
            let cylinder = f.cylinder.map_or(String::new(), |c| format!(":{c}"));
            let not = if f.negated { "not " } else { "" };
            let perhaps = if f.hedged { "perhaps " } else { "" };
            format!("{perhaps}{not}{}{cylinder}", f.means)
        });
        found
            .chain(parsed.unmapped.iter().map(|u| format!("? {u}")))
            .collect()
    }

    /// Expected: the readings a person makes of these shop notes (own judgement).
    #[test]
    fn shop_notes_are_taken_apart() {
        assert_eq!(read("plug 3 dead"), ["plug.dead:3"]);
        assert_eq!(read("feed nut on plug strip loose"), ["strip_joint.poor"]);
        assert_eq!(
            read("air leak at filter\r\nand plug 2 weak"),
            ["suction_line.draws_air", "plug.weak:2"]
        );
        assert_eq!(
            read("not plugs - battery cable"),
            ["not plug.dead", "crank_lead.poor"]
        );
        assert_eq!(
            read("plug 3 + air lk"),
            ["plug.dead:3", "suction_line.draws_air"]
        );
        assert_eq!(read("battery weak"), ["battery.tired"]);
        assert_eq!(read("renewed plugs, no chg"), ["not plug.dead"]);
        assert_eq!(read("renewed plugs"), ["? renewed plugs"]);
        assert_eq!(read("maybe lift pump?"), ["perhaps lift_pump.weak"]);
        assert!(read("?").is_empty());
        assert_eq!(read("blue moon"), ["? blue moon"]);
    }

    #[test]
    fn every_phrase_names_something() {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let fault = |id: &str| the_fault(&knowledge, id).is_some_and(|f| f == id);
        assert_eq!(
            Phrases::causes(&knowledge).strange(fault),
            Vec::<&str>::new()
        );
        let repair = |id: &str| knowledge.repairs.iter().any(|r| r.id.get_ref() == id);
        assert_eq!(Phrases::work().strange(repair), Vec::<&str>::new());
    }
}
