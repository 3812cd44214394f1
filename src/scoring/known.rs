//! Answers that were given before: jobs of a shop say the same things over and over.
//!
//! Bounded in two halves, the older dropped whole when the younger is full, so that memory stays
//! flat. The same job has the same answer whatever else is in its batch, so keeping one changes
//! nothing. Must not solve.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::rival::parts_of;
use super::solve::{SolveError, Solved};

/// Answers kept in each half: some four kilobytes each.
const MOST: usize = 4096;

/// An answer with the shares of its faults.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Chances, or why there are none.
    pub solved: Result<Solved, SolveError>,
    parts: Vec<(Arc<str>, f64)>,
    total: f64,
}

impl Answer {
    /// Of what was solved.
    #[must_use]
    pub fn new(solved: Result<Solved, SolveError>) -> Self {
        let (parts, total) = solved.as_ref().map_or((Vec::new(), 0.0), parts_of);
        Self {
            solved,
            parts,
            total,
        }
    }

    /// Share of a fault, all shares adding to one.
    #[must_use]
    pub fn share(&self, fault: &str) -> Option<f64> {
        let part = self.parts.iter().find(|p| *p.0 == *fault)?;
        Some(part.1 / self.total)
    }
}

#[derive(Debug, Default)]
struct Halves {
    young: BTreeMap<String, Arc<Answer>>,
    old: BTreeMap<String, Arc<Answer>>,
}

/// Answers by what decides them ([`crate::learning::take::key`]).
#[derive(Debug, Default)]
pub struct Known(Mutex<Halves>);

impl Known {
    /// The answer that was given to this.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<Arc<Answer>> {
        let mut halves = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = halves.young.get(key) {
            return Some(Arc::clone(known));
        }
        let (key, known) = halves.old.remove_entry(key)?;
        halves.keep(key, &known);
        Some(known)
    }

    /// Keeps an answer.
    pub fn keep(&self, key: String, answer: &Arc<Answer>) {
        let mut halves = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        halves.keep(key, answer);
    }
}

impl Halves {
    fn keep(&mut self, key: String, answer: &Arc<Answer>) {
        if self.young.len() >= MOST {
            self.old = std::mem::take(&mut self.young);
        }
        self.young.insert(key, Arc::clone(answer));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: what was asked for lately is there, and never more than two halves are kept.
    #[test]
    fn the_longest_unasked_is_dropped() {
        let known = Known::default();
        let impossible = || Err(crate::network::KernelError::Impossible.into());
        let answer = Arc::new(Answer::new(impossible()));
        for n in 0..3 * MOST {
            known.keep(n.to_string(), &answer);
            assert!(known.get("0").is_some(), "after {n}");
        }
        assert!(known.get("1").is_none());
        let halves = known.0.lock().unwrap();
        assert!(halves.young.len() <= MOST && halves.old.len() <= MOST);
    }
}
