//! Arguments of the commands that work on many jobs: `simulate`, `score`, `compare`.
//!
//! Must not act.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Highest number of a drawn job, and most jobs of one run: more than any disk holds.
const LAST_JOB: u64 = 1_000_000_000_000;
/// Widest spread of log-odds between shops; beyond it every figure is as good as nought or one.
const WIDEST_SPREAD: f64 = 10.0;

/// A share, from 0 to 1.
fn share(text: &str) -> Result<f64, String> {
    between(text, 1.0).ok_or_else(|| "write a share from 0 to 1".to_owned())
}

/// A spread of log-odds.
fn spread(text: &str) -> Result<f64, String> {
    between(text, WIDEST_SPREAD).ok_or_else(|| format!("write a number from 0 to {WIDEST_SPREAD}"))
}

fn between(text: &str, most: f64) -> Option<f64> {
    let number = text.replace(',', ".").parse::<f64>().ok()?;
    (0.0..=most).contains(&number).then_some(number)
}

/// `simulate`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart simulate --jobs 100 --seed 7 > jobs.ndjson")]
pub struct Simulate {
    /// Number of jobs
    #[arg(long, default_value_t = 100, value_parser = clap::value_parser!(u64).range(..=LAST_JOB))]
    pub jobs: u64,
    /// Number of the first job; a job is the same whatever is drawn before it
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u64).range(..=LAST_JOB))]
    pub first: u64,
    /// Seed of everything that is drawn
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Number of shops
    #[arg(long, default_value_t = 5)]
    pub shops: usize,
    /// How far shops differ in what breaks: spread of log-odds of a system's faults
    #[arg(long, default_value_t = 0.3, value_parser = spread)]
    pub shops_differ: f64,
    /// Share of looks and readings with no result written down
    #[arg(long, default_value_t = 0.2, value_parser = share)]
    pub missing: f64,
    /// Share of readings written down wrongly
    #[arg(long, default_value_t = 0.01, value_parser = share)]
    pub misread: f64,
    /// Share of findings that name the wrong fault; without it, as their proof says
    #[arg(long, value_parser = share)]
    pub wrong_labels: Option<f64>,
    /// Four cylinders, swirl chamber, plugs; three temperatures; the same few looks and checks
    /// at every job: for runs of a million
    #[arg(long)]
    pub plain: bool,
    /// A messy spreadsheet instead of one JSON job a line
    #[arg(long)]
    pub csv: bool,
}

/// As of when jobs are scored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum AsOf {
    /// What was told, and the starts before the first reading.
    FirstLook,
    /// Everything before the first work.
    BeforeRepair,
    /// Everything; shows how much the answer leaks.
    All,
}

/// `score`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Examples:\n  hardstart score jobs.ndjson\n  hardstart score jobs.ndjson --ndjson > lines.ndjson\n  hardstart score jobs.ndjson --fail-if \"top3 < 0.6\""
)]
pub struct Score {
    /// Jobs, one JSON job a line; - reads the standard input
    #[arg(value_name = "FILE")]
    pub file: String,
    /// One JSON line a job, in the order of the file
    #[arg(long)]
    pub ndjson: bool,
    /// Which entries count
    #[arg(long, value_enum, default_value_t = AsOf::BeforeRepair)]
    pub as_of: AsOf,
    /// Score against the truth of simulated jobs instead of the findings
    #[arg(long)]
    pub simulated_truth: bool,
    /// Show the jobs with the lowest score, and what misled most
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub worst: usize,
    /// Play this many jobs again in the suggested order, and say how many minutes of checks it
    /// takes until the suggestion is to act; where a suggested check is not on record, the advice
    /// is held to those that are
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub settle: usize,
    /// Score only these: date=2024-01-31, engine=swirl/plugs, shop=NAME, fold=1/5; the others
    /// train the simple rivals
    #[arg(long)]
    pub split: Option<String>,
    /// Seed of folds, and of the sample of --settle
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Score only this part of the lines, i/n
    #[arg(long, value_name = "I/N")]
    pub shard: Option<String>,
    /// Write the sums here, for `merge`
    #[arg(long, value_name = "FILE")]
    pub sums: Option<PathBuf>,
    /// Draw the calibration diagram here (SVG)
    #[arg(long, value_name = "FILE")]
    pub diagram: Option<PathBuf>,
    /// End with code 6 when this holds, such as "top3 < 0.6" or, with --base,
    /// "log_score < base.log_score - 0.02"
    #[arg(long, value_name = "CONDITION")]
    pub fail_if: Vec<String>,
    /// Sums of an earlier run, for conditions on `base.`
    #[arg(long, value_name = "FILE")]
    pub base: Option<PathBuf>,
    /// Megabytes of compiled programs kept
    #[arg(long, default_value_t = 80)]
    pub programs_mb: usize,
    /// Table entries above which a job is reckoned by itself, slowly
    #[arg(long, default_value_t = crate::scoring::solve::WIDEST)]
    pub widest: f64,
    /// Jobs worked on at a time
    #[arg(long, default_value_t = 512)]
    pub at_a_time: usize,
}

/// `compare`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart compare before.ndjson after.ndjson")]
pub struct Compare {
    /// Lines of the first scoring
    #[arg(value_name = "FIRST")]
    pub first: PathBuf,
    /// Lines of the second scoring
    #[arg(value_name = "SECOND")]
    pub second: PathBuf,
    /// Seed of the resampling
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// End with code 6 when this holds of a difference, such as "log_score_all < -0.02"
    #[arg(long, value_name = "CONDITION")]
    pub fail_if: Vec<String>,
}

/// `merge`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart merge part1.json part2.json")]
pub struct Merge {
    /// Sums of the parts of one run
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<PathBuf>,
}
