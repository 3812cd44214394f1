//! Two classifiers of a general library as rivals: naive Bayes over counts, and logistic regression.
//!
//! Every word seen is a column of noughts and ones; what was not looked at is nought everywhere. The
//! classifiers give shares `s` of the faults they met in `n` jobs; a fault they never met gets what
//! Laplace leaves it among all `K` faults, `(n s + 1) / (n + K)`. Must not see the network.

use std::collections::{BTreeMap, BTreeSet};

use linfa::DatasetBase;
use linfa::traits::Fit;
use linfa_bayes::{MultinomialNb, NaiveBayes};
use linfa_logistic::{MultiFittedLogisticRegression, MultiLogisticRegression};
use ndarray::{Array1, Array2, Axis};

use super::rival::{Features, fault_of};

/// Naive Bayes over counts (`linfa-bayes`).
pub const COUNTS: &str = "classifier_bayes";
/// Logistic regression (`linfa-logistic`).
pub const LOGISTIC: &str = "classifier_logistic";
/// Jobs learnt from at most, the first ones: more cost minutes, and both are level by then. Own
/// judgement.
pub const MOST: usize = 2_000;
/// Fewest jobs to learn from; own judgement.
const FEWEST: usize = 20;
/// Rounds of the search for the logistic weights, and where it may stop. Own judgement.
const ROUNDS: u64 = 60;
const FLAT: f64 = 1e-3;
/// Weight of the squared logistic weights: the library's own.
const SHRINK: f64 = 1.0;

/// Jobs to learn from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Examples(Vec<(Features, String)>);

impl Examples {
    /// Takes in a job with its first true cause, unless there are enough.
    pub fn add(&mut self, features: &Features, cause: &str) {
        if self.0.len() < MOST {
            self.0.push((features.clone(), fault_of(cause).to_owned()));
        }
    }
}

/// Both classifiers.
#[derive(Debug)]
pub struct Classifiers {
    /// Column of each word seen.
    columns: BTreeMap<(String, String), usize>,
    /// Faults met, by class.
    faults: Vec<String>,
    jobs: usize,
    counts: MultinomialNb<f64, usize>,
    logistic: MultiFittedLogisticRegression<f64, usize>,
}

impl Classifiers {
    /// Learns from examples; nothing where they are too few, all of one fault, or a library says no.
    #[must_use]
    pub fn learn(examples: &Examples) -> Option<Self> {
        let jobs = examples.0.len();
        let every = examples.0.iter().flat_map(|(f, _)| f.0.iter());
        let words: BTreeSet<_> = every.map(|(f, w)| (f.clone(), w.clone())).collect();
        let columns: BTreeMap<_, _> = words.into_iter().zip(0..).collect();
        let met: BTreeSet<_> = examples.0.iter().map(|e| e.1.clone()).collect();
        let faults: Vec<String> = met.into_iter().collect();
        if jobs < FEWEST || faults.len() < 2 || columns.is_empty() {
            return None;
        }
        let mut seen = Array2::zeros((jobs, columns.len()));
        for (at, (features, _)) in examples.0.iter().enumerate() {
            mark(&columns, features, |column| seen[[at, column]] = 1.0);
        }
        let class = |fault: &String| faults.binary_search(fault).unwrap_or_default();
        let classes: Array1<usize> = examples.0.iter().map(|e| class(&e.1)).collect();
        let known = DatasetBase::new(seen, classes);
        let counts = MultinomialNb::params().fit(&known).ok()?;
        let logistic = MultiLogisticRegression::default()
            .alpha(SHRINK)
            .max_iterations(ROUNDS)
            .gradient_tolerance(FLAT);
        let logistic = logistic.fit(&known).ok()?;
        Some(Self {
            columns,
            faults,
            jobs,
            counts,
            logistic,
        })
    }

