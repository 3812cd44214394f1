//! Sums over scored jobs: all a summary needs, in a fixed amount of memory.
//!
//! Sums are exact, so parts of a run merge to the whole. Intervals of means come from a
//! resampling that needs no second look at the jobs: in each of a fixed number of draws a job
//! counts as often as a Poisson number of mean one, drawn from its own stream (Hanley and
//! MacGibbon 2006). Must not hold jobs.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::batch::Scored;
use super::interval::{Interval, percentiles, wilson};
use super::isotonic::{Curve, Point, isotonic};
use super::line::{Line, Outcomes};
use super::measure::{Decomposition, Forecast, decompose};
use crate::learning::exact_sum::ExactSum;
use crate::learning::simulate::Luck;

/// Draws of the resampling.
const DRAWS: usize = 400;
/// Confidence of the intervals.
pub const CONFIDENCE: f64 = 0.95;
/// Bins of the calibration curve; the table shows tens of them.
const BINS: usize = 500;
/// Rows of the calibration table.
const ROWS: usize = 10;
/// Depths at which the first places are counted.
const TOPS: [usize; 3] = [1, 3, 5];

/// Weight, sum of forecasts, sum of outcomes of one bin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
struct Bin {
    n: u64,
    weight: ExactSum,
    forecast: ExactSum,
    observed: ExactSum,
    square: ExactSum,
}

/// A weighted mean with its draws.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Mean {
    sum: ExactSum,
    weight: ExactSum,
    draws: Vec<(ExactSum, ExactSum)>,
}

impl Default for Mean {
    fn default() -> Self {
        Self {
            sum: ExactSum::default(),
            weight: ExactSum::default(),
            draws: vec![(ExactSum::default(), ExactSum::default()); DRAWS],
        }
    }
}

impl Mean {
    fn add(&mut self, value: f64, weight: f64, times: &[u32]) {
        let (value, weight) = (ExactSum::of(value * weight), ExactSum::of(weight));
        self.sum.merge(value);
        self.weight.merge(weight);
        for (draw, times) in self.draws.iter_mut().zip(times) {
            if *times > 0 {
                draw.0.add_times(value, *times);
                draw.1.add_times(weight, *times);
            }
        }
    }

    fn merge(&mut self, other: &Self) {
        self.sum.merge(other.sum);
        self.weight.merge(other.weight);
        for (own, other) in self.draws.iter_mut().zip(&other.draws) {
            own.0.merge(other.0);
            own.1.merge(other.1);
        }
    }

    fn estimate(&self) -> Option<Estimate> {
        let weight = self.weight.value();
        let drawn = self.draws.iter().filter(|d| d.1.value() > 0.0);
        let mut drawn = drawn.map(|d| d.0.value() / d.1.value()).collect::<Vec<_>>();
        (weight > 0.0).then(|| Estimate {
            value: self.sum.value() / weight,
            interval: percentiles(&mut drawn, CONFIDENCE),
        })
    }
}

/// A figure with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

/// Sums over scored jobs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Jobs read.
    pub jobs: u64,
    /// Jobs with chances and a label.
    pub scored: u64,
    /// Flags and how many lines carry them, what follows a colon left out.
    pub flags: BTreeMap<String, u64>,
    log_score: Mean,
    log_score_all: Mean,
    brier: Mean,
    rank: Mean,
    tops: [ExactSum; 3],
    causes: ExactSum,
    rivals: BTreeMap<String, Mean>,
    bins: Vec<Bin>,
}

impl Default for Summary {
    fn default() -> Self {
        Self {
            jobs: 0,
            scored: 0,
            flags: BTreeMap::new(),
            log_score: Mean::default(),
            log_score_all: Mean::default(),
            brier: Mean::default(),
            rank: Mean::default(),
            tops: [ExactSum::default(); 3],
            causes: ExactSum::default(),
            rivals: BTreeMap::new(),
            bins: vec![Bin::default(); BINS],
        }
    }
}

/// One row of the calibration table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalibrationRow {
    /// Lower and upper edge of the chances in it.
    pub from: f64,
    /// Upper edge.
    pub to: f64,
    /// Number of chances.
    pub n: u64,
    /// Mean chance.
    pub forecast: f64,
    /// Share that came true.
    pub observed: f64,
    /// Wilson interval of that share.
    pub interval: Interval,
}

