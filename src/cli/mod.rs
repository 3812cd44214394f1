//! Arguments, exit codes, and the commands. Never holds logic.
//!
//! Reading order: `args` (what may be typed), `exit` (how it may end), `run` (from the one to
//! the other), `input` and `out` (what comes in and goes out), then one file a command.

mod args;
mod args_fit;
mod args_scoring;
mod book;
mod book_args;
mod cause_name;
mod causes;
mod entries;
mod exchange_args;
mod exit;
mod export;
mod failure;
mod files;
mod fit;
mod fit_check;
mod import;
mod input;
mod jobs_in;
mod keys;
mod lanes;
mod network;
mod next;
mod out;
mod params;
mod plan;
mod programs;
mod progress;
mod run;
mod score;
mod selftest;
mod serve;
mod sheet;
mod shell;
mod simulate;
mod slips;
mod suppose;
mod trials;
mod usage;
mod why;
mod words;

pub use exit::Exit;
pub use run::run;
pub use serve::{Served, Server, Wanted};
