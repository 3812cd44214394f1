//! The bench: tools and people at hand, what cannot be done here, and what time costs.
//!
//! Must not choose checks; it says only what there is.

use super::kept::Extra;
use super::names::named;

named! {
    /// How the engine came.
    Arrived {
        /// Cold: not started that day.
        Cold = "cold",
        /// Warm: what cold alone shows has to wait for a night.
        Warm = "warm",
        /// Not here yet.
        NotHereYet = "not_here_yet",
    }
}

/// A check that cannot be done on this job.
#[derive(Debug, Clone, PartialEq)]
pub struct Cannot {
    /// The check.
    pub check: String,
    /// Why not, in words (no tool, seized, unsafe, too long).
    pub why: String,
    /// Unknown keys.
    pub extra: Extra,
}

/// Tools, people and prices of the place where the job is done.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bench {
    /// How the engine came; `None` if nobody said.
    pub arrived: Option<Arrived>,
    /// Tool ids at hand; `None` if nobody said, which is not the same as none.
    pub tools: Option<Vec<String>>,
    /// People who can help at the same time, the mechanic included.
    pub people: Option<u8>,
    /// Checks that cannot be done here.
    pub cannot: Vec<Cannot>,
    /// Money for one minute of work, in the shop's own currency.
    pub minute_rate: Option<f64>,
    /// What one price of an ordinary plug is, in the shop's own currency.
    pub plug_price: Option<f64>,
    /// What waiting one night for a cold engine costs, in minutes of work.
    pub night_minutes: Option<f64>,
    /// How much likelier than on an ordinary old engine something breaks here: 2 = twice as often.
    pub break_factor: Option<f64>,
    /// What it costs if the job comes back unmended, in minutes of work.
    pub come_back_minutes: Option<f64>,
    /// What handing the job to someone better equipped costs, in minutes of work.
    pub hand_over_minutes: Option<f64>,
    /// Unknown keys.
    pub extra: Extra,
}
