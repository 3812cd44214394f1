//! Reads the words of a job: one of a closed list, or an id of the knowledge by itself or by
//! another word for it.
//!
//! Must not know which fields a job has.

use std::ops::Range;

use super::names::Named;
use super::reader::Reader;
use super::suggest::{did_you_mean, plain};
use super::tree::Field;

impl Reader<'_> {
    /// One word of a closed list.
    pub(super) fn choice<T: Named>(&mut self, field: &Field) -> Option<T> {
        let text = self.text(field)?;
        let folded = plain(&text);
        let found = T::all().iter().copied().find(|v| v.word() == folded);
        if found.is_none() {
            let words: Vec<&str> = T::all().iter().map(|v| v.word()).collect();
            self.not_one_of(field, &field.name, &text, &words);
        }
        found
    }

    /// Says which words are allowed for `name`, and which may have been meant.
    pub(super) fn not_one_of(&mut self, field: &Field, name: &str, text: &str, words: &[&str]) {
        let what = format!("`{text}` is no state of `{name}`");
        let list = words.join(", ");
        let try_ = match did_you_mean(text, words.iter().copied()) {
            Some(word) => format!("did you mean `{word}`? one of: {list}"),
            None => format!("one of: {list}"),
        };
        self.problem(field.node.span.clone(), what, try_);
    }

    /// An id out of `known`, by itself or by another word for it.
    pub(super) fn id<'k>(
        &mut self,
        field: &Field,
        kind: &str,
        known: impl Iterator<Item = &'k str> + Clone,
    ) -> Option<String> {
        let text = self.text(field)?;
        if let Some(id) = self.resolve(&field.node.span, &text, known.clone()) {
            return Some(id);
        }
        self.unknown_id(field.node.span.clone(), kind, &text, known);
        None
    }

    pub(super) fn unknown_id<'k>(
        &mut self,
        span: Range<usize>,
        kind: &str,
        text: &str,
        known: impl Iterator<Item = &'k str>,
    ) {
        let try_ = match did_you_mean(text, known) {
            Some(id) => format!("did you mean `{id}`?"),
            None => format!("use the id of a {kind} from the vocabulary"),
        };
        self.problem(span, format!("there is no {kind} `{text}`"), try_);
    }

    /// The id meant by `text`: itself, spelled with blanks or capitals, or by a word of the
    /// vocabulary (which is noted).
    pub(super) fn resolve<'k>(
        &mut self,
        span: &Range<usize>,
        text: &str,
        mut known: impl Iterator<Item = &'k str> + Clone,
    ) -> Option<String> {
        let folded = plain(text);
        if let Some(id) = known.clone().find(|id| *id == text || *id == folded) {
            return Some(id.to_owned());
        }
        let knowledge = self.knowledge;
        let mut meanings = knowledge
            .words
            .iter()
            .filter(|w| plain(w.word.get_ref()) == folded)
            .map(|w| w.means.get_ref().as_str());
        let id = meanings.find_map(|m| known.find(|id| *id == m))?.to_owned();
        self.note(
            span.clone(),
            "WORD_READ_AS",
            format!("`{text}` is read as `{id}`"),
        );
        Some(id)
    }
}
