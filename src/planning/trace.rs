//! A situation with the history that determines it, and the key of that history.
//!
//! Two histories with the same key have the same belief: the order of readings of
//! different checks does not matter, nor of two readings of one check, nor of repairs
//! (each run-up check only says that some fault is left, and the last one says it for
//! all). What does matter is which repairs stood before a reading, where several faults
//! may be present. Keys are exact; no belief is rounded. Must not choose moves.

use super::situation::Situation;
use super::tables::Tables;

/// A situation and how it came about.
#[derive(Debug, Clone)]
pub(super) struct Trace {
    pub situation: Situation,
    repairs: u128,
    /// Per reading: check, outcome, repairs done before it; sorted.
    readings: Vec<(usize, usize, u128)>,
}

/// Exact key of a [`Trace`].
pub(super) type Key = (u128, u64, Vec<(usize, usize, u128)>);

impl Trace {
    pub(super) fn new(situation: Situation) -> Trace {
        Trace {
            situation,
            repairs: 0,
            readings: Vec::new(),
        }
    }

    pub(super) fn key(&self) -> Key {
        (self.repairs, self.situation.open, self.readings.clone())
    }

    pub(super) fn check(&self, t: &Tables, check: usize, outcome: usize) -> Option<(f64, Trace)> {
        let (chance, situation) = self.situation.after_check(t, check, outcome)?;
        let mut readings = self.readings.clone();
        // With one fault at most, a repair that fails leaves that fault as it was.
        let before = if t.several { self.repairs } else { 0 };
        readings.push((check, outcome, before));
        readings.sort_unstable();
        Some((
            chance,
            Trace {
                situation,
                repairs: self.repairs,
                readings,
            },
        ))
    }

    /// Chance of right, and the trace when it is not.
    pub(super) fn repair(&self, t: &Tables, repair: usize) -> (f64, Option<Trace>) {
        let (right, situation) = self.situation.after_repair(t, repair);
        let next = situation.map(|situation| Trace {
            situation,
            repairs: self.repairs | (1u128 << (repair % 128)),
            readings: self.readings.clone(),
        });
        (right, next)
    }
}
