//! What a diagnosis says: plain structs, every chance a fraction.
//!
//! Must not hold words for people.

/// How a cause stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Ahead of the others, or level with the one that is.
    Leading,
    /// To be reckoned with.
    InTheRunning,
    /// Nearly ruled out by what was seen and read.
    SetAside,
    /// Shown by a cold start after its repair.
    Proven,
    /// Nothing has been seen or read that could tell.
    NotLookedAt,
}

/// One cause with its chance.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// `part.fault` or `part.fault:cylinder`.
    pub cause: String,
    /// Part.
    pub part: String,
    /// Fault.
    pub fault: String,
    /// Cylinder, for parts of one cylinder.
    pub cylinder: Option<u8>,
    /// What a person reads, without the cylinder.
    pub label: String,
    /// System.
    pub system: String,
    /// Chance that this is wrong with the engine now, a fraction.
    pub chance: f64,
    /// Lower end of the 80 % range, a fraction, once there are ranges.
    pub low: Option<f64>,
    /// Upper end of the 80 % range.
    pub high: Option<f64>,
    /// Chance in engines like this one before any complaint, a fraction.
    pub base: f64,
    /// How it stands.
    pub standing: Standing,
    /// Chance before the last entry, a fraction; `None` for a job of one entry.
    pub before: Option<f64>,
}

/// Chance that at least one part of a system is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct SystemChance {
    /// System.
    pub system: String,
    /// Chance, a fraction.
    pub chance: f64,
}

/// Entries that do not fit together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Misfit {
    /// How much likelier the entries would be if each stood alone, bits; negative when they agree.
    pub bits: f64,
    /// Positions in the job of the entries that clash, the worst pair first; empty when none does.
    pub entries: Vec<usize>,
    /// Check to repeat first, and its cylinder, where a repeat can settle it.
    pub repeat: Option<(String, Option<u8>)>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranking {
    /// Natural logarithm of the chance of everything seen and read, the complaint included.
    pub log_evidence: f64,
    /// Chance that nothing is wrong with the engine now, a fraction.
    pub healthy: f64,
    /// All causes, likeliest first.
    pub causes: Vec<Cause>,
    /// Systems, likeliest first.
    pub systems: Vec<SystemChance>,
    /// What does not fit.
    pub misfit: Misfit,
    /// Chance of each kind of engine (chamber, preheat), where more than one may be.
    pub kinds: Vec<(String, String, f64)>,
}
