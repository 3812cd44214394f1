//! Fitted figures against the starter figures on jobs that were held out of the fit.
//!
//! Must not fit or measure.

use std::path::Path;

use super::failure::Failure;
use super::jobs_in::Jobs;
use super::usage;
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::report::fit_text;
use crate::scoring::batch::Scorer;
use crate::scoring::compare::{Comparison, compare};
use crate::scoring::label::Labels;
use crate::scoring::line::Line;
use crate::scoring::rival::Counted;
use crate::scoring::solve::WIDEST;
use crate::scoring::split::Split;
use crate::scoring::take::AsOf;

/// Bytes of programs kept while scoring.
const PROGRAMS: usize = 256 << 20;
/// Jobs worked on at a time.
const AT_A_TIME: usize = 256;

/// How the two sets of figures did.
#[derive(Debug)]
pub struct HeldOut {
    jobs: usize,
    comparison: Comparison,
}

impl HeldOut {
    /// As the report tells it.
    pub fn told(&self) -> fit_text::HeldOut<'_> {
        fit_text::HeldOut {
            jobs: self.jobs,
            comparison: &self.comparison,
        }
    }
}

/// Scores the jobs held out under both.
///
/// # Errors
/// When the file cannot be read.
pub fn held_out(
    file: &Path,
    knowledge: &Knowledge,
    layer: &str,
    split: &Split,
    seed: u64,
) -> Result<HeldOut, Failure> {
    let starter = lines(file, knowledge, split)?;
    let fitted = match knowledge.clone().with_layer(layer) {
        Ok((fitted, _)) => fitted,
        // A layer just written over these figures lies over them.
        Err(_) => knowledge.clone(),
    };
    let fitted = lines(file, &fitted, split)?;
    Ok(HeldOut {
        jobs: starter.len(),
        comparison: compare(&starter, &fitted, seed),
    })
}

fn lines(file: &Path, knowledge: &Knowledge, split: &Split) -> Result<Vec<Line>, Failure> {
    let rivals = Counted::default();
    let labels = Labels::Found;
    let scorer = Scorer::new(
        knowledge,
        AsOf::BeforeRepair,
        labels,
        rivals,
        PROGRAMS,
        WIDEST,
    );
    let mut jobs = Jobs::open(&file.display().to_string(), knowledge, || {
        usage::page("fit")
    })?;
    let mut lines = Vec::new();
    while let Some(batch) = jobs.next(AT_A_TIME)? {
        let held = batch.iter().map(|b| &b.1).filter(|j| split.holds_out(j));
        let held = held.collect::<Vec<&Job>>();
        lines.extend(scorer.score(&held).into_iter().map(|s| s.line));
    }
    Ok(lines)
}
