//! The command line as it is typed. The help pages, completions and the manual come from here.
//!
//! Must not act.

use std::path::PathBuf;

use super::book_args::{ColdStart, Did, JobCommand, Note, Serve, Sheet, Undo};
use clap::builder::PossibleValuesParser;
use clap::{Args, Parser, Subcommand, ValueEnum};

use super::exchange_args::{Export, Import, MapCommand, Peek, Turn};

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
    max_term_width = 80,
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
    /// Figures fitted from finished jobs, laid over the others
    #[arg(long, global = true, value_name = "FILE")]
    pub fitted: Option<PathBuf>,
}

/// The commands.
#[derive(Debug, Clone, Subcommand)]
pub enum Command {
    /// What it could be, with chances
    Causes(Causes),
    /// What to check next, and why
    Next(JobFile),
    /// Which readings moved a cause
    Why(Why),
    /// The next few checks as a tree
    Plan(Plan),
    /// What if this reading were ...
    Suppose(Suppose),
    /// Judge repeated timings cylinder by cylinder
    Trials(JobFile),
    /// Keep job slips in the job book
    #[command(subcommand)]
    Job(JobCommand),
    /// Write down one reading or something seen
    Note(Note),
    /// Write down work done
    Did(Did),
    /// Record the cold start after the work
    Coldstart(ColdStart),
    /// Take back or set aside an entry
    Undo(Undo),
    /// One-page job sheet
    Sheet(Sheet),
    /// Look at a foreign table; writes nothing
    Peek(Peek),
    /// Make or check a column map
    #[command(subcommand)]
    Map(MapCommand),
    /// Bring in jobs from a foreign table
    Import(Import),
    /// Hand out jobs as a table
    Export(Export),
    /// Make a long table of ours wide
    Widen(Turn),
    /// Make a wide table of ours long
    Lengthen(Turn),
    /// Open the bench page on this machine, or in the workshop with --lan
    Serve(Serve),
    /// Print the network behind the chances, for those who work with networks
    Network(Engine),
    /// Print the words of job files
    Vocab(Vocab),
    /// Print the JSON Schema of a document
    Schema(Schema),
    /// Print the units that are understood
    Units,
    /// Hold the installed program against published answers
    Selftest,
    /// Fit figures from finished jobs
    Fit(super::args_fit::Fit),
    /// Show the figures, or what a fit moved
    #[command(subcommand)]
    Params(super::args_fit::Params),
    /// Draw whole jobs from the figures
    Simulate(super::args_scoring::Simulate),
    /// How good the chances of finished jobs were
    Score(super::args_scoring::Score),
    /// Compare two scorings of the same jobs
    Compare(super::args_scoring::Compare),
    /// Put the parts of one scoring together
    Merge(super::args_scoring::Merge),
    /// Print completions for a shell
    Completions(Completions),
    /// Print the manual
    Man,
}

/// A job file.
#[derive(Debug, Clone, Args)]
pub struct JobFile {
    /// Job file (TOML or JSON); - reads the standard input
    #[arg(
        value_name = "FILE",
        required_unless_present = "job",
        conflicts_with = "job"
    )]
    pub file: Option<String>,
    /// Job of the job book instead
    #[arg(long, value_name = "NUMBER")]
    pub job: Option<String>,
    /// The job book
    #[command(flatten)]
    pub book: super::book_args::BookFile,
}

/// `causes`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart causes job.toml --all")]
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
    /// How far each chance may be off because its figures are thin (takes longer)
    #[arg(long)]
    pub ranges: bool,
}

/// `why`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart why plug.dead:2 job.toml")]
pub struct Why {
    /// Cause, as part.fault or part.fault:cylinder
    pub cause: String,
    /// The job.
    #[command(flatten)]
    pub job: JobFile,
    /// The figures it rests on most, and its range
    #[arg(long)]
    pub figures: bool,
}

/// `plan`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Examples:\n  hardstart plan job.toml\n  hardstart plan --svg job.toml > plan.svg\n  \
                   hardstart plan --problem problem.json --json"
)]
pub struct Plan {
    /// Job file (TOML or JSON); - reads the standard input
    #[arg(
        value_name = "FILE",
        required_unless_present_any = ["problem", "job"],
        conflicts_with = "job"
    )]
    pub file: Option<String>,
    /// Job of the job book instead
    #[arg(long, value_name = "NUMBER", conflicts_with = "problem")]
    pub job: Option<String>,
    /// The job book
    #[command(flatten)]
    pub book: super::book_args::BookFile,
    /// Solve a stated problem of checks and repairs (JSON) instead of a job; - reads the
    /// standard input
    #[arg(long, value_name = "FILE", conflicts_with = "file")]
    pub problem: Option<String>,
    /// Draw the tree as SVG
    #[arg(long, conflicts_with_all = ["json", "problem"])]
    pub svg: bool,
}

