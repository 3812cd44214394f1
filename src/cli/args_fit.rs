//! Arguments of `fit` and `params`.
//!
//! Must not act.

use std::path::PathBuf;

use clap::{Args, Subcommand};

/// `fit`.
#[derive(Debug, Clone, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    before_help = "Examples:\n  hardstart fit jobs.ndjson --figures-out fitted.toml\n  hardstart score new.ndjson --fitted fitted.toml\n\n\
                   In parts, one round at a time:\n  hardstart fit jobs.ndjson --shard 1/2 --counts part1.json\n  \
                   hardstart fit jobs.ndjson --shard 2/2 --counts part2.json\n  hardstart fit merge part1.json part2.json --figures-out fitted.toml"
)]
pub struct Fit {
    /// Something else.
    #[command(subcommand)]
    pub what: Option<FitWhat>,
    /// Finished jobs, one JSON job a line
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Write the fitted figures here, and beside them a card (.card.md) and the record of the run
    /// (.run.json)
    #[arg(long, value_name = "FILE.toml")]
    pub figures_out: Option<PathBuf>,
    /// Rounds at most
    #[arg(long, default_value_t = 40)]
    pub rounds: u32,
    /// Stop when a round gains less than this, in natural logarithms over all jobs
    #[arg(long, default_value_t = 0.05)]
    pub enough: f64,
    /// Multiply what the starter figures are worth; try 0.5 and 2 to see how much they decide
    #[arg(long, default_value_t = 1.0)]
    pub starter_weight: f64,
    /// Do not tell shops apart
    #[arg(long)]
    pub shops_alike: bool,
    /// Count only this part of the lines, i/n, for one round; needs --counts
    #[arg(long, value_name = "I/N", requires = "counts")]
    pub shard: Option<String>,
    /// Write the counts of one round here, for `fit merge`
    #[arg(long, value_name = "FILE.json", conflicts_with = "figures_out")]
    pub counts: Option<PathBuf>,
    /// Keep this part out of the fit and compare the figures on it: fold=1/5, shop=NAME,
    /// date=2024-01-31, engine=swirl/plugs
    #[arg(long, value_name = "SPLIT")]
    pub hold_out: Option<String>,
    /// Seed of folds and of resampling
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Megabytes of compiled programs kept from round to round
    #[arg(long, default_value_t = 512)]
    pub programs_mb: usize,
    /// Jobs worked on at a time
    #[arg(long, default_value_t = 256)]
    pub at_a_time: usize,
}

/// What else `fit` does.
#[derive(Debug, Clone, Subcommand)]
pub enum FitWhat {
    /// Fit the starting chances to the stated shares; prints priors/roots.toml
    Roots,
    /// Put the counts of the parts of one round together
    Merge(FitMerge),
}

/// `fit merge`.
#[derive(Debug, Clone, Args)]
pub struct FitMerge {
    /// Counts of the parts
    #[arg(value_name = "FILE.json", required = true)]
    pub files: Vec<PathBuf>,
    /// Write the fitted figures here
    #[arg(long, value_name = "FILE.toml")]
    pub figures_out: PathBuf,
    /// As in the counting
    #[arg(long, default_value_t = 1.0)]
    pub starter_weight: f64,
}

/// `params`.
#[derive(Debug, Clone, Subcommand)]
pub enum Params {
    /// Starting chances with what is behind them, and what a layer given by --fitted moved
    Show,
    /// What two fitted layers say differently, or one layer and the starter figures
    Diff(ParamsDiff),
}

/// `params diff`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart params diff last_year.toml this_year.toml")]
pub struct ParamsDiff {
    /// Fitted layer
    #[arg(value_name = "FIRST.toml")]
    pub first: PathBuf,
    /// Another; without one, the starter figures
    #[arg(value_name = "SECOND.toml")]
    pub second: Option<PathBuf>,
}
