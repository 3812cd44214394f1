//! Which jobs are held out: by date, kind of engine, shop, or fold; always whole jobs, never rows.
//!
//! What is not held out may train the rivals. Must not look at labels.

use super::label::shop;
use crate::job::Job;

/// A way to hold jobs out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Split {
    /// Jobs whose first dated entry is on this day (`2024-01-31`) or later.
    Date(String),
    /// Engines of this chamber and preheat, `swirl/plugs`.
    Engine(String),
    /// Jobs of this shop.
    Shop(String),
    /// Fold `at` (from 1) of `of`, by job number and seed.
    Fold {
        /// Fold held out.
        at: u64,
        /// Number of folds.
        of: u64,
        /// Seed.
        seed: u64,
    },
}

/// Why a split is not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no split: write date=2024-01-31, engine=swirl/plugs, shop=NAME or fold=1/5")]
pub struct SplitError(pub String);

impl Split {
    /// Reads `date=…`, `engine=…`, `shop=…` or `fold=i/n`.
    ///
    /// # Errors
    /// When it is none of these.
    pub fn parse(text: &str, seed: u64) -> Result<Self, SplitError> {
        let error = || SplitError(text.to_owned());
        let (kind, what) = text.split_once('=').ok_or_else(error)?;
        match kind {
            "date" if what.len() == 10 => Ok(Split::Date(what.to_owned())),
            "engine" => Ok(Split::Engine(what.to_owned())),
            "shop" => Ok(Split::Shop(what.to_owned())),
            "fold" => {
                let (at, of) = part(what).ok_or_else(error)?;
                Ok(Split::Fold { at, of, seed })
            }
            _ => Err(error()),
        }
    }

    /// Whether a job is held out.
    #[must_use]
    pub fn holds_out(&self, job: &Job) -> bool {
        match self {
            Split::Date(day) => {
                let at = job.entries.iter().find_map(|e| e.at.as_deref());
                at.is_some_and(|at| at.get(..10).is_some_and(|d| d >= day.as_str()))
            }
            Split::Engine(kind) => engine(job) == *kind,
            Split::Shop(name) => shop(job) == Some(name),
            Split::Fold { at, of, seed } => stable(&job.job, *seed) % of + 1 == *at,
        }
    }
}

/// The kind of engine of a job, `chamber/preheat`.
#[must_use]
pub fn engine(job: &Job) -> String {
    format!("{}/{}", job.engine.chamber.id(), job.engine.preheat.id())
}

/// `i/n` with `1 <= i <= n`.
#[must_use]
pub fn part(text: &str) -> Option<(u64, u64)> {
    let (at, of) = text.split_once('/')?;
    let (at, of) = (at.trim().parse().ok()?, of.trim().parse().ok()?);
    (1..=of).contains(&at).then_some((at, of))
}

/// A number from a text that is the same everywhere (FNV-1a, 64 bits).
fn stable(text: &str, seed: u64) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    let bytes = seed.to_le_bytes().into_iter().chain(text.bytes());
    bytes.fold(BASIS, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(PRIME)
    })
}
