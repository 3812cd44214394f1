//! The pass before a job is closed: what the entries prove, and what is still unexplained.
//!
//! A right cold start closes a job; anything that stands against it must be answered by a typed
//! reason. Must not word anything.

use super::answer::{Cause, Ranking};
use crate::job::{
    Job, StartAfter, StartResult, Verification, WorkProof, verification, work_proofs,
};
use crate::knowledge::Knowledge;

/// A cause below this is not asked about before closing; own judgement: one in five.
const ASKED_ABOUT: f64 = 0.2;
/// After a right cold start only what is likelier than not is asked about; own judgement.
const ASKED_ABOUT_IF_RIGHT: f64 = 0.5;
/// How many times its standing rate a cause must reach to count as pointed at; own judgement.
const POINTED_AT: f64 = 2.0;

/// One thing that stands against closing a job as mended.
#[derive(Debug, Clone, PartialEq)]
pub enum Against {
    /// Nothing was done.
    NoWork,
    /// No cold start after the work counts.
    NoColdStart,
    /// The last cold start was better than before, not right; or worse, or the same.
    NotRight {
        /// Index of its entry.
        entry: usize,
        /// As the person said, if so.
        result: Option<StartResult>,
        /// Chance that something is still wrong, a fraction.
        remains: f64,
    },
    /// A cause still explains too much of what was seen.
    Standing(Cause),
    /// Entries do not fit together; their indices.
    Clash(Vec<usize>),
}

/// What the entries say about closing a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Closing {
    /// The starts since the last work.
    pub verification: Verification,
    /// How far each piece of work is proven.
    pub proofs: Vec<WorkProof>,
    /// What stands against closing it as mended; empty if nothing does.
    pub against: Vec<Against>,
    /// Causes that are still likely, likeliest first: a right start does not speak against what comes
    /// back in a week, so they are named and do not hold the job up.
    pub open: Vec<Cause>,
}

impl Closing {
    /// The last cold start that counts, if it was not right.
    #[must_use]
    pub fn not_right(&self) -> Option<&StartAfter> {
        let last = self.verification.counting().last();
        last.filter(|s| s.right != Some(true))
    }
}

/// Holds a job against its ranking.
#[must_use]
pub fn closing(job: &Job, knowledge: &Knowledge, ranking: &Ranking) -> Closing {
    let verification = verification(job, knowledge);
    let mut against = Vec::new();
    match (verification.last_work, verification.counting().last()) {
        (None, _) => against.push(Against::NoWork),
        (Some(_), None) => against.push(Against::NoColdStart),
        (Some(_), Some(start)) if start.right != Some(true) => against.push(Against::NotRight {
            entry: start.entry,
            result: start.result,
            remains: 1.0 - ranking.healthy,
        }),
        _ => {}
    }
    let least = if verification.is_proven() {
        ASKED_ABOUT_IF_RIGHT
    } else {
        ASKED_ABOUT
    };
    let standing = |c: &&Cause| c.chance >= least && c.chance >= POINTED_AT * c.base;
    let standing = ranking.causes.iter().filter(standing).cloned();
    against.extend(standing.map(Against::Standing));
    if !ranking.misfit.entries.is_empty() {
        against.push(Against::Clash(ranking.misfit.entries.clone()));
    }
    let open = ranking.causes.iter().filter(|c| c.chance >= ASKED_ABOUT);
    Closing {
        open: open.cloned().collect(),
        proofs: work_proofs(job, knowledge),
        verification,
        against,
    }
}
