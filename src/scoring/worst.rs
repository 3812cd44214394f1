//! The jobs with the lowest scores, and which entries misled most.
//!
//! An entry misled by what the log score gains when it alone is left out. Must not word.

use super::batch::Scorer;
use super::line::Line;
use crate::job::{Entry, Job};

/// Entries named for a job.
const NAMED: usize = 3;
/// Gains below this are no misleading.
const LEAST: f64 = 0.01;

/// The lowest so far.
#[derive(Debug, Clone, Default)]
pub struct Worst {
    most: usize,
    kept: Vec<(Line, Job)>,
}

/// One of the lowest with what misled.
#[derive(Debug, Clone, PartialEq)]
pub struct Misled {
    /// Its line.
    pub line: Line,
    /// Entries and what `log_score_all` gains without them, greatest first.
    pub by: Vec<(Entry, f64)>,
}

impl Worst {
    /// Keeps so many.
    #[must_use]
    pub fn new(most: usize) -> Self {
        Self {
            most,
            kept: Vec::new(),
        }
    }

    /// Offers a scored job.
    pub fn offer(&mut self, line: &Line, job: &Job) {
        let Some(score) = line.log_score_all else {
            return;
        };
        let place = self
            .kept
            .partition_point(|(l, _)| l.log_score_all.is_some_and(|s| s <= score));
        if place < self.most {
            self.kept.insert(place, (line.clone(), job.clone()));
            self.kept.truncate(self.most);
        }
    }

    /// What misled at each, the lowest first.
    #[must_use]
    pub fn misled(self, scorer: &Scorer<'_>) -> Vec<Misled> {
        let one = |(line, job): (Line, Job)| {
            let without = (0..job.entries.len()).map(|at| {
                let mut less = job.clone();
                less.entries[at].set_aside = Some("to see what it moved".to_owned());
                less
            });
            let without = without.collect::<Vec<_>>();
            let scored = scorer.score(&without.iter().collect::<Vec<_>>());
            let before = line.log_score_all.unwrap_or(0.0);
            let mut by = job
                .entries
                .iter()
                .zip(scored)
                .filter(|(_, s)| s.line.used < line.used)
                .filter_map(|(e, s)| Some((e.clone(), s.line.log_score_all? - before)))
                .filter(|(_, gain)| *gain > LEAST)
                .collect::<Vec<_>>();
            by.sort_by(|a, b| b.1.total_cmp(&a.1));
            by.truncate(NAMED);
            Misled { line, by }
        };
        self.kept.into_iter().map(one).collect()
    }
}
