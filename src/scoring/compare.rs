//! Two scorings of the same jobs, paired by job.
//!
//! The difference of means with a bootstrap interval over jobs; jobs better and worse; flips of
//! the first place. Must not score.

use std::collections::BTreeMap;

use super::interval::{Interval, bootstrap_mean};
use super::line::Line;

/// Draws of the bootstrap.
pub const DRAWS: usize = 2000;
const CONFIDENCE: f64 = 0.95;
/// Log scores that differ by less are level.
const LEVEL: f64 = 1e-9;

/// A job whose true cause came to the first place, or left it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flip {
    /// Job.
    pub job: String,
    /// Best place of a true cause in the first scoring.
    pub before: usize,
    /// In the second.
    pub after: usize,
}

/// The second scoring against the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Jobs in both.
    pub paired: usize,
    /// Jobs in the first only.
    pub only_first: usize,
    /// Jobs in the second only.
    pub only_second: usize,
    /// Jobs whose labels differ; they are not compared.
    pub other_labels: usize,
    /// Mean of second less first by measure, with its interval: above nought the second is
    /// better in `log_score` and `log_score_all`, below nought in `brier`.
    pub differences: BTreeMap<String, (f64, Interval)>,
    /// Jobs on which the second has the better `log_score_all`.
    pub better: usize,
    /// The worse.
    pub worse: usize,
    /// Flips, in the order of the first scoring.
    pub flips: Vec<Flip>,
}

/// Compares two scorings.
#[must_use]
pub fn compare(first: &[Line], second: &[Line], seed: u64) -> Comparison {
    let by_job = second
        .iter()
        .map(|l| (l.job.as_str(), l))
        .collect::<BTreeMap<_, _>>();
    let mut differences: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let mut result = Comparison {
        paired: 0,
        only_first: 0,
        only_second: 0,
        other_labels: 0,
        differences: BTreeMap::new(),
        better: 0,
        worse: 0,
        flips: Vec::new(),
    };
    for a in first {
        let Some(b) = by_job.get(a.job.as_str()) else {
            result.only_first += 1;
            continue;
        };
        if a.causes != b.causes {
            result.other_labels += 1;
            continue;
        }
        let measures = [
            ("log_score", a.log_score, b.log_score),
            ("log_score_all", a.log_score_all, b.log_score_all),
            ("brier", a.brier, b.brier),
        ];
        for (name, a, b) in measures {
            if let (Some(a), Some(b)) = (a, b) {
                differences.entry(name.to_owned()).or_default().push(b - a);
            }
        }
        if let (Some(a), Some(b)) = (a.log_score_all, b.log_score_all) {
            result.paired += 1;
            result.better += usize::from(b - a > LEVEL);
            result.worse += usize::from(a - b > LEVEL);
        }
        let best = |l: &Line| l.rank_true.iter().copied().min();
        if let (Some(before), Some(after)) = (best(a), best(b))
            && (before == 1) != (after == 1)
        {
            result.flips.push(Flip {
                job: a.job.clone(),
                before,
                after,
            });
        }
    }
    let known = first
        .iter()
        .map(|l| l.job.as_str())
        .collect::<std::collections::BTreeSet<_>>();
    result.only_second = second
        .iter()
        .filter(|l| !known.contains(l.job.as_str()))
        .count();
    for (name, values) in differences {
        #[expect(clippy::cast_precision_loss, reason = "counts of jobs")]
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        if let Some(interval) = bootstrap_mean(&values, DRAWS, CONFIDENCE, seed) {
            result.differences.insert(name, (mean, interval));
        }
    }
    result
}