impl Summary {
    /// Sums over lines with their places in the whole input, in parts on all threads: sums are
    /// exact, so the parts do not matter.
    #[must_use]
    pub fn of(lines: &[(u64, &Scored)]) -> Self {
        let parts = lines.par_chunks(lines.len().div_ceil(rayon::current_num_threads()).max(1));
        let parts = parts.map(|part| {
            let mut sums = Self::default();
            for (at, scored) in part {
                sums.add(*at, &scored.line, &scored.outcomes);
            }
            sums
        });
        parts
            .reduce_with(|mut a, b| {
                a.merge(&b);
                a
            })
            .unwrap_or_default()
    }

    /// Adds the line of job number `at` of the whole input.
    pub fn add(&mut self, at: u64, line: &Line, outcomes: &Outcomes) {
        self.jobs += 1;
        for flag in &line.flags {
            let name = flag.split(':').next().unwrap_or(flag);
            *self.flags.entry(name.to_owned()).or_insert(0) += 1;
        }
        let (Some(all), Some(brier)) = (line.log_score_all, line.brier) else {
            return;
        };
        self.scored += 1;
        let times = times(at);
        let w = line.weight;
        self.log_score_all.add(all, w, &times);
        self.brier.add(brier, w, &times);
        if let Some(log) = line.log_score {
            self.log_score.add(log, w, &times);
        }
        for rank in &line.rank_true {
            #[expect(clippy::cast_precision_loss, reason = "places")]
            self.rank.add(*rank as f64, w, &times);
            self.causes.add(w);
            for (top, depth) in self.tops.iter_mut().zip(TOPS) {
                top.add(if *rank <= depth { w } else { 0.0 });
            }
        }
        for (name, score) in &line.rivals {
            self.rivals
                .entry(name.clone())
                .or_default()
                .add(*score, w, &times);
        }
        for (p, y) in &outcomes.pairs {
            let bin = &mut self.bins[bin_of(*p)];
            bin.n += 1;
            bin.weight.add(w);
            bin.forecast.add(w * p);
            bin.observed.add(w * f64::from(*y));
            bin.square.add(w * (p - f64::from(*y)).powi(2));
        }
    }

    /// Adds the sums of another part of the same input.
    pub fn merge(&mut self, other: &Self) {
        self.jobs += other.jobs;
        self.scored += other.scored;
        for (flag, n) in &other.flags {
            *self.flags.entry(flag.clone()).or_insert(0) += n;
        }
        self.log_score.merge(&other.log_score);
        self.log_score_all.merge(&other.log_score_all);
        self.brier.merge(&other.brier);
        self.rank.merge(&other.rank);
        for (own, other) in self.tops.iter_mut().zip(&other.tops) {
            own.merge(*other);
        }
        self.causes.merge(other.causes);
        for (name, mean) in &other.rivals {
            self.rivals.entry(name.clone()).or_default().merge(mean);
        }
        for (own, other) in self.bins.iter_mut().zip(&other.bins) {
            own.n += other.n;
            own.weight.merge(other.weight);
            own.forecast.merge(other.forecast);
            own.observed.merge(other.observed);
            own.square.merge(other.square);
        }
    }

    /// Mean of the lines' `log_score`: `ln p` of the true causes.
    #[must_use]
    pub fn log_score(&self) -> Option<Estimate> {
        self.log_score.estimate()
    }

    /// Mean of the lines' `log_score_all`: the proper one, over all causes.
    #[must_use]
    pub fn log_score_all(&self) -> Option<Estimate> {
        self.log_score_all.estimate()
    }

    /// Mean Brier score over all causes of a job.
    #[must_use]
    pub fn brier(&self) -> Option<Estimate> {
        self.brier.estimate()
    }

    /// Mean place of the true causes.
    #[must_use]
    pub fn rank(&self) -> Option<Estimate> {
        self.rank.estimate()
    }

