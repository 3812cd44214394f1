//! What was told and what was seen at a start.
//!
//! Must not weigh the one against the other.

use super::names::named;
use super::reading::ReadingValue;
use crate::units::Quantity;

/// A sign with the state it was in.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenSign {
    /// The sign.
    pub sign: String,
    /// Its state, or a number of seconds for a sign that may be timed, or why there is none.
    pub value: ReadingValue,
    /// What was typed.
    pub typed: String,
    /// Why the number is hard to believe; such a sign is kept and not used.
    pub suspect: Option<String>,
}

named! {
    /// Facts of the engine's past that shift the starting chances; not signs.
    Fact {
        /// Work shortly before the complaint: `none`, `fuel`, `pump_or_belt`.
        RecentWork = "recent_work",
        /// Stood unused for weeks: `no`, `yes`.
        LaidUp = "laid_up",
        /// The plugs were renewed lately: `no`, `yes`.
        PlugsRenewed = "plugs_renewed",
    }
}

impl Fact {
    /// The states it may have.
    #[must_use]
    pub fn states(self) -> &'static [&'static str] {
        match self {
            Fact::RecentWork => &["none", "fuel", "pump_or_belt"],
            Fact::LaidUp | Fact::PlugsRenewed => &["no", "yes"],
        }
    }
}

/// One thing told.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// A sign, in the customer's words.
    Sign(SeenSign),
    /// A fact of the engine's past.
    Fact {
        /// Which.
        fact: Fact,
        /// Its state.
        state: String,
        /// What was typed.
        typed: String,
    },
}

named! {
    /// How a start compares with what it should be, as the person who watched it says.
    StartResult {
        /// As a sound engine starts.
        Right = "right",
        /// Better than before, not right.
        Better = "better",
        /// As before.
        Same = "same",
        /// Worse than before.
        Worse = "worse",
    }
}

/// One observed start.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Start {
    /// Temperature of the engine before it, -60 to 130 degC.
    pub engine_temperature: Option<Quantity>,
    /// Temperature of the air, -60 to 130 degC.
    pub air_temperature: Option<Quantity>,
    /// How long the engine stood before it, a time.
    pub soak: Option<Quantity>,
    /// How long it was preheated, a time.
    pub preheat: Option<Quantity>,
    /// Signs seen.
    pub signs: Vec<SeenSign>,
    /// Fuel was pumped up by hand before it.
    pub primed: bool,
    /// A block heater or another outside heat was used before it.
    pub heated: bool,
    /// After the work that stands before it in the job (`None`: the order of entries says so).
    pub after_work: Option<bool>,
    /// Number of tries until it ran.
    pub tries: Option<u8>,
    /// The person's judgement.
    pub result: Option<StartResult>,
}
