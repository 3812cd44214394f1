//! `hardstart simulate`: whole jobs drawn from the figures, one JSON job a line or a messy
//! spreadsheet.
//!
//! Must not draw.

use rayon::prelude::*;

use super::args::Common;
use super::args_scoring::Simulate;
use super::exit::Exit;
use super::failure::Failure;
use super::progress::Progress;
use super::{input, out};
use crate::job;
use crate::learning::simulate::{Drawn, SimulationSettings, Simulator};
use crate::report::messy_csv;
use crate::report::trouble::Trouble;

/// Jobs drawn at a time.
const AT_A_TIME: u64 = 512;

/// Runs the command.
///
/// # Errors
/// When the figures cannot be used or jobs not drawn or written.
pub fn run(args: &Simulate, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let simulator = Simulator::new(&knowledge, settings(args));
    let mut progress = Progress::new("jobs drawn", Some(args.jobs));
    if args.csv {
        out::text(&messy_csv::head())?;
    }
    let end = args.first + args.jobs;
    let mut at = args.first;
    while at < end {
        let next = (at + AT_A_TIME).min(end);
        let drawn = (at..next).into_par_iter().map(|n| simulator.job(n));
        let drawn = drawn.collect::<Result<Vec<Drawn>, _>>().map_err(|error| {
            let advice = "compare the figures with the built-in ones";
            Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
        })?;
        let mut text = String::new();
        for (n, drawn) in (at..next).zip(&drawn) {
            if args.csv {
                text.push_str(&messy_csv::row(n, &drawn.job));
            } else {
                text.push_str(&format!("{}\n", job::to_json(&drawn.job)));
            }
        }
        out::text(&text)?;
        at = next;
        progress.done(at - args.first);
    }
    Ok(())
}

fn settings(args: &Simulate) -> SimulationSettings {
    if args.plain {
        return SimulationSettings {
            shops: args.shops,
            wrong_labels: args.wrong_labels,
            ..SimulationSettings::plain(args.seed)
        };
    }
    SimulationSettings {
        seed: args.seed,
        shops: args.shops,
        shops_differ: args.shops_differ,
        missing: args.missing,
        misread: args.misread,
        wrong_labels: args.wrong_labels,
        ..SimulationSettings::default()
    }
}
