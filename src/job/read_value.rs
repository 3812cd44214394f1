//! What was typed as a result, understood: a state, a number, an off-scale result or why
//! there is none.
//!
//! Must not judge a number beyond the window of belief.

use super::reader::Reader;
use super::reading::{Absent, Measured, ReadingValue};
use super::suggest::plain;
use super::tree::{Field, Value};
use crate::knowledge::{Check, CheckKind, Sign};
use crate::units::{Dimension, Parsed, Quantity, UnitError};

/// Words of results that lie off the end of a scale.
const OFF_SCALE: &[&str] = &[
    "ol",
    "o.l",
    "o.l.",
    "open",
    "inf",
    "infinite",
    "∞",
    "over_range",
    "off_scale",
    "no_glow",
];

/// Short words of the states other than measured, as wide tables write them.
const SHORT: &[(&str, Absent)] = &[
    ("na", Absent::NotRecorded),
    ("nt", Absent::NotTested),
    ("ct", Absent::CouldNotTest),
    ("nr", Absent::NoReading),
    ("ok", Absent::JudgedNormal),
    ("looked_normal", Absent::JudgedNormal),
    ("couldn't_test", Absent::CouldNotTest),
];

/// The state other than measured that a word names.
fn absent(text: &str) -> Option<ReadingValue> {
    let folded = plain(text);
    let short = SHORT.iter().find(|(w, _)| *w == folded).map(|(_, a)| *a);
    Absent::from_id(&folded).or(short).map(ReadingValue::from)
}

/// Whether a text starts like a number, so that a complaint about its unit helps most.
fn looks_like_a_number(text: &str) -> bool {
    let text = text.trim_start_matches([' ', '<', '>', '=', '~', '≤', '≥', '-', '+', '−']);
    text.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',')
}