    /// Share of true causes among the first one, three and five, with Wilson intervals.
    #[must_use]
    pub fn tops(&self) -> Vec<(usize, Estimate)> {
        let n = self.causes.value();
        let share = |(depth, hits): (usize, &ExactSum)| {
            let value = if n > 0.0 { hits.value() / n } else { 0.0 };
            let interval = wilson(hits.value(), n, CONFIDENCE);
            (depth, Estimate { value, interval })
        };
        TOPS.into_iter().zip(&self.tops).map(share).collect()
    }

    /// Mean scores of rivals, and of the answers on the same scale.
    #[must_use]
    pub fn rivals(&self) -> BTreeMap<String, Estimate> {
        let estimate = |(name, mean): (&String, &Mean)| Some((name.clone(), mean.estimate()?));
        self.rivals.iter().filter_map(estimate).collect()
    }

    /// The Brier score of all chances split into its parts.
    #[must_use]
    pub fn decomposition(&self) -> Decomposition {
        let bins = self.bins.iter().filter(|b| b.n > 0).map(|b| Forecast {
            weight: b.weight.value(),
            forecast: b.forecast.value() / b.weight.value(),
            observed: b.observed.value() / b.weight.value(),
        });
        decompose(&bins.collect::<Vec<_>>())
    }

    /// The calibration table, empty rows left out.
    #[must_use]
    pub fn table(&self) -> Vec<CalibrationRow> {
        let per_row = BINS / ROWS;
        let row = |(at, bins): (usize, &[Bin])| {
            let n = bins.iter().map(|b| b.n).sum();
            let total = |part: &dyn Fn(&Bin) -> ExactSum| {
                let mut sum = ExactSum::default();
                bins.iter().for_each(|b| sum.merge(part(b)));
                sum.value()
            };
            let weight = total(&|b| b.weight);
            let hits = total(&|b| b.observed);
            #[expect(clippy::cast_precision_loss, reason = "ten rows")]
            let edge = |at: usize| at as f64 / ROWS as f64;
            (n > 0).then(|| CalibrationRow {
                from: edge(at),
                to: edge(at + 1),
                n,
                forecast: total(&|b| b.forecast) / weight,
                observed: hits / weight,
                interval: wilson(hits, weight, CONFIDENCE),
            })
        };
        self.bins
            .chunks(per_row)
            .enumerate()
            .filter_map(row)
            .collect()
    }

    /// The calibration curve: the rising curve nearest to what came true.
    #[must_use]
    pub fn curve(&self) -> Curve {
        let point = |b: &Bin| Point {
            x: b.forecast.value() / b.weight.value(),
            y: b.observed.value() / b.weight.value(),
            weight: b.weight.value(),
        };
        let points = self.bins.iter().filter(|b| b.n > 0).map(point);
        isotonic(&points.collect::<Vec<_>>())
    }

    /// A measure by name, for conditions: `log_score`, `log_score_all`, `brier`, `top1`, `top3`,
    /// `top5`, `rank`, or a rival as `rival.NAME`.
    #[must_use]
    pub fn measure(&self, name: &str) -> Option<f64> {
        let value = |e: Option<Estimate>| e.map(|e| e.value);
        let top = |at: usize| self.tops().get(at).map(|t| t.1.value);
        match name {
            "log_score" => value(self.log_score()),
            "log_score_all" => value(self.log_score_all()),
            "brier" => value(self.brier()),
            "rank" => value(self.rank()),
            "top1" => top(0),
            "top3" => top(1),
            "top5" => top(2),
            _ => self
                .rivals()
                .get(name.strip_prefix("rival.")?)
                .map(|e| e.value),
        }
    }
}

fn bin_of(p: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        clippy::cast_sign_loss,
        reason = "a position among few bins"
    )]
    let at = (p * BINS as f64) as usize;
    at.min(BINS - 1)
}

/// How often a job counts in each draw.
fn times(at: u64) -> Vec<u32> {
    /// Seed of the resampling; any will do.
    const SEED: u64 = 1979;
    let mut luck = Luck::new(SEED, at);
    (0..DRAWS).map(|_| poisson(&mut luck)).collect()
}

/// A Poisson number of mean one (Knuth's product of uniforms).
fn poisson(luck: &mut Luck) -> u32 {
    let stop = (-1.0_f64).exp();
    let (mut product, mut n) = (luck.share(), 0);
    while product > stop {
        product *= luck.share();
        n += 1;
    }
    n
}
