//! Reads quantities of a job: texts with a unit, never a bare number.
//!
//! Must not guess a unit.

use std::ops::Range;

use super::reader::Reader;
use super::tree::{Field, Value};
use super::window;
use crate::units::{Cmp, Dimension, Quantity, Unit, UnitError};

impl Reader<'_> {
    /// A plain quantity (no `>` or `<`) with its unit.
    pub(super) fn quantity(&mut self, field: &Field, dimension: Dimension) -> Option<Quantity> {
        let Value::Text(text) = &field.node.value else {
            let example = format!("\"{}\"", dimension.example());
            self.wrong_kind(field, "a text with a unit", &example);
            return None;
        };
        match Quantity::parse(text, dimension, None::<Unit>) {
            Ok(parsed) if matches!(parsed.cmp, Cmp::Equal | Cmp::About) => Some(parsed.quantity),
            Ok(_) => {
                let what = format!("`{}` needs a value, not a limit", field.name);
                self.problem(
                    field.node.span.clone(),
                    what,
                    "write the value without `>` or `<`",
                );
                None
            }
            Err(error) => {
                self.unit_error(&field.node.span, text, &error);
                None
            }
        }
    }

    /// A problem of units at its place within a typed text.
    pub(super) fn unit_error(&mut self, span: &Range<usize>, typed: &str, error: &UnitError) {
        let plain_quotes = self.text.get(span.start + 1..span.end.saturating_sub(1)) == Some(typed);
        let place = if plain_quotes {
            span.start + 1 + error.at()..span.end - 1
        } else {
            span.clone()
        };
        let place = place.start.min(place.end)..place.end;
        self.problem(place, error.to_string(), error.hint());
    }

    /// Refuses a quantity below nought.
    pub(super) fn not_below_nought(
        &mut self,
        field: &Field,
        quantity: Quantity,
    ) -> Option<Quantity> {
        if quantity.value >= 0.0 {
            return Some(quantity);
        }
        let what = format!("`{}` is {quantity}, below nought", field.name);
        self.problem(
            field.node.span.clone(),
            what,
            "write it without the minus sign",
        );
        None
    }

    /// A temperature a start may have.
    pub(super) fn start_temperature(&mut self, field: &Field) -> Option<Quantity> {
        let quantity = self.quantity(field, Dimension::Temperature)?;
        let (low, high) = window::START_TEMPERATURE;
        if (low..=high).contains(&quantity.value) {
            return Some(quantity);
        }
        let what = format!("a start at {quantity}: outside {low} to {high} °C");
        self.problem(
            field.node.span.clone(),
            what,
            "look at the figure and its unit: °C or °F?",
        );
        None
    }

    /// A time, not below nought.
    pub(super) fn duration(&mut self, field: &Field) -> Option<Quantity> {
        let quantity = self.quantity(field, Dimension::Time)?;
        self.not_below_nought(field, quantity)
    }
}
