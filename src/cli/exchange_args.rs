//! What may be typed behind `peek`, `map`, `import`, `export`, `widen` and `lengthen`.
//!
//! Must not act.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

/// A foreign table.
#[derive(Debug, Clone, Args)]
pub struct TableFile {
    /// Table (CSV and its kin); - reads the standard input
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Encoding of the file, if you know it
    #[arg(long, value_name = "NAME")]
    pub encoding: Option<String>,
}

/// `peek`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart peek export.csv")]
pub struct Peek {
    /// The table.
    #[command(flatten)]
    pub table: TableFile,
}

/// `map`.
#[derive(Debug, Clone, Subcommand)]
pub enum MapCommand {
    /// Draft a column map from the headings of a table
    #[command(before_help = "Example:\n  hardstart map new export.csv > export.toml")]
    New(TableFile),
    /// Check a column map against a table
    #[command(before_help = "Example:\n  hardstart map check export.toml export.csv")]
    Check(MapCheck),
}

/// `map check`.
#[derive(Debug, Clone, Args)]
pub struct MapCheck {
    /// Column map
    #[arg(value_name = "MAP")]
    pub map: PathBuf,
    /// The table.
    #[command(flatten)]
    pub table: TableFile,
}

/// `import`.
#[derive(Debug, Clone, Args)]
#[command(
    before_help = "Examples:\n  hardstart import export.csv --map export.toml          try it; writes nothing\n  hardstart import export.csv --map export.toml --out jobs\n  hardstart import export.csv --map export.toml --ndjson | hardstart score - --ndjson"
)]
pub struct Import {
    /// The table.
    #[command(flatten)]
    pub table: TableFile,
    /// Column map; without one it is drafted from the headings
    #[arg(long, value_name = "MAP")]
    pub map: Option<PathBuf>,
    /// Directory for the jobs, the quarantine and the record
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write nothing, even with --out
    #[arg(short = 'n', long)]
    pub dry_run: bool,
    /// Jobs on the standard output, one a line
    #[arg(long, conflicts_with = "out")]
    pub ndjson: bool,
    /// Every issue, one a line, to this file; - for the standard output
    #[arg(long, value_name = "FILE", conflicts_with = "ndjson")]
    pub issues: Option<String>,
    /// Notes count as cell errors, cell errors as record errors
    #[arg(long)]
    pub strict: bool,
    /// No times of day in what is written
    #[arg(long)]
    pub reproducible: bool,
}

/// Form of an export.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TableForm {
    /// One row a reading.
    Long,
    /// One row a job.
    Wide,
    /// One job a line, JSON.
    Ndjson,
}

/// Country of a spreadsheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Country {
    /// Semicolon, decimal comma.
    De,
    /// Comma, decimal dot.
    En,
    /// Semicolon, decimal comma.
    Fr,
}

/// How a table is written.
#[derive(Debug, Clone, Args)]
pub struct Written {
    /// For people who double-click: mark, separator and decimal sign of a country; cells that
    /// begin like a formula are made harmless
    #[arg(long, value_name = "COUNTRY", value_enum)]
    pub for_spreadsheet: Option<Country>,
    /// End lines with CRLF
    #[arg(long)]
    pub crlf: bool,
}

/// `export`.
#[derive(Debug, Clone, Args)]
#[command(before_help = "Example:\n  hardstart export jobs/jobs.ndjson --form wide > jobs.csv")]
pub struct Export {
    /// Jobs, one a line; - reads the standard input
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Form of the table
    #[arg(long, value_enum, default_value_t = TableForm::Long)]
    pub form: TableForm,
    /// Directory for the table and its descriptor
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Overwrite what stands there
    #[arg(long)]
    pub force: bool,
    /// How it is written.
    #[command(flatten)]
    pub written: Written,
}

/// `widen` and `lengthen`.
#[derive(Debug, Clone, Args)]
pub struct Turn {
    /// Table of ours; - reads the standard input
    #[arg(value_name = "FILE")]
    pub file: String,
    /// How it is written.
    #[command(flatten)]
    pub written: Written,
}
