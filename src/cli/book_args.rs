//! The commands on the job book as they are typed.
//!
//! Must not act.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::args::JobFile;

/// Which book.
#[derive(Debug, Clone, Args)]
pub struct BookFile {
    /// Job book; else HARDSTART_BOOK, else hardstart/book.sqlite in your data directory
    #[arg(long, value_name = "FILE")]
    pub book: Option<PathBuf>,
}

/// Who and when, for everything that is written down.
#[derive(Debug, Clone, Args)]
pub struct Written {
    /// The job
    #[arg(value_name = "JOB")]
    pub job: String,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
    /// Who, a short code
    #[arg(long, value_name = "CODE")]
    pub by: Option<String>,
    /// When, as 2025-01-14T07:40:00+01:00; else now
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    pub remark: Option<String>,
}

/// `job`.
#[derive(Debug, Clone, Subcommand)]
pub enum JobCommand {
    /// Open a job
    New(New),
    /// List the jobs, those that wait for a cold start first
    List(List),
    /// Print a job as a job file
    Show(Show),
    /// Close a job, or park it, or open it again
    Close(Close),
    /// Say more about engine and bench
    Set(Set),
    /// Bring job files into the book
    Take(Take),
    /// How often what was said before a repair came true in this book
    Score(Own),
    /// Copy the whole book
    Backup(Backup),
}

/// `job new`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Example:\n  hardstart job new \"smokes white in frost\" engine.cylinders=4"
)]
pub struct New {
    /// What is wrong, in the customer's words
    pub complaint: String,
    /// More, as in job files: engine.preheat=plugs bench.tools=test_lamp,stopwatch
    #[arg(value_name = "KEY=VALUE")]
    pub more: Vec<String>,
    /// Number of the job; else the next free one
    #[arg(long)]
    pub number: Option<String>,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// `job list`.
#[derive(Debug, Clone, Args)]
pub struct List {
    /// Only jobs in this state
    #[arg(long, value_parser = clap::builder::PossibleValuesParser::new(
        crate::job::JobState::ALL.iter().map(|s| s.id())))]
    pub state: Option<String>,
    /// At most so many
    #[arg(long, default_value_t = 50, value_parser = clap::value_parser!(u32).range(1..))]
    pub most: u32,
    /// Every job as one JSON job a line
    #[arg(long, conflicts_with_all = ["state", "most"])]
    pub ndjson: bool,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// `job show`.
#[derive(Debug, Clone, Args)]
pub struct Show {
    /// The job
    pub job: String,
    /// What was answered so far, and when
    #[arg(long)]
    pub said: bool,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// How a job is closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum As {
    /// Mended.
    Done,
    /// Handed back as it is.
    LeftAsIs,
    /// Set by, not settled.
    Parked,
    /// Waiting for parts.
    WaitingForParts,
    /// To be worked on again.
    Open,
}

/// `job close`.
#[derive(Debug, Clone, Args)]
pub struct Close {
    /// How
    #[arg(long = "as", value_enum, default_value_t = As::Done)]
    pub how: As,
    /// Why, where something is left unexplained
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
    /// The job.
    #[command(flatten)]
    pub written: Written,
}

/// `job set`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart job set 17 engine.cylinders=6 bench.people=2")]
pub struct Set {
    /// The job
    pub job: String,
    /// As in job files
    #[arg(value_name = "KEY=VALUE", required = true)]
    pub more: Vec<String>,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// `job take`.
#[derive(Debug, Clone, Args)]
pub struct Take {
    /// Job files (TOML or JSON), or one JSON job a line where the name ends in .ndjson
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<String>,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// `job score`.
#[derive(Debug, Clone, Args)]
pub struct Own {
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// `job backup`.
#[derive(Debug, Clone, Args)]
pub struct Backup {
    /// The copy; must not be there yet
    #[arg(value_name = "FILE")]
    pub to: PathBuf,
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
}

/// What `note` writes down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// The result of a check.
    Reading,
    /// A start that was watched.
    Start,
    /// What was told.
    Told,
    /// What somebody thinks it is.
    Opinion,
    /// A check that cannot be done.
    Cannot,
    /// A check that is put off; take it back with undo.
    Later,
    /// A fault that was found.
    Finding,
    /// A remark.
    Text,
}

/// `note`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Examples:
  hardstart note 17 plug_current:3 \"0 A\"
  hardstart note 17 plug_glow_time:3 \"15,1 s\" trial=1 supply=\"12.2 V\"
  hardstart note 17 --kind start engine_temperature=\"-6 degC\" soak=\"12 h\" crank_time=\"6 s\"
  hardstart note 17 --kind told since=first_frost
  hardstart note 17 --kind cannot compression \"no tool\"")]
pub struct Note {
    /// The job.
    #[command(flatten)]
    pub written: Written,
    /// What kind of entry
    #[arg(long, value_enum, default_value_t = Kind::Reading)]
    pub kind: Kind,
    /// What it says: a check and its value, or keys as in job files
    #[arg(value_name = "WORDS", required = true)]
    pub words: Vec<String>,
}

/// `did`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart did 17 replace_plug:2 minutes=25")]
pub struct Did {
    /// The job.
    #[command(flatten)]
    pub written: Written,
    /// The repair, with its cylinder
    pub repair: String,
    /// minutes=25 parts_cost=12
    #[arg(value_name = "KEY=VALUE")]
    pub more: Vec<String>,
}

/// `coldstart`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Example:\n  hardstart coldstart 17 right engine_temperature=\"-7 degC\" soak=\"13 h\" crank_time=\"2 s\""
)]
pub struct ColdStart {
    /// The job.
    #[command(flatten)]
    pub written: Written,
    /// How it went
    #[arg(value_parser = ["right", "better", "same", "worse"])]
    pub result: String,
    /// The start, as in job files
    #[arg(value_name = "KEY=VALUE")]
    pub more: Vec<String>,
}

/// `undo`.
#[derive(Debug, Clone, Args)]
pub struct Undo {
    /// The job.
    #[command(flatten)]
    pub written: Written,
    /// Number of the entry; an undo can be undone
    pub entry: u32,
    /// It was so, but is not to be relied on: keep it recorded (needs --why)
    #[arg(long, requires = "why")]
    pub aside: bool,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
}

/// Form of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetForm {
    /// For the terminal.
    Text,
    /// For a browser and a printer.
    Html,
}

/// `sheet`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart sheet job.toml --form html > sheet.html")]
pub struct Sheet {
    /// The job.
    #[command(flatten)]
    pub job: JobFile,
    /// How to write it
    #[arg(long, value_enum, default_value_t = SheetForm::Text)]
    pub form: SheetForm,
    /// Empty, to be filled in with a pen
    #[arg(long)]
    pub blank: bool,
}

/// `serve`.
#[derive(Debug, Clone, Args)]
#[command(after_help = "Examples:
  hardstart serve                   the bench page for this machine
  hardstart serve --lan             for phones in the workshop, with a join code")]
pub struct Serve {
    /// The job book
    #[command(flatten)]
    pub book: BookFile,
    /// Port; 0 for any free one
    #[arg(long, value_name = "N", default_value_t = 8017)]
    pub port: u16,
    /// Let phones in the workshop's network in, who know the join code
    #[arg(long)]
    pub lan: bool,
    /// Address of this machine in that network, if it has several
    #[arg(long, value_name = "IP", requires = "lan")]
    pub address: Option<std::net::IpAddr>,
}
