//! Simple rivals: what the answers have to beat.
//!
//! Each gives shares of the faults, `part.fault` whatever the cylinder, that add to one; the
//! score is `ln share` of the first true one. Must not see the network.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::solve::Solved;
use crate::job::{EntryBody, Job, ReadingValue, Told};

/// Added to every count; common practice (Laplace).
const ADDED: f64 = 1.0;
/// Least share that is given, as the logarithms are held.
const LEAST: f64 = super::measure::EDGE;

/// A job as a list of things seen: `sign crank_time`, `over_20`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Features(pub BTreeMap<String, String>);

/// What a job says, as words; what was not tested is not there. Numbers are left to words of
/// their own: only "there was one" would be said, so they are left out.
#[must_use]
pub fn features(job: &Job) -> Features {
    let mut list = BTreeMap::new();
    let mut say = |kind: &str, name: &str, value: &ReadingValue| {
        let word = match value {
            ReadingValue::JudgedNormal => Some("judged_normal"),
            value => value.state(),
        };
        if let Some(word) = word {
            // Cylinders are alike to a rival: the worst, or last, one speaks.
            list.insert(format!("{kind} {name}"), word.to_owned());
        }
    };
    for entry in &job.entries {
        match &entry.body {
            EntryBody::Start(start) => {
                for sign in &start.signs {
                    say("sign", &sign.sign, &sign.value);
                }
            }
            EntryBody::Told(told) => {
                for told in told {
                    if let Told::Sign(sign) = told {
                        say("told", &sign.sign, &sign.value);
                    }
                }
            }
            EntryBody::Reading(reading) => say("check", &reading.check, &reading.value),
            _ => {}
        }
    }
    Features(list)
}

/// `part.fault` of a cause.
#[must_use]
pub fn fault_of(cause: &str) -> &str {
    cause.split(':').next().unwrap_or(cause)
}

/// Chances brought to shares of the faults, as far as they are needed: `1 - prod (1 - p)` over
/// cylinders for each fault, and the sum of these over all faults.
#[must_use]
pub fn parts_of(solved: &Solved) -> (Vec<(Arc<str>, f64)>, f64) {
    let mut none: Vec<(Arc<str>, f64)> = Vec::new();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for (cause, p) in &solved.chances {
        let fault = fault_of(cause);
        let at = *places.entry(fault).or_insert_with(|| {
            // A fault of the whole engine is named as its cause is.
            let name = if fault.len() == cause.len() {
                Arc::clone(cause)
            } else {
                fault.into()
            };
            none.push((name, 1.0));
            none.len() - 1
        });
        none[at].1 *= 1.0 - p;
    }
    none.iter_mut().for_each(|f| f.1 = 1.0 - f.1);
    let total = none.iter().map(|f| f.1).sum();
    (none, total)
}

/// `ln share` of a fault, held at the edge.
#[must_use]
pub fn log_share(share: Option<f64>) -> f64 {
    share.unwrap_or(0.0).max(LEAST).ln()
}

/// Counts of faults and of what was seen with them: the most common cause, and naive Bayes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Counted {
    total: f64,
    faults: BTreeMap<String, f64>,
    /// By fault, feature, word.
    seen: BTreeMap<String, BTreeMap<String, BTreeMap<String, f64>>>,
    words: BTreeMap<String, BTreeSet<String>>,
}

impl Counted {
    /// Adds a job with its first true cause.
    pub fn add(&mut self, features: &Features, cause: &str, weight: f64) {
        let fault = fault_of(cause).to_owned();
        self.total += weight;
        *self.faults.entry(fault.clone()).or_insert(0.0) += weight;
        let of_fault = self.seen.entry(fault).or_default();
        for (feature, word) in &features.0 {
            self.words
                .entry(feature.clone())
                .or_default()
                .insert(word.clone());
            let words = of_fault.entry(feature.clone()).or_default();
            *words.entry(word.clone()).or_insert(0.0) += weight;
        }
    }

    /// Whether anything was counted.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.total == 0.0
    }

    fn start(&self, every: &BTreeSet<String>) -> BTreeMap<String, f64> {
        #[expect(clippy::cast_precision_loss, reason = "a hundred faults")]
        let below = self.total + ADDED * every.len() as f64;
        let count = |f: &String| self.faults.get(f).copied().unwrap_or(0.0);
        every
            .iter()
            .map(|f| (f.clone(), (count(f) + ADDED) / below))
            .collect()
    }

    /// Shares of the faults that were met, whatever is seen: the most common is first.
    #[must_use]
    pub fn most_common(&self, every: &BTreeSet<String>) -> BTreeMap<String, f64> {
        self.start(every)
    }

    /// Naive Bayes: each thing seen speaks for itself; what was not looked at is skipped.
    #[must_use]
    pub fn naive_bayes(
        &self,
        features: &Features,
        every: &BTreeSet<String>,
    ) -> BTreeMap<String, f64> {
        let mut logs = self.start(every);
        for (fault, share) in &mut logs {
            let mut log = share.ln();
            for (feature, word) in &features.0 {
                let Some(words) = self.words.get(feature) else {
                    continue;
                };
                let seen = self.seen.get(fault).and_then(|s| s.get(feature));
                let total: f64 = seen.map_or(0.0, |s| s.values().sum());
                let count = seen.and_then(|s| s.get(word)).copied().unwrap_or(0.0);
                #[expect(clippy::cast_precision_loss, reason = "a few words")]
                let below = total + ADDED * words.len().max(2) as f64;
                log += ((count + ADDED) / below).ln();
            }
            *share = log;
        }
        let most = logs.values().copied().fold(f64::NEG_INFINITY, f64::max);
        logs.values_mut().for_each(|l| *l = (*l - most).exp());
        let total: f64 = logs.values().sum();
        logs.values_mut().for_each(|l| *l /= total);
        logs
    }
}
