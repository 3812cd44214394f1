//! Entries: one thing told, seen, measured, done, thought or found, never edited.
//!
//! Must not derive anything; `state` and `proof` do that.

use super::kept::Extra;
use super::names::named;
use super::reading::Reading;
use super::seen::{Start, Told};

named! {
    /// How sure the person was.
    Sure {
        /// Sure.
        Sure = "sure",
        /// Fairly.
        Fair = "fair",
        /// Unsure.
        Unsure = "unsure",
    }
}

named! {
    /// How a finding was shown.
    Proof {
        /// Made to come and go, and a cold start right after the repair.
        Shown = "shown",
        /// One change, then a cold start that was right.
        Cured = "cured",
        /// Several changes at once, then a cold start that was right.
        CuredShared = "cured_shared",
        /// Repaired, no cold start recorded.
        Believed = "believed",
        /// Written down only.
        Guess = "guess",
        /// Changed or tested without effect: it was not that.
        Refuted = "refuted",
    }
}

named! {
    /// What a person says about the job as a whole.
    Mark {
        /// To be worked on (again).
        Open = "open",
        /// Waiting for parts.
        WaitingForParts = "waiting_for_parts",
        /// Set by, not settled.
        Parked = "parked",
        /// Handed back as mended.
        Done = "done",
        /// Handed back as it is.
        LeftAsIs = "left_as_is",
    }
}

/// Work done.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// The repair.
    pub repair: String,
    /// The cylinder, from 1, for a repair done at one.
    pub cylinder: Option<u8>,
    /// Minutes it took.
    pub minutes: Option<f64>,
    /// What the parts cost, in the shop's own currency.
    pub parts_cost: Option<f64>,
}

/// What a person thinks it is, before or beside the answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Opinion {
    /// In words.
    pub text: Option<String>,
    /// The fault meant, `part.fault`.
    pub fault: Option<String>,
    /// The cylinder, from 1, for a fault of one.
    pub cylinder: Option<u8>,
}

/// A check that turned out impossible.
#[derive(Debug, Clone, PartialEq)]
pub struct CannotDo {
    /// The check.
    pub check: String,
    /// The cylinder, if only there.
    pub cylinder: Option<u8>,
    /// Why, in words.
    pub reason: String,
}

/// A check that is put off: other checks come first until this entry is taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Later {
    /// The check.
    pub check: String,
    /// The cylinder, if only there.
    pub cylinder: Option<u8>,
}

/// A fault found, with how it was shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The fault, `part.fault`.
    pub fault: String,
    /// The cylinder, from 1, for a fault of one.
    pub cylinder: Option<u8>,
    /// How it was shown; `None` leaves it to what the entries show.
    pub proof: Option<Proof>,
}

/// An earlier entry taken back: it should not have been written.
#[derive(Debug, Clone, PartialEq)]
pub struct Undo {
    /// The entry, from 1, as it stands in the job.
    pub entry: usize,
    /// Why, in words.
    pub why: Option<String>,
}

/// An earlier entry set aside: it was so, but is not to be relied on.
#[derive(Debug, Clone, PartialEq)]
pub struct Aside {
    /// The entry, from 1, as it stands in the job.
    pub entry: usize,
    /// Why, in words.
    pub why: String,
}

/// What a later entry did to an earlier one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Withdrawn {
    /// Taken back; it does not count as recorded.
    Undone {
        /// Index of the entry that says so.
        by: usize,
    },
    /// Set aside; it is recorded and not used.
    Aside {
        /// Index of the entry that says so.
        by: usize,
    },
}

/// What an entry says.
#[derive(Debug, Clone, PartialEq)]
pub enum EntryBody {
    /// Things told (`told.*`).
    Told(Vec<Told>),
    /// An observed start (`start.*`).
    Start(Start),
    /// The result of a check (`reading.*`).
    Reading(Reading),
    /// Work done (`work.*`).
    Work(Work),
    /// An opinion (`opinion.*`).
    Opinion(Opinion),
    /// A check that cannot be done (`cannot.*`).
    CannotDo(CannotDo),
    /// A check that is put off (`later.*`).
    Later(Later),
    /// A fault found (`finding.*`).
    Finding(Finding),
    /// The job is marked (`mark.state`).
    Mark(Mark),
    /// An earlier entry is taken back (`undo.*`).
    Undo(Undo),
    /// An earlier entry is set aside (`aside.*`).
    Aside(Aside),
    /// Nothing but the note.
    Note,
}

/// Where an entry stands in its file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// One entry of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What it says.
    pub body: EntryBody,
    /// When, RFC 3339.
    pub at: Option<String>,
    /// Who, a short code.
    pub by: Option<String>,
    /// How sure.
    pub sure: Option<Sure>,
    /// A remark.
    pub note: Option<String>,
    /// Why the entry is set aside; such an entry is kept and not used.
    pub set_aside: Option<String>,
    /// What a later entry did to it; never written, the later entry is.
    pub withdrawn: Option<Withdrawn>,
    /// Unknown keys; those within a body stand under the name of the body.
    pub extra: Extra,
    /// Where it stands, if it came from a file.
    pub position: Option<Position>,
}

impl Entry {
    /// An entry that says this and nothing about who or when.
    #[must_use]
    pub fn new(body: EntryBody) -> Self {
        Self {
            body,
            at: None,
            by: None,
            sure: None,
            note: None,
            set_aside: None,
            withdrawn: None,
            extra: Extra::new(),
            position: None,
        }
    }

    /// Whether it may be used: nobody set it aside or took it back.
    #[must_use]
    pub fn is_used(&self) -> bool {
        self.set_aside.is_none() && self.withdrawn.is_none()
    }

    /// Whether it counts as recorded: nobody took it back. One set aside is recorded.
    #[must_use]
    pub fn is_recorded(&self) -> bool {
        !matches!(self.withdrawn, Some(Withdrawn::Undone { .. }))
    }
}