    /// Shares of all faults by either, by the name of the classifier.
    #[must_use]
    pub fn shares(
        &self,
        features: &Features,
        every: &BTreeSet<String>,
    ) -> [(&'static str, BTreeMap<String, f64>); 2] {
        let mut seen = Array2::zeros((1, self.columns.len()));
        mark(&self.columns, features, |column| seen[[0, column]] = 1.0);
        let logs = self.counts.joint_log_likelihood(seen.view());
        // The library's map has no order: sums are made in that of the classes.
        let logs: BTreeMap<usize, f64> = logs.into_iter().map(|(c, l)| (*c, l[0])).collect();
        let most = logs.values().copied().fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.values().map(|l| (l - most).exp()).sum();
        let counts = logs.iter().map(|(c, l)| (*c, (l - most).exp() / total));
        let logistic = self.logistic.predict_probabilities(&seen);
        let logistic = logistic.index_axis(Axis(0), 0).to_vec();
        let classes = self.logistic.classes().iter().copied();
        [
            (COUNTS, self.over(counts, every)),
            (LOGISTIC, self.over(classes.zip(logistic), every)),
        ]
    }

    fn over(
        &self,
        shares: impl Iterator<Item = (usize, f64)>,
        every: &BTreeSet<String>,
    ) -> BTreeMap<String, f64> {
        #[expect(clippy::cast_precision_loss, reason = "thousands of jobs")]
        let (jobs, faults) = (self.jobs as f64, every.len() as f64);
        let mut all: BTreeMap<String, f64> = every
            .iter()
            .map(|f| (f.clone(), 1.0 / (jobs + faults)))
            .collect();
        for (class, share) in shares {
            if let Some(of) = all.get_mut(&self.faults[class]) {
                *of += jobs * share / (jobs + faults);
            }
        }
        all
    }
}

fn mark(
    columns: &BTreeMap<(String, String), usize>,
    features: &Features,
    mut put: impl FnMut(usize),
) {
    for (feature, word) in &features.0 {
        if let Some(column) = columns.get(&(feature.clone(), word.clone())) {
            put(*column);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(words: &[(&str, &str)]) -> Features {
        let pair = |(f, w): &(&str, &str)| ((*f).to_owned(), (*w).to_owned());
        Features(words.iter().map(pair).collect())
    }

    /// Thirty jobs of `a.x`, all white; ten of `b.x`, all black.
    fn examples() -> Examples {
        let mut examples = Examples::default();
        for n in 0..40 {
            let (fault, smoke) = if n % 4 == 0 {
                ("b.x:2", "black")
            } else {
                ("a.x", "white")
            };
            examples.add(&seen(&[("sign smoke", smoke)]), fault);
        }
        examples
    }

    /// By hand: columns black, white. With one added to each count, P(white | a) = 31/32,
    /// P(white | b) = 1/12, so of white smoke a has .75 x 31/32 against .25 x 1/12; then with
    /// n = 40 and K = 3.
    #[test]
    fn counts_say_what_the_hand_says() {
        let every: BTreeSet<String> = ["a.x", "b.x", "c.x"].map(str::to_owned).into();
        let learnt = Classifiers::learn(&examples()).unwrap();
        let shares = learnt.shares(&seen(&[("sign smoke", "white")]), &every);
        let (a, b) = (0.75 * 31.0 / 32.0, 0.25 / 12.0);
        let of = |share: f64| (40.0 * share + 1.0) / 43.0;
        assert!((shares[0].1["a.x"] - of(a / (a + b))).abs() < 1e-12);
        assert!((shares[0].1["c.x"] - of(0.0)).abs() < 1e-12);
        for (name, shares) in &shares {
            assert!((shares.values().sum::<f64>() - 1.0).abs() < 1e-9, "{name}");
            assert!(shares["a.x"] > 0.8, "{name} {shares:?}");
        }
        // Nothing seen: naive Bayes gives the shares met, three to one.
        let shares = learnt.shares(&seen(&[]), &every);
        assert!((shares[0].1["a.x"] - of(0.75)).abs() < 1e-12);
        // A word never met says nothing, and black speaks for b.
        let shares = learnt.shares(&seen(&[("sign smoke", "black"), ("odd", "word")]), &every);
        assert!(shares.iter().all(|(_, s)| s["b.x"] > s["a.x"]));
    }

    #[test]
    fn of_few_jobs_or_one_fault_nothing_is_learnt() {
        let mut one = Examples::default();
        for _ in 0..FEWEST {
            assert!(Classifiers::learn(&one).is_none());
            one.add(&seen(&[("sign smoke", "white")]), "a.x");
        }
        assert!(Classifiers::learn(&one).is_none(), "one fault only");
    }
}
