//! The units that are understood, for people and as `hardstart/units/1`.
//!
//! Must not convert.

use serde_json::{Value, json};

use super::page::{Layout, Page};
use crate::units::{Unit, list};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/units/1";

/// The document. A unit is canonical if it is the first of its quantity.
#[must_use]
pub fn json() -> Value {
    let units: Value = list()
        .iter()
        .map(|u| {
            json!({
                "quantity": u.dimension().name(),
                "code": u.code(),
                "symbol": u.symbol(),
                "also": u.spellings(),
                "canonical": is_canonical(u),
            })
        })
        .collect();
    json!({ "schema": SCHEMA, "units": units })
}

/// The list for people, one quantity after the other.
#[must_use]
pub fn text(layout: Layout) -> String {
    let mut page = Page::new(layout);
    page.say(
        "Numbers may be written 8.4 or 8,4. With > before it, > 40 s, a number says more than, such \
         as no glow as long as you watched; < says less than, ~ about. Kept in the first unit.",
    );
    let mut quantity = "";
    for unit in list() {
        let name = unit.dimension().name();
        if name != quantity {
            page.gap();
            page.say(name);
            quantity = name;
        }
        let shown = if unit.symbol().is_empty() {
            unit.code()
        } else {
            unit.symbol()
        };
        page.hang(&format!("  {shown:<10} "), &unit.spellings().join(", "));
    }
    page.finish()
}

fn is_canonical(unit: &Unit) -> bool {
    *unit == unit.dimension().canonical()
}
