//! A batch of jobs, scored: one line a job, in their order.
//!
//! Must not read or write files, or sum.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

use super::label::{Label, Labels, label, shop};
use super::line::{Line, Outcomes};
use super::rival::{Counted, fault_of, features, log_share, shares_of};
use super::solve::{SolveError, Solved, Solver};
use super::split::engine;
use super::take::{AsOf, Taken, bare, bare_key, take};
use crate::job::Job;
use crate::knowledge::Knowledge;

/// The answers themselves, on the scale of the rivals.
pub const ANSWERS: &str = "answers";
/// What the figures say before anything was seen or read.
pub const FIGURES_ONLY: &str = "figures_only";
/// Always the most common cause.
pub const MOST_COMMON: &str = "most_common";
/// Naive Bayes over what was seen.
pub const NAIVE_BAYES: &str = "naive_bayes";

/// How jobs are scored.
#[derive(Debug)]
pub struct Scorer<'k> {
    knowledge: &'k Knowledge,
    solver: Solver<'k>,
    as_of: AsOf,
    labels: Labels,
    trained: Counted,
    #[cfg(feature = "classifiers")]
    classifiers: Option<super::classifier::Classifiers>,
    faults: BTreeSet<String>,
    /// Shares before anything was seen, by engine, past and temperature.
    bare: Mutex<BTreeMap<String, Option<BTreeMap<String, f64>>>>,
}

/// Kinds of bare jobs kept.
const MOST_BARE: usize = 4096;

/// A scored job.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    /// Its line.
    pub line: Line,
    /// All chances and outcomes.
    pub outcomes: Outcomes,
}

impl<'k> Scorer<'k> {
    /// A scorer; `trained` are the jobs the simple rivals learnt from, perhaps none.
    #[must_use]
    pub fn new(
        knowledge: &'k Knowledge,
        as_of: AsOf,
        labels: Labels,
        trained: Counted,
        most_bytes: usize,
        widest: f64,
    ) -> Self {
        let mut faults = BTreeSet::new();
        for part in &knowledge.parts {
            for fault in part.fault.iter().filter(|f| !f.wear_only) {
                faults.insert(format!("{}.{}", part.id.get_ref(), fault.id.get_ref()));
            }
        }
        Self {
            knowledge,
            solver: Solver::new(knowledge, most_bytes, widest),
            as_of,
            labels,
            trained,
            #[cfg(feature = "classifiers")]
            classifiers: None,
            faults,
            bare: Mutex::new(BTreeMap::new()),
        }
    }

    /// The same, with classifiers beside the simple rivals.
    #[cfg(feature = "classifiers")]
    #[must_use]
    pub fn beside(mut self, examples: &super::classifier::Examples) -> Self {
        self.classifiers = super::classifier::Classifiers::learn(examples);
        self
    }

    /// The solver.
    #[must_use]
    pub fn solver(&self) -> &Solver<'k> {
        &self.solver
    }

    /// Scores jobs.
    #[must_use]
    pub fn score(&self, jobs: &[&Job]) -> Vec<Scored> {
        let taken = jobs.iter().map(|j| take(j, self.as_of)).collect::<Vec<_>>();
        let keys = taken.iter().map(|t| bare_key(&t.job)).collect::<Vec<_>>();
        let mut known = self.bare.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() > MOST_BARE {
            // Dropping them changes no score, only the time to solve them again.
            known.clear();
        }
        let mut wanted: BTreeMap<&String, Job> = BTreeMap::new();
        for (key, taken) in keys.iter().zip(&taken) {
            if !known.contains_key(key) {
                wanted.entry(key).or_insert_with(|| bare(&taken.job));
            }
        }
        let mut all = taken.iter().map(|t| &t.job).collect::<Vec<_>>();
        all.extend(wanted.values());
        let mut solved = self.solver.solve(&all);
        let bare = solved.split_off(jobs.len());
        for (key, solved) in wanted.into_keys().zip(bare) {
            known.insert(key.clone(), solved.ok().map(|s| shares_of(&s)));
        }
        let zipped = jobs.iter().zip(&taken).zip(solved.iter().zip(&keys));
        zipped
            .map(|((job, taken), (solved, key))| {
                let bare = known.get(key).and_then(Option::as_ref);
                self.one(job, taken, solved, bare)
            })
            .collect()
    }

    fn one(
        &self,
        job: &Job,
        taken: &Taken,
        solved: &Result<Solved, SolveError>,
        bare: Option<&BTreeMap<String, f64>>,
    ) -> Scored {
        let mut line = Line::empty(&job.job, &self.knowledge.sha256);
        line.shop = shop(job).map(str::to_owned);
        line.engine = engine(job);
        line.used = taken.used;
        let left_out = taken.left_out.iter();
        line.left_out = left_out.map(|(w, n)| ((*w).to_owned(), *n)).collect();
        let label = label(job, self.knowledge, self.labels);
        let mut outcomes = Outcomes::default();
        match (solved, &label) {
            (Err(error), _) => line.flags.push(error.flag().to_owned()),
            (Ok(_), None) => line.flags.push("no_label".to_owned()),
            (Ok(solved), Some(label)) => {
                outcomes = line.score(solved, label);
                line.rivals = self.rivals(taken, label, solved, bare);
            }
        }
        Scored { line, outcomes }
    }

    fn rivals(
        &self,
        taken: &Taken,
        label: &Label,
        solved: &Solved,
        bare: Option<&BTreeMap<String, f64>>,
    ) -> BTreeMap<String, f64> {
        let mut scores = BTreeMap::new();
        let Some(fault) = label.causes.first().map(|c| fault_of(c)) else {
            return scores;
        };
        let mut put = |name: &str, shares: &BTreeMap<String, f64>| {
            scores.insert(name.to_owned(), log_share(shares, fault));
        };
        put(ANSWERS, &shares_of(solved));
        if let Some(bare) = bare {
            put(FIGURES_ONLY, bare);
        }
        if !self.trained.is_empty() {
            put(MOST_COMMON, &self.trained.most_common(&self.faults));
            let features = features(&taken.job);
            put(
                NAIVE_BAYES,
                &self.trained.naive_bayes(&features, &self.faults),
            );
        }
        #[cfg(feature = "classifiers")]
        if let Some(classifiers) = &self.classifiers {
            for (name, shares) in classifiers.shares(&features(&taken.job), &self.faults) {
                put(name, &shares);
            }
        }
        scores
    }
}
