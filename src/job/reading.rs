//! Readings: the result of a check, or why there is none.
//!
//! Seven states are kept apart in every format: measured, judged normal, not recorded, not
//! tested, could not test, no reading, unreadable. Must not judge a number.

use super::names::named;
use crate::units::{Parsed, Quantity};

/// A measured result.
#[derive(Debug, Clone, PartialEq)]
pub enum Measured {
    /// A named state of the check or sign (for a check that yields a number: a named band).
    State(String),
    /// A number with its unit and with how it stands to the true one (`=`, `<`, `>`, `~`).
    Number(Parsed),
    /// The named result off the end of the scale (`open`, `no_glow`).
    OffScale(String),
}

/// What a check or a look gave.
#[derive(Debug, Clone, PartialEq)]
pub enum ReadingValue {
    /// A result.
    Measured(Measured),
    /// Looked at and found normal, without a figure.
    JudgedNormal,
    /// Perhaps done, nothing written down.
    NotRecorded,
    /// Not done.
    NotTested,
    /// Tried, and not possible.
    CouldNotTest,
    /// Done, the instrument showed nothing.
    NoReading,
    /// Written down, but it cannot be made out.
    Unreadable,
}

named! {
    /// The states of a reading other than measured.
    Absent {
        /// See [`ReadingValue::JudgedNormal`].
        JudgedNormal = "judged_normal",
        /// See [`ReadingValue::NotRecorded`].
        NotRecorded = "not_recorded",
        /// See [`ReadingValue::NotTested`].
        NotTested = "not_tested",
        /// See [`ReadingValue::CouldNotTest`].
        CouldNotTest = "could_not_test",
        /// See [`ReadingValue::NoReading`].
        NoReading = "no_reading",
        /// See [`ReadingValue::Unreadable`].
        Unreadable = "unreadable",
    }
}

impl From<Absent> for ReadingValue {
    fn from(absent: Absent) -> Self {
        match absent {
            Absent::JudgedNormal => ReadingValue::JudgedNormal,
            Absent::NotRecorded => ReadingValue::NotRecorded,
            Absent::NotTested => ReadingValue::NotTested,
            Absent::CouldNotTest => ReadingValue::CouldNotTest,
            Absent::NoReading => ReadingValue::NoReading,
            Absent::Unreadable => ReadingValue::Unreadable,
        }
    }
}

impl ReadingValue {
    /// The id of the state: `measured` or one of the six others.
    #[must_use]
    pub fn state_id(&self) -> &'static str {
        match self {
            ReadingValue::Measured(_) => "measured",
            ReadingValue::JudgedNormal => Absent::JudgedNormal.id(),
            ReadingValue::NotRecorded => Absent::NotRecorded.id(),
            ReadingValue::NotTested => Absent::NotTested.id(),
            ReadingValue::CouldNotTest => Absent::CouldNotTest.id(),
            ReadingValue::NoReading => Absent::NoReading.id(),
            ReadingValue::Unreadable => Absent::Unreadable.id(),
        }
    }

    /// Whether there is a result: what was not tested says nothing and is never "normal".
    #[must_use]
    pub fn has_result(&self) -> bool {
        matches!(self, ReadingValue::Measured(_) | ReadingValue::JudgedNormal)
    }

    /// The named state or off-scale result, if that is what was measured.
    #[must_use]
    pub fn state(&self) -> Option<&str> {
        match self {
            ReadingValue::Measured(Measured::State(s) | Measured::OffScale(s)) => Some(s),
            _ => None,
        }
    }

    /// The number, if one was measured.
    #[must_use]
    pub fn number(&self) -> Option<&Parsed> {
        match self {
            ReadingValue::Measured(Measured::Number(n)) => Some(n),
            _ => None,
        }
    }
}

named! {
    /// How a reading repeats an earlier one of the same check at the same place.
    Repeat {
        /// Once more, nothing changed.
        AsItIs = "as_it_is",
        /// After the contact was made afresh: clamp set to nought, tips cleaned, gauge refitted.
        ContactRemade = "contact_remade",
        /// With another instrument.
        OtherMeter = "other_meter",
        /// After the part or lead changed places with a neighbour.
        Swapped = "swapped",
    }
}

/// The result of one check, at one cylinder and one trial if it has those.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The check.
    pub check: String,
    /// The cylinder, from 1, for a check done at each.
    pub cylinder: Option<u8>,
    /// Number of the repeat, from 1.
    pub trial: Option<u32>,
    /// How it repeats an earlier reading; `None` counts as once more, nothing changed.
    pub repeat: Option<Repeat>,
    /// What was understood.
    pub value: ReadingValue,
    /// What was typed.
    pub typed: String,
    /// Volts of the supply during the reading.
    pub supply: Option<Quantity>,
    /// Rest before the reading, a time.
    pub rest: Option<Quantity>,
    /// Reading with the meter's leads touched together, a resistance.
    pub leads: Option<Quantity>,
    /// The tool used, an id or the person's words.
    pub tool: Option<String>,
    /// Why there is no result.
    pub why_not: Option<String>,
    /// Why the number is hard to believe; such a reading is kept and not used.
    pub suspect: Option<String>,
    /// Somebody looked again and stands by the number; then it is not suspect.
    pub confirmed: bool,
}
