//! Values of keys this program does not know: kept, so that a file written by a newer or
//! another program loses nothing on a round trip.
//!
//! Must not be read by anything but the writers.

use std::collections::BTreeMap;

/// Unknown keys of one table, by name.
pub type Extra = BTreeMap<String, Kept>;

/// A value that is carried along and not understood.
#[derive(Debug, Clone, PartialEq)]
pub enum Kept {
    /// A text.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number with a decimal part; finite or, from TOML, not.
    Number(f64),
    /// True or false.
    Truth(bool),
    /// A TOML date or time as written; a text in JSON.
    Moment(String),
    /// JSON `null`; left out in TOML, which has no word for it.
    Nothing,
    /// A list.
    List(Vec<Kept>),
    /// A table.
    Table(Extra),
}