/// `suppose`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Examples:\n  hardstart suppose job.toml \"cranking_volts=8.4 V\" \"plug_current:3=0 A\"\n  \
                   hardstart suppose --job QM-031 \"cranking_volts=8.4 V\""
)]
pub struct Suppose {
    /// Job file (TOML or JSON); - reads the standard input; left out with --job
    #[arg(value_name = "FILE")]
    pub first: String,
    /// What would be read or seen: CHECK=VALUE, CHECK:CYLINDER=VALUE or SIGN=VALUE
    #[arg(value_name = "READING", required_unless_present = "job")]
    pub readings: Vec<String>,
    /// Job of the job book instead
    #[arg(long, value_name = "NUMBER")]
    pub job: Option<String>,
    /// The job book
    #[command(flatten)]
    pub book: super::book_args::BookFile,
}

/// `network`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Examples:\n  hardstart network --cylinders 6 --chamber direct --preheat flame\n  \
                   hardstart network --from NET.bif --lanes JOBS.ndjson --ndjson"
)]
pub struct Engine {
    /// Number of cylinders
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u8).range(1..=12))]
    pub cylinders: u8,
    /// Combustion chamber
    #[arg(long, default_value = "swirl", value_parser = ["swirl", "prechamber", "direct"])]
    pub chamber: String,
    /// Kind of preheat
    #[arg(long, default_value = "plugs", value_parser = ["plugs", "intake_grid", "flame", "none"])]
    pub preheat: String,
    /// How the plugs are fed
    #[arg(long, default_value = "unknown", value_parser = [
        "strip", "single_wires", "two_stage", "cycling", "series", "push_button",
        "low_volt_pulsed", "unknown",
    ])]
    pub wiring: String,
    /// Kind of pump
    #[arg(long, default_value = "unknown", value_parser = ["rotary", "inline", "unknown"])]
    pub pump: String,
    /// Temperature of the engine at the start, degC, from -60 to 130
    #[arg(long, default_value_t = 0.0, allow_negative_numbers = true, value_parser = engine_temperature)]
    pub temperature: f64,
    /// How to print it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// The network of this job (of the commonest kind of engine that it fits), with what was seen and read;
    /// - reads the standard input
    #[arg(value_name = "FILE", conflicts_with_all = [
        "cylinders", "chamber", "preheat", "wiring", "pump", "temperature", "from", "job",
    ])]
    pub file: Option<String>,
    /// The same of a job of the job book
    #[arg(long, value_name = "NUMBER", conflicts_with_all = [
        "cylinders", "chamber", "preheat", "wiring", "pump", "temperature", "from",
    ])]
    pub job: Option<String>,
    /// The job book
    #[command(flatten)]
    pub book: super::book_args::BookFile,
    /// A network in the interchange format instead; - reads the standard input
    #[arg(long, value_name = "NET.bif", conflicts_with_all = [
        "cylinders", "chamber", "preheat", "wiring", "pump", "temperature",
    ])]
    pub from: Option<String>,
    /// Answer it: one object of node and state names a line; - reads the standard input
    #[arg(long, value_name = "JOBS.ndjson", requires = "from")]
    pub lanes: Option<String>,
    /// Answers one object a line (always so with --lanes)
    #[arg(long, requires = "lanes")]
    pub ndjson: bool,
    /// Which nodes are answered
    #[arg(long, value_enum, default_value_t = Ask::Fitting, requires = "lanes")]
    pub ask: Ask,
    /// Answer every batch twice and print the kernel's own time to the standard error
    #[arg(long, requires = "lanes")]
    pub time: bool,
}

/// Which nodes are answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Ask {
    /// All; without unseen nodes that have no children where these make the work much wider.
    Fitting,
    /// All.
    All,
    /// Nodes without parents.
    Roots,
}

/// How a network is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Text,
    /// One JSON document.
    Json,
    /// The interchange format of Bayesian networks.
    Bif,
}

/// `vocab`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart vocab checks")]
pub struct Vocab {
    /// Which words
    #[arg(value_parser = crate::report::vocab::KINDS)]
    pub kind: Option<String>,
}

/// `schema`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart schema causes")]
pub struct Schema {
    /// Document; without one, the names of all
    #[arg(value_parser = PossibleValuesParser::new(crate::report::schema::names()))]
    pub name: Option<String>,
}

/// `completions`.
#[derive(Debug, Clone, Args)]
pub struct Completions {
    /// Shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// An engine temperature in degC that a start can have; the same window as in job files.
fn engine_temperature(text: &str) -> Result<f64, String> {
    let (least, most) = crate::job::START_TEMPERATURE;
    match text.replace(',', ".").parse::<f64>() {
        Ok(degrees) if (least..=most).contains(&degrees) => Ok(degrees),
        _ => Err(format!("write degrees Celsius from {least} to {most}")),
    }
}