impl Reader<'_> {
    /// The result as typed: a text, or a bare number or truth in the spelling of the file.
    fn typed(&mut self, field: &Field) -> Option<String> {
        match &field.node.value {
            Value::Text(text) => Some(text.clone()),
            Value::Whole(_) | Value::Number(_) | Value::Truth(_) => {
                Some(self.text.get(field.node.span.clone())?.to_owned())
            }
            other => {
                let what = format!("`{}` is {}, not a result", field.name, other.kind());
                self.problem(
                    field.node.span.clone(),
                    what,
                    "write the result as a text, such as \"8.4 s\"",
                );
                None
            }
        }
    }

    /// A state named by itself, by another word, or as `true` and `false` for yes and no.
    fn state(
        &mut self,
        field: &Field,
        text: &str,
        owner: &str,
        states: &[String],
    ) -> Option<String> {
        let yes_no = match text {
            "true" => "yes",
            "false" => "no",
            other => other,
        };
        if states.iter().any(|s| s == yes_no) {
            return Some(yes_no.to_owned());
        }
        // No word of the vocabulary is a number; most results are, so do not go through it.
        if looks_like_a_number(text) {
            return None;
        }
        let known = states.iter().map(String::as_str);
        if let Some(state) = self.resolve(&field.node.span, yes_no, known) {
            return Some(state);
        }
        // A word of the vocabulary may name a state together with its owner.
        let full: Vec<String> = states.iter().map(|s| format!("{owner}.{s}")).collect();
        let found = self.resolve(&field.node.span, text, full.iter().map(String::as_str))?;
        Some(found[owner.len() + 1..].to_owned())
    }

    /// What a sign was seen to be, and what was typed.
    pub(super) fn sign_value(
        &mut self,
        field: &Field,
        sign: &Sign,
    ) -> Option<(ReadingValue, String)> {
        let typed = self.typed(field)?;
        let id = sign.id.get_ref();
        if let Some(state) = self.state(field, &typed, id, &sign.states) {
            return Some((ReadingValue::Measured(Measured::State(state)), typed));
        }
        if let Some(value) = absent(&typed) {
            return Some((value, typed));
        }
        if sign.seconds.is_some() && looks_like_a_number(&typed) {
            let number = self.measure(field, &typed, Dimension::Time)?;
            return Some((ReadingValue::Measured(Measured::Number(number)), typed));
        }
        self.wrong_state(field, id, &typed, &sign.states, sign.seconds.is_some());
        None
    }

    fn wrong_state(
        &mut self,
        field: &Field,
        owner: &str,
        typed: &str,
        states: &[String],
        timed: bool,
    ) {
        let mut words: Vec<&str> = states.iter().map(String::as_str).collect();
        if timed {
            words.push("a time such as `6 s`");
        }
        self.not_one_of(field, owner, typed, &words);
    }

    fn measure(&mut self, field: &Field, typed: &str, dimension: Dimension) -> Option<Parsed> {
        match Quantity::parse(typed, dimension, None) {
            Ok(parsed) => Some(parsed),
            Err(error) => {
                self.unit_error(&field.node.span, typed, &error);
                None
            }
        }
    }

    /// What a check gave, and what was typed.
    pub(super) fn check_value(
        &mut self,
        field: &Field,
        check: &Check,
    ) -> Option<(ReadingValue, String)> {
        let typed = self.typed(field)?;
        let id = check.id.get_ref();
        let states = match check.kind {
            CheckKind::States => &check.states,
            CheckKind::Number => &check.bound_names,
        };
        if let Some(state) = self.state(field, &typed, id, states) {
            return Some((ReadingValue::Measured(Measured::State(state)), typed));
        }
        if let Some(value) = self.off_scale(field, check, &typed) {
            return Some((value, typed));
        }
        if let Some(value) = absent(&typed) {
            return Some((value, typed));
        }
        if check.kind == CheckKind::States {
            self.wrong_state(field, id, &typed, states, false);
            return None;
        }
        let quantity = check.quantity.as_ref().map(|q| q.get_ref().as_str());
        let Some(dimension) = quantity.and_then(Dimension::from_name) else {
            self.problem(
                field.node.span.clone(),
                format!("the knowledge files do not say what `{id}` measures"),
                "give the check a `quantity` in checks.toml",
            );
            return None;
        };
        let number = match Quantity::parse(&typed, dimension, None) {
            Ok(number) => number,
            Err(error) => {
                self.number_error(field, check, &typed, &error);
                return None;
            }
        };
        Some((ReadingValue::Measured(Measured::Number(number)), typed))
    }

    /// A word that is no number: say which words would do. Else what is wrong with the number.
    fn number_error(&mut self, field: &Field, check: &Check, typed: &str, error: &UnitError) {
        if looks_like_a_number(typed) || typed.trim().is_empty() {
            self.unit_error(&field.node.span, typed, error);
            return;
        }
        let words: Vec<&str> = check
            .off_scale
            .iter()
            .chain(&check.bound_names)
            .map(String::as_str)
            .chain(Absent::ALL.iter().map(|a| a.id()))
            .collect();
        let what = format!("`{typed}` is no result of `{}`", check.id.get_ref());
        let try_ = format!("{}, or one of: {}", error.hint(), words.join(", "));
        self.problem(field.node.span.clone(), what, try_);
    }

    /// `OL`, `open`, `no glow`: off the end where the check has such a result, else no reading.
    fn off_scale(&mut self, field: &Field, check: &Check, typed: &str) -> Option<ReadingValue> {
        let span = &field.node.span;
        if looks_like_a_number(typed) {
            return None;
        }
        if let Some(name) = &check.off_scale {
            let known = std::iter::once(name.as_str());
            if self.resolve(span, typed, known).is_some() {
                return Some(ReadingValue::Measured(Measured::OffScale(name.clone())));
            }
        }
        if !OFF_SCALE.contains(&plain(typed).as_str()) {
            return None;
        }
        if let Some(name) = &check.off_scale {
            let what = format!("`{typed}` is read as `{name}`");
            self.note(span.clone(), "WORD_READ_AS", what);
            return Some(ReadingValue::Measured(Measured::OffScale(name.clone())));
        }
        if check.kind == CheckKind::States {
            return None;
        }
        let what = format!(
            "`{}` has no result off its scale; `{typed}` is read as no reading",
            check.id.get_ref()
        );
        self.note(span.clone(), "NO_RESULT_OFF_SCALE", what);
        Some(ReadingValue::NoReading)
    }
}
