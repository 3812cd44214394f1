//! The columns of values of a map: units, signs, words, repeats.
//!
//! Must not read cells.

use std::collections::BTreeMap;

use super::cell::Meaning;
use super::decimal::Decimal;
use super::headings;
use super::lay::Maker;
use super::map::{ColumnSaid, Key, problem_at};
use super::numbers::Numbers;
use super::plan::{Column, Reads, Repeat, ValueColumn};
use super::target::{self, Place, Shape};
use super::text::folded;
use super::windows;
use crate::job::Absent;
use crate::units::{Dimension, Unit};

/// Whether a column of this shape can hold the state.
fn may_be(shape: &Shape, state: &str) -> bool {
    match shape {
        Shape::Free => true,
        Shape::Bare { .. } => false,
        Shape::States { states, .. } => states.values().any(|s| s == state),
        Shape::Quantity {
            states, off_scale, ..
        } => states.values().any(|s| s == state) || off_scale.as_deref() == Some(state),
    }
}

impl Maker<'_> {
    pub(super) fn values(
        &mut self,
        pattern: &Key,
        said: &ColumnSaid,
        cylinders: Option<u8>,
        columns: &mut [Column],
    ) {
        let matching: Vec<(usize, Option<u8>, Option<u32>)> = self
            .headings
            .iter()
            .enumerate()
            .filter_map(|(at, h)| headings::fits(pattern.get_ref(), h).map(|(c, t)| (at, c, t)))
            .collect();
        if matching.is_empty() {
            self.missing(pattern.span().start, pattern.get_ref());
            return;
        }
        let name = said.to.as_ref().map_or("extra", |t| t.get_ref().as_str());
        let spot = said
            .to
            .as_ref()
            .map_or(pattern.span().start, |t| t.span().start);
        let Some((place, shape)) = target::find(self.knowledge, name) else {
            self.problem(
                spot,
                format!("nothing is called `{name}`"),
                "use an id from `hardstart vocab checks` or `signs`, or `extra`",
            );
            return;
        };
        for (at, cylinder, trial) in matching {
            let cylinder = cylinder.or(said.cylinder);
            if let Place::Reading { check, each } = &place {
                let one = cylinder.or((cylinders == Some(1)).then_some(1));
                let in_cell = said
                    .repeat_is
                    .as_ref()
                    .is_some_and(|r| r.get_ref() == "cylinders");
                let cylinder_wrong = match (each, cylinder) {
                    (true, None) => one.is_none() && !in_cell,
                    (false, Some(_)) => true,
                    (_, Some(c)) => c < 1 || c > cylinders.unwrap_or(12),
                    _ => false,
                };
                if cylinder_wrong {
                    let what = match (each, cylinder) {
                        (false, _) => {
                            format!("`{check}` is for the whole engine, not for a cylinder")
                        }
                        (true, None) => format!("`{check}` is for one cylinder, and none is named"),
                        (true, Some(c)) => format!("`{check}` at cylinder {c}: no such cylinder"),
                    };
                    self.problem(spot, what, "write {cyl} in the heading, or `cylinder = 1`");
                    return;
                }
            }
            columns[at] = match place {
                Place::Extra => Column::Extra,
                Place::Ignored => Column::Ignored,
                _ => {
                    let one = (cylinders == Some(1)).then_some(1);
                    let each = matches!(place, Place::Reading { each: true, .. });
                    let value = ValueColumn {
                        place: place.clone(),
                        reads: self.reads(at, said, &shape),
                        absent: matches!(
                            shape,
                            Shape::Quantity { absent: true, .. }
                                | Shape::States { absent: true, .. }
                        ),
                        words: self.words(said, pattern, &shape),
                        cylinder: if each { cylinder.or(one) } else { None },
                        trial,
                        repeat: self.repeat(said),
                    };
                    Column::Value(Box::new(value))
                }
            };
        }
    }

    fn repeat(&mut self, said: &ColumnSaid) -> Option<Repeat> {
        let separator = said.repeat.clone().filter(|s| !s.is_empty())?;
        let cylinders = match &said.repeat_is {
            None => false,
            Some(is) if is.get_ref() == "trials" => false,
            Some(is) if is.get_ref() == "cylinders" => true,
            Some(is) => {
                self.problem(
                    is.span().start,
                    format!("repeats are not `{}`", is.get_ref()),
                    "write \"trials\" or \"cylinders\"",
                );
                false
            }
        };
        Some(Repeat {
            separator,
            cylinders,
        })
    }

    fn words(
        &mut self,
        said: &ColumnSaid,
        pattern: &Key,
        shape: &Shape,
    ) -> BTreeMap<String, Meaning> {
        let mut words = BTreeMap::new();
        for (word, value) in &said.words {
            let meaning = match value {
                toml::Value::String(text) => match Absent::from_id(text) {
                    Some(absent) => Some(Meaning::Absent(absent)),
                    None => may_be(shape, text).then(|| Meaning::State(text.clone())),
                },
                toml::Value::Table(table) => {
                    let number = table
                        .get("value")
                        .and_then(|v| v.as_float().or_else(|| v.as_integer().map(|n| n as f64)));
                    let cmp = match table.get("cmp").and_then(toml::Value::as_str) {
                        Some(">") => Some(">"),
                        Some("<") => Some("<"),
                        Some("~") => Some("~"),
                        Some("=") | None => Some(""),
                        Some(_) => None,
                    };
                    number.zip(cmp).map(|(n, c)| Meaning::Number(c, n))
                }
                _ => None,
            };
            match meaning {
                Some(meaning) => {
                    words.insert(folded(word), meaning);
                }
                None => {
                    let what = format!("the word `{word}` of this column means nothing");
                    self.problem(
                        pattern.span().start,
                        what,
                        "write a state, a reason, or { cmp = \">\", value = 60 }",
                    );
                }
            }
        }
        words
    }

    fn decimal(&mut self, at: usize, said: &ColumnSaid) -> (Decimal, Option<char>) {
        let stated = said.decimal.as_ref().or(self.map.file.decimal.as_ref());
        let stated = stated.and_then(|d| match d.get_ref().as_str() {
            "," => Some(Decimal::Comma),
            "." => Some(Decimal::Dot),
            other => {
                let what = format!("`{other}` is no decimal sign");
                self.problems.push(problem_at(
                    self.text,
                    d.span().start,
                    what,
                    "write \",\" or \".\"",
                ));
                None
            }
        });
        let thousands = said.thousands.as_ref().or(self.map.file.thousands.as_ref());
        let thousands = thousands.and_then(|t| t.chars().next());
        let seen = self.seen.get(at).map(|s| s.numbers).unwrap_or_default();
        (seen.decide(stated), thousands)
    }

    fn reads(&mut self, at: usize, said: &ColumnSaid, shape: &Shape) -> Reads {
        let (decimal, thousands) = self.decimal(at, said);
        match shape {
            Shape::Free => Reads::Free,
            Shape::States { states, .. } => Reads::States(states.clone()),
            Shape::Bare { whole, low, high } => {
                Reads::Bare((decimal, thousands), *whole, (*low, *high))
            }
            Shape::Quantity {
                dimension,
                window,
                off_scale,
                states,
                absent,
            } => {
                let (unit, heading) = self.unit(at, said, *dimension);
                let numbers = Numbers {
                    decimal,
                    thousands,
                    dimension: *dimension,
                    unit,
                    heading,
                    window: windows::of(window, *dimension, self.volts),
                    counter: matches!(window.as_str(), "hours" | "distance" | "soak" | "work"),
                    guess_units: said.guess_units,
                    turn_sign: said.turn_sign,
                    day_fraction: said.day_fraction,
                    plain: !absent,
                    off_scale: off_scale.clone(),
                };
                Reads::Numbers(Box::new(numbers), states.clone())
            }
        }
    }

    /// Unit of bare numbers, and whether the heading states it.
    fn unit(&mut self, at: usize, said: &ColumnSaid, dimension: Dimension) -> (Option<Unit>, bool) {
        let own = said.unit.as_ref().and_then(|u| {
            let text = u.get_ref();
            let unit = Unit::by_code(dimension, text)
                .or_else(|| Unit::meant_by(dimension, text).first().copied());
            if unit.is_none() {
                let what = format!("`{text}` is no unit of a {}", dimension.name());
                self.problem(u.span().start, what, "see `hardstart units`");
            }
            unit
        });
        let heading = headings::unit(&self.headings[at], dimension);
        match (heading, said.heading_wrong) {
            (Some(unit), false) => (Some(unit), true),
            _ => (own, false),
        }
    }
}
