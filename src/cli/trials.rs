//! `hardstart trials FILE`: judges repeated timings of the plugs, cylinder by cylinder.
//!
//! Must not judge or word.

use super::args::{Common, JobFile};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, out, usage};
use crate::evidence::timed;
use crate::evidence::trials::{Catalogue, Figures, TrialsError, judge};
use crate::report::trouble::Trouble;
use crate::report::{trials_json, trials_text};

/// Runs the command.
///
/// # Errors
/// When the job holds no timings or timings that cannot be, or the answer is not written.
pub fn run(args: &JobFile, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let job = input::job(args, &knowledge, || usage::page("trials"))?.job;
    let timings: Vec<_> = timed::timings(&job).into_iter().map(|t| t.1).collect();
    if timings.is_empty() {
        let what = "the job holds no timings of plugs";
        let advice = "write each trial as an entry: reading.check = \"plug_glow_time\", \
                      reading.cylinder, reading.trial and reading.value in seconds";
        let trouble = named(args, what.to_owned(), advice);
        return Err(Failure::new(Exit::NoUsableInput, trouble));
    }
    let bench = timed::bench(&job);
    let answer = judge(&timings, &bench, &Figures::default(), &Catalogue::default())
        .map_err(|errors| unusable(args, &errors))?;
    let volts = bench.reference_volts;
    if common.json {
        return out::document(&trials_json::trials(
            &answer,
            volts,
            &job,
            &knowledge.sha256,
        ));
    }
    out::text(&trials_text::trials(
        &answer,
        volts,
        &job,
        &knowledge,
        out::layout(),
    ))
}

/// A trouble with the file, if the job came from one.
fn named(args: &JobFile, what: String, advice: &str) -> Trouble {
    match &args.file {
        Some(file) => Trouble::in_file(file.as_str(), what, advice),
        None => Trouble::new(what, advice),
    }
}

fn unusable(args: &JobFile, errors: &[TrialsError]) -> Failure {
    let advice = "correct the entry, or set it aside with a reason";
    Failure::Said {
        exit: Exit::NoUsableInput,
        troubles: errors
            .iter()
            .map(|e| named(args, e.to_string(), advice))
            .collect(),
    }
}
