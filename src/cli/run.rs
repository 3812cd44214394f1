//! From arguments to an exit code: parses, runs the command, reports what went wrong.
//!
//! Must not know what a command does.

use std::ffi::OsString;

use clap::Parser;
use clap::error::{Error, ErrorKind};

use super::args::{Command, CommandLine, SHORT_HELP};
use super::exit::Exit;
use super::failure::Failure;
use super::{
    causes, entries, export, fit, import, network, next, out, params, plan, score, selftest, serve,
    sheet, shell, simulate, slips, suppose, trials, why, words,
};
use crate::report::trouble::{self, Trouble};

/// Runs the program and says how it ended.
pub fn run(args: impl IntoIterator<Item = OsString>, server: serve::Server) -> Exit {
    let args: Vec<OsString> = args.into_iter().collect();
    if args.len() <= 1 {
        return end(out::text(SHORT_HELP), false);
    }
    let json = args.iter().any(|a| a == "--json");
    match CommandLine::try_parse_from(&args) {
        Ok(line) => end(command(&line, server), json),
        Err(error) => misunderstood(&error, json),
    }
}

fn command(line: &CommandLine, server: serve::Server) -> Result<(), Failure> {
    let common = &line.common;
    match &line.command {
        Command::Causes(args) => causes::run(args, common),
        Command::Next(args) => next::run(args, common),
        Command::Why(args) => why::run(args, common),
        Command::Plan(args) => plan::run(args, common),
        Command::Suppose(args) => suppose::run(args, common),
        Command::Trials(args) => trials::run(args, common),
        Command::Job(what) => slips::run(what, common),
        Command::Note(args) => entries::note(args, common),
        Command::Did(args) => entries::did(args, common),
        Command::Coldstart(args) => entries::cold_start(args, common),
        Command::Undo(args) => entries::undo(args, common),
        Command::Sheet(args) => sheet::run(args, common),
        Command::Peek(args) => import::run_peek(args, common),
        Command::Map(what) => import::run_map(what, common),
        Command::Import(args) => import::run_import(args, common),
        Command::Export(args) => export::run_export(args, common),
        Command::Widen(args) => export::run_widen(args),
        Command::Lengthen(args) => export::run_lengthen(args),
        Command::Serve(args) => serve::run(args, common, server),
        Command::Network(args) => network::run(args, common),
        Command::Vocab(args) => words::vocab(args, common),
        Command::Schema(args) => words::schemas(args),
        Command::Units => words::list_units(common),
        Command::Selftest => selftest::run(common),
        Command::Fit(args) => fit::run(args, common),
        Command::Params(what) => params::run(what, common),
        Command::Simulate(args) => simulate::run(args, common),
        Command::Score(args) => score::score(args, common),
        Command::Compare(args) => score::run_compare(args, common),
        Command::Merge(args) => score::merge(args, common),
        Command::Completions(args) => shell::completions(args),
        Command::Man => shell::man(),
    }
}

fn end(result: Result<(), Failure>, json: bool) -> Exit {
    match result {
        // A reader that had enough is not an error.
        Ok(()) | Err(Failure::ReaderGone) => Exit::Done,
        Err(Failure::Quiet(exit)) => exit,
        Err(Failure::Help(page)) => {
            out::message(&page);
            Exit::Usage
        }
        Err(Failure::Said { exit, troubles }) => {
            tell(&troubles, json);
            exit
        }
    }
}

fn tell(troubles: &[Trouble], json: bool) {
    if json {
        out::message(&format!("{:#}\n", trouble::json(troubles)));
    } else {
        out::message(&trouble::text(troubles));
    }
}

/// A help or version page that was asked for, or a command line that was not understood.
fn misunderstood(error: &Error, json: bool) -> Exit {
    let page = error.render().to_string();
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => end(out::text(&page), json),
        _ if json => {
            let mut lines = page.lines();
            let what = lines.next().unwrap_or_default();
            let what = what.strip_prefix("error: ").unwrap_or(what);
            let rest: Vec<&str> = lines.map(str::trim).filter(|l| !l.is_empty()).collect();
            tell(&[Trouble::new(what, rest.join("; "))], true);
            Exit::Usage
        }
        _ => {
            out::message(&page);
            Exit::Usage
        }
    }
}
