//! The command line as it is typed. The help pages, completions and the manual come from here.
//!
//! Must not act.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// Shown when nothing is asked for.
pub const SHORT_HELP: &str = "\
hardstart: from \"starts hard cold\" to the cause, for old diesels with a mechanical pump

  hardstart causes job.toml     what it could be, with chances
  hardstart next job.toml       what to check next, and why

All commands: hardstart --help
";

const EXAMPLES: &str = "\
Examples:
  hardstart causes job.toml             what it could be, with chances
  hardstart next job.toml               what to check next, and why
  hardstart why plug.dead:2 job.toml    what moved one cause
  hardstart causes --json - < job.json  for programs";

/// The whole command line.
#[derive(Debug, Clone, Parser)]
#[command(
    name = "hardstart",
    version,
    about = "Cold-start diagnosis of old mechanically injected diesels",
    before_help = EXAMPLES,
    after_help = super::exit::Exit::list(),
    disable_help_subcommand = false,
    subcommand_required = true
)]
pub struct CommandLine {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// What every command understands.
    #[command(flatten)]
    pub common: Common,
}

/// What every command understands.
#[derive(Debug, Clone, Args)]
pub struct Common {
    /// Answer as one JSON document, errors too
    #[arg(long, global = true)]
    pub json: bool,
    /// Figures of this directory instead of the built-in ones
    #[arg(long, global = true, value_name = "DIR")]
    pub priors: Option<PathBuf>,
}

/// The commands.
#[derive(Debug, Clone, Subcommand)]
pub enum Command {
    /// What it could be, with chances
    Causes(Causes),
}

/// A job file.
#[derive(Debug, Clone, Args)]
pub struct JobFile {
    /// Job file (TOML or JSON); - reads the standard input
    #[arg(value_name = "FILE")]
    pub file: String,
}

/// `causes`.
#[derive(Debug, Clone, Args)]
#[command(after_help = "Example:\n  hardstart causes job.toml --all")]
pub struct Causes {
    /// The job.
    #[command(flatten)]
    pub job: JobFile,
    /// Every cause, not only the likeliest
    #[arg(long)]
    pub all: bool,
    /// The systems in rows of their own
    #[arg(long)]
    pub systems: bool,
}
