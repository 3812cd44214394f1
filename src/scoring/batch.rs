//! A batch of jobs, scored: one line a job, in their order.
//!
//! Must not read or write files, or sum.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;

use super::known::{Answer, Known};
use super::label::{Label, Labels, label, shop};
use super::line::{Line, Outcomes};
use super::rival::{Counted, fault_of, features, log_share};
use super::solve::Solver;
use super::split::engine;
use super::take::{AsOf, Taken, bare, key, take};
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
    known: Known,
}

/// A job as it is asked: cut down, and bare of everything seen, each with what decides its answer.
struct Asked {
    taken: Taken,
    key: String,
    bare: Job,
    bare_key: String,
}

impl Asked {
    fn new(job: &Job, as_of: AsOf) -> Self {
        let taken = take(job, as_of);
        let bare = bare(&taken.job);
        Self {
            key: key(taken.job.clone()),
            bare_key: key(bare.clone()),
            bare,
            taken,
        }
    }
}

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
            known: Known::default(),
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
        let asked = jobs.par_iter().map(|job| Asked::new(job, self.as_of));
        let asked = asked.collect::<Vec<_>>();
        let answers = self.answers(&asked);
        let zipped = jobs.par_iter().zip(&asked);
        zipped
            .map(|(job, asked)| {
                let bare = &answers[asked.bare_key.as_str()];
                self.one(job, &asked.taken, &answers[asked.key.as_str()], bare)
            })
            .collect()
    }

    /// The answers to everything that is asked, what was answered before among them.
    fn answers<'a>(&self, asked: &'a [Asked]) -> BTreeMap<&'a str, Arc<Answer>> {
        let mut answers = BTreeMap::new();
        let mut wanted: BTreeMap<&str, &Job> = BTreeMap::new();
        for one in asked {
            for (key, job) in [(&one.key, &one.taken.job), (&one.bare_key, &one.bare)] {
                if answers.contains_key(key.as_str()) || wanted.contains_key(key.as_str()) {
                    continue;
                }
                match self.known.get(key) {
                    Some(known) => {
                        answers.insert(key.as_str(), known);
                    }
                    None => {
                        wanted.insert(key, job);
                    }
                }
            }
        }
        let solved = self
            .solver
            .solve(&wanted.values().copied().collect::<Vec<_>>());
        for (key, solved) in wanted.into_keys().zip(solved) {
            let answer = Arc::new(Answer::new(solved));
            self.known.keep(key.to_owned(), &answer);
            answers.insert(key, answer);
        }
        answers
    }

    fn one(&self, job: &Job, taken: &Taken, answer: &Answer, bare: &Answer) -> Scored {
        let mut line = Line::empty(&job.job, &self.knowledge.sha256);
        line.shop = shop(job).map(str::to_owned);
        line.engine = engine(job);
        line.used = taken.used;
        let left_out = taken.left_out.iter();
        line.left_out = left_out.map(|(w, n)| ((*w).to_owned(), *n)).collect();
        let label = label(job, self.knowledge, self.labels);
        let mut outcomes = Outcomes::default();
        match (&answer.solved, &label) {
            (Err(error), _) => line.flags.push(error.flag().to_owned()),
            (Ok(_), None) => line.flags.push("no_label".to_owned()),
            (Ok(solved), Some(label)) => {
                outcomes = line.score(solved, label);
                line.rivals = self.rivals(taken, label, answer, bare);
            }
        }
        Scored { line, outcomes }
    }

    fn rivals(
        &self,
        taken: &Taken,
        label: &Label,
        answer: &Answer,
        bare: &Answer,
    ) -> BTreeMap<String, f64> {
        let mut scores = BTreeMap::new();
        let Some(fault) = label.causes.first().map(|c| fault_of(c)) else {
            return scores;
        };
        let mut put = |name: &str, share: Option<f64>| {
            scores.insert(name.to_owned(), log_share(share));
        };
        put(ANSWERS, answer.share(fault));
        if bare.solved.is_ok() {
            put(FIGURES_ONLY, bare.share(fault));
        }
        if !self.trained.is_empty() {
            let of = |shares: &BTreeMap<String, f64>| shares.get(fault).copied();
            put(MOST_COMMON, of(&self.trained.most_common(&self.faults)));
            let features = features(&taken.job);
            let bayes = self.trained.naive_bayes(&features, &self.faults);
            put(NAIVE_BAYES, of(&bayes));
        }
        #[cfg(feature = "classifiers")]
        if let Some(classifiers) = &self.classifiers {
            for (name, shares) in classifiers.shares(&features(&taken.job), &self.faults) {
                put(name, shares.get(fault).copied());
            }
        }
        scores
    }
}
