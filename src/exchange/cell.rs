//! One cell as a value of a job: a number with its unit, a word, or why there is none.
//!
//! Must not know records; what is doubtful is kept and marked, never guessed.

use std::collections::{BTreeMap, HashMap};

use super::dates;
use super::decimal::{self, Decimal, Trouble};
use super::issue::{Code, Level};
use super::numbers::Numbers;
use super::text::folded;
use super::tokens::{Token, token};
use crate::job::Absent;
use crate::job::Window;
use crate::units::{Dimension, Unit};

/// What a word of the map says.
#[derive(Debug, Clone, PartialEq)]
pub enum Meaning {
    /// A result, in the word of the job.
    State(String),
    /// Why there is none.
    Absent(Absent),
    /// A number with a comparison, in the unit of the column.
    Number(&'static str, f64),
}

/// What a cell was understood as.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing stands there.
    Empty,
    /// A result as the job writes it.
    Result(String),
    /// A number that is kept and not used, with the reason.
    Doubtful(String, String),
    /// Why there is none.
    Absent(Absent),
}

/// Something to say about a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// Code.
    pub code: Code,
    /// How bad.
    pub level: Level,
    /// What.
    pub message: String,
    /// What to try.
    pub hint: String,
}

impl Remark {
    /// A remark.
    #[must_use]
    pub fn new(
        code: Code,
        level: Level,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            code,
            level,
            message: message.into(),
            hint: hint.into(),
        }
    }
}

/// Units already looked up.
#[derive(Debug, Default)]
pub struct Units(HashMap<(Dimension, String), Option<Unit>>);

impl Units {
    /// The one unit a text means.
    pub fn find(&mut self, dimension: Dimension, text: &str) -> Option<Unit> {
        const MOST: usize = 1000;
        let key = (dimension, text.to_owned());
        if let Some(known) = self.0.get(&key) {
            return *known;
        }
        let one = |text: &str| match Unit::meant_by(dimension, text).as_slice() {
            [unit] => Some(*unit),
            _ => None,
        };
        let found = one(text).or_else(|| one(text.trim_end_matches(['.', ','])));
        if self.0.len() < MOST {
            self.0.insert(key, found);
        }
        found
    }
}

/// What a word says, if it is one: by the map, as a state, or as a common token.
pub(super) fn word(
    text: &str,
    words: &BTreeMap<String, Meaning>,
    states: &BTreeMap<String, String>,
    remarks: &mut Vec<Remark>,
    numbers: Option<&Numbers>,
) -> Option<Value> {
    let plain = folded(text);
    match words.get(&plain) {
        Some(Meaning::State(state)) => return Some(Value::Result(state.clone())),
        Some(Meaning::Absent(absent)) => return Some(Value::Absent(*absent)),
        Some(Meaning::Number(cmp, number)) => {
            let unit = numbers.and_then(|n| n.unit).map_or("", |u| u.symbol());
            return Some(Value::Result(
                format!("{cmp} {number} {unit}").trim().to_owned(),
            ));
        }
        None => {}
    }
    if let Some(state) = states.get(&plain) {
        return Some(Value::Result(state.clone()));
    }
    if let Some(off) = numbers.and_then(|n| n.off_scale.as_ref())
        && folded(&off.replace('_', " ")) == plain
    {
        return Some(Value::Result(off.clone()));
    }
    match token(&plain)? {
        Token::Absent(absent) => Some(Value::Absent(absent)),
        Token::OffScale => Some(match numbers.and_then(|n| n.off_scale.clone()) {
            Some(name) => Value::Result(name),
            None if numbers.is_some() => Value::Absent(Absent::NoReading),
            None => return None,
        }),
        Token::SheetError => {
            let what = format!("`{text}` is an error text of a spreadsheet");
            remarks.push(Remark::new(
                Code::DamagedBySheet,
                Level::Cell,
                what,
                "look the value up in the source",
            ));
            Some(Value::Absent(Absent::Unreadable))
        }
    }
}

/// Understands one of some words.
pub fn state(
    text: &str,
    words: &BTreeMap<String, Meaning>,
    states: &BTreeMap<String, String>,
    remarks: &mut Vec<Remark>,
) -> Value {
    if text.is_empty() {
        return Value::Empty;
    }
    if let Some(value) = word(text, words, states, remarks, None) {
        return value;
    }
    let what = format!("no word list says what `{text}` means");
    let mut known: Vec<&str> = states.values().map(String::as_str).collect();
    known.dedup();
    known.sort_unstable();
    known.dedup();
    let hint = format!(
        "add it to `words` of this column: one of {}",
        known.join(", ")
    );
    remarks.push(Remark::new(Code::TextUnmapped, Level::Cell, what, hint));
    Value::Absent(Absent::Unreadable)
}

/// Understands a bare number between two bounds; currency signs beside it are let pass.
pub fn bare(
    text: &str,
    numbers: (Decimal, Option<char>),
    whole: bool,
    bounds: Window,
    remarks: &mut Vec<Remark>,
) -> Value {
    let text = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '€' | '$' | '£'));
    if text.is_empty() {
        return Value::Empty;
    }
    if let Some(Token::Absent(absent)) = token(&folded(text)) {
        return Value::Absent(absent);
    }
    let cut = decimal::cut(text, numbers.1);
    let behind =
        |rest: &str| rest.chars().count() <= 4 && !rest.contains(|c: char| c.is_ascii_digit());
    let Some(cut) = cut.filter(|c| c.cmp.is_empty() && behind(c.rest)) else {
        return unreadable(not_a_number(text), remarks);
    };
    let number = match decimal::plain(cut.number, numbers.0, numbers.1) {
        Ok(number) => number,
        Err(trouble) => return unreadable(number_trouble(text, trouble), remarks),
    };
    match number.parse::<f64>() {
        Ok(n) if (bounds.0..=bounds.1).contains(&n) && (!whole || n.fract() == 0.0) => {
            Value::Result(format!("{n}"))
        }
        _ => {
            let what = format!("{number} is outside {} to {}", bounds.0, bounds.1);
            remarks.push(Remark::new(
                Code::OutOfWindow,
                Level::Cell,
                what,
                "look at the figure",
            ));
            Value::Absent(Absent::Unreadable)
        }
    }
}

pub(super) fn unreadable(remark: Remark, remarks: &mut Vec<Remark>) -> Value {
    remarks.push(remark);
    Value::Absent(Absent::Unreadable)
}

pub(super) fn not_a_number(text: &str) -> Remark {
    match dates::damaged(text) {
        Some(was) => Remark::new(
            Code::DamagedBySheet,
            Level::Cell,
            format!(
                "`{text}` looks like {was} turned into a date by a spreadsheet; kept as unreadable"
            ),
            "look the value up in the source; where repeats stand in one cell, state `repeat`",
        ),
        None => Remark::new(
            Code::NumberBad,
            Level::Cell,
            format!("`{text}` is no number"),
            "correct the cell, or add it to `words` of this column",
        ),
    }
}

pub(super) fn number_trouble(text: &str, trouble: Trouble) -> Remark {
    match trouble {
        Trouble::NotANumber => not_a_number(text),
        Trouble::MustBeStated => Remark::new(
            Code::MustBeStated,
            Level::Cell,
            format!("`{text}` can be read with a decimal or a thousands sign"),
            "state `decimal` or `thousands` for this column in the map",
        ),
    }
}
