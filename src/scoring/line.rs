//! The score of one job.
//!
//! Must not sum over jobs.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::label::Label;
use super::measure::{log_chance, ranks};
use super::solve::Solved;

/// Schema of a line.
pub const SCHEMA: &str = "hardstart/score/1";

/// The score of one job. Chances are fractions, logarithms natural.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// [`SCHEMA`].
    pub schema: String,
    /// Job.
    pub job: String,
    /// Shop, if the job says.
    #[serde(default)]
    pub shop: Option<String>,
    /// Kind of engine, `chamber/preheat`.
    #[serde(default)]
    pub engine: String,
    /// Causes taken as there.
    #[serde(rename = "true")]
    pub causes: Vec<String>,
    /// How they were shown; `simulated` for a simulated truth.
    pub proof: Option<String>,
    /// What the label is worth, 0 to 1.
    pub weight: f64,
    /// Chance given to each of them.
    pub p_true: Vec<f64>,
    /// Place of each among all causes, from 1.
    pub rank_true: Vec<usize>,
    /// Mean of `ln p` over the true causes; `null` without one.
    pub log_score: Option<f64>,
    /// Sum over all causes of `ln p` where it is there and `ln (1 - p)` where it is not.
    pub log_score_all: Option<f64>,
    /// Sum over all causes of `(p - y)^2`.
    pub brier: Option<f64>,
    /// Chance of the likeliest cause.
    pub top: Option<f64>,
    /// The likeliest cause.
    pub first: Option<String>,
    /// Entries used.
    pub used: usize,
    /// Entries left out, by reason.
    pub left_out: BTreeMap<String, usize>,
    /// Scores of rivals by name: `log_score_all` of each.
    #[serde(default)]
    pub rivals: BTreeMap<String, f64>,
    /// Hash of the figures.
    pub figures_sha256: String,
    /// What else should be known of the line.
    pub flags: Vec<String>,
}

/// Chances and outcomes of all causes of one job, for sums over jobs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outcomes {
    /// Chance and whether the cause is there.
    pub pairs: Vec<(f64, bool)>,
}

impl Line {
    /// A line with nothing but the job.
    #[must_use]
    pub fn empty(job: &str, figures_sha256: &str) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            job: job.to_owned(),
            shop: None,
            engine: String::new(),
            causes: Vec::new(),
            proof: None,
            weight: 0.0,
            p_true: Vec::new(),
            rank_true: Vec::new(),
            log_score: None,
            log_score_all: None,
            brier: None,
            top: None,
            first: None,
            used: 0,
            left_out: BTreeMap::new(),
            rivals: BTreeMap::new(),
            figures_sha256: figures_sha256.to_owned(),
            flags: Vec::new(),
        }
    }

    /// Puts the score of chances against a label in; gives all chances and outcomes.
    pub fn score(&mut self, solved: &Solved, label: &Label) -> Outcomes {
        let chances = solved.chances.iter().map(|c| c.1).collect::<Vec<_>>();
        let mut wanted = Vec::new();
        for cause in &label.causes {
            match solved.chances.iter().position(|c| *c.0 == **cause) {
                Some(at) => {
                    wanted.push(at);
                    self.causes.push(cause.clone());
                }
                None => self.flags.push(format!("not_a_cause:{cause}")),
            }
        }
        let there = |at: usize| wanted.contains(&at);
        let pairs = chances.iter().enumerate().map(|(at, p)| (*p, there(at)));
        let pairs = pairs.collect::<Vec<_>>();
        self.p_true = wanted.iter().map(|at| chances[*at]).collect();
        self.rank_true = ranks(&chances, &wanted);
        #[expect(clippy::cast_precision_loss, reason = "a few causes")]
        let n = wanted.len() as f64;
        let logs = self.p_true.iter().map(|p| log_chance(*p, true));
        self.log_score = (n > 0.0).then(|| logs.sum::<f64>() / n);
        self.log_score_all = Some(pairs.iter().map(|(p, y)| log_chance(*p, *y)).sum());
        self.brier = Some(pairs.iter().map(|(p, y)| (p - f64::from(*y)).powi(2)).sum());
        let first =
            (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b]).then(b.cmp(a)));
        self.top = first.map(|at| chances[at]);
        self.first = first.map(|at| solved.chances[at].0.to_string());
        self.proof = Some(label.proof.map_or("simulated", |p| p.id()).to_owned());
        self.weight = label.weight;
        Outcomes { pairs }
    }
}
