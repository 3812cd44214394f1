//! What a test-and-repair problem is, as a caller fills it in.
//!
//! Plain descriptions only; `validate` says what is wrong with them and `tables` turns
//! them into arrays. Must not hold anything about engine parts.

/// A fault that may be present.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Name, for messages and files only.
    pub name: String,
}

/// One possible state of affairs: exactly these faults are present.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypothesis {
    /// Indices into [`Problem::faults`], ascending, none twice. Empty: nothing is wrong.
    pub faults: Vec<usize>,
    /// Weight, not negative; weights are scaled to sum to one.
    pub weight: f64,
}

/// Which sets of faults are possible.
#[derive(Debug, Clone, PartialEq)]
pub enum Hypotheses {
    /// Exactly one fault is present. One weight a fault, summing to one. Hypothesis `i` is
    /// fault `i` alone.
    OneFault {
        /// Chance of each fault.
        weights: Vec<f64>,
    },
    /// Any non-empty set of faults, independent chances conditioned on non-empty.
    /// Hypothesis `i` is the set of bits of `i + 1`. At most
    /// [`MAX_INDEPENDENT_FAULTS`](super::MAX_INDEPENDENT_FAULTS) faults.
    AnyFaults {
        /// Chance of each fault on its own.
        chances: Vec<f64>,
    },
    /// The sets listed. Whatever a repair can leave behind must be listed too (weight zero
    /// is allowed), except the empty set, which means the engine is right. A fault that no
    /// repair removes stands for "something not listed".
    Listed(Vec<Hypothesis>),
}

/// What a check shows, given the faults present when it is done.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcomes {
    /// `chances[hypothesis * outcomes + outcome]`, each row summing to one.
    Table {
        /// Number of outcomes, at least one.
        outcomes: usize,
        /// Row-major `[hypothesis, outcome]`.
        chances: Vec<f64>,
    },
    /// Two outcomes, found (0) and not found (1):
    /// `P(found) = 1 - (1 - leak) * product over present faults of (1 - link)`.
    NoisyOr {
        /// Chance of finding it with no fault present.
        leak: f64,
        /// Chance that each fault alone shows, `[fault]`.
        link: Vec<f64>,
    },
}

/// Something done to learn more.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Name, for messages and files only.
    pub name: String,
    /// Minutes, access not counted.
    pub minutes: f64,
    /// Access groups that must be open (indices into [`Problem::groups`]).
    pub access: Vec<usize>,
    /// Access groups it closes or uses up (a check that warms the engine closes "cold").
    pub closes: Vec<usize>,
    /// What it shows.
    pub outcomes: Outcomes,
    /// Names of the outcomes; empty, or one each.
    pub outcome_names: Vec<String>,
    /// Expected damage in minutes, `[hypothesis]`; empty when there is none.
    pub risk: Vec<f64>,
    /// How often it may be done: 1 or 2.
    pub max_times: u8,
    /// Chance that the second reading copies the first; else it is a fresh draw.
    pub persist: f64,
    /// Minutes of the second reading.
    pub repeat_minutes: f64,
}

/// Something that removes faults. Each is done at most once; a run-up check follows.
#[derive(Debug, Clone, PartialEq)]
pub struct Repair {
    /// Name, for messages and files only.
    pub name: String,
    /// Minutes, access and run-up check not counted.
    pub minutes: f64,
    /// Access groups that must be open.
    pub access: Vec<usize>,
    /// Chance that it removes each fault, `[fault]`, independently. All zero is allowed: a
    /// run-up check with nothing done, which shows whether anything is wrong at all.
    pub fix: Vec<f64>,
}

/// Access, or anything else that is paid for once and then there: a cover, a soak.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Name, for messages and files only.
    pub name: String,
    /// Minutes to open it (and close it later).
    pub open_minutes: f64,
    /// `false`: it must be closed for every run-up check, and is paid for again.
    pub stays_open: bool,
}

/// A test-and-repair problem. Every cost in minutes.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// The faults.
    pub faults: Vec<Fault>,
    /// Which sets of them are possible, and how likely.
    pub hypotheses: Hypotheses,
    /// What can be looked at.
    pub checks: Vec<Check>,
    /// What can be done.
    pub repairs: Vec<Repair>,
    /// Access groups, at most 64.
    pub groups: Vec<Group>,
    /// Minutes of the run-up check after each repair.
    pub verify_minutes: f64,
    /// Groups the run-up check needs (a soak, for one that has to be cold).
    pub verify_access: Vec<usize>,
    /// Groups open at the beginning.
    pub open_now: Vec<usize>,
    /// Cost of handing the job over, which always ends it.
    pub hand_over_minutes: f64,
}

impl Problem {
    /// Number of hypotheses.
    pub fn hypothesis_count(&self) -> usize {
        match &self.hypotheses {
            Hypotheses::OneFault { weights } => weights.len(),
            Hypotheses::AnyFaults { chances } => (1usize << chances.len().min(63)) - 1,
            Hypotheses::Listed(list) => list.len(),
        }
    }
}
