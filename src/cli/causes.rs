//! `hardstart causes`: what it could be, with chances.
//!
//! Must not reckon or word; it fetches, asks and writes.

use super::args::{Causes, Common};
use super::failure::Failure;
use super::{book, input, out, usage};
use crate::report::causes_text::Wanted;
use crate::report::{causes_json, causes_text, remarks};
use crate::{diagnosis, evidence};

/// Runs the command.
///
/// # Errors
/// When the figures or the job cannot be used, or the answer not written.
pub fn run(args: &Causes, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common.priors.as_deref())?;
    let parsed = input::job(&args.job, &knowledge, || usage::page("causes"))?;
    let evidence = evidence::gather(&knowledge, &parsed.job)?;
    let ranking = diagnosis::causes(&evidence, &parsed.job)?;
    let notes = remarks::notes(&knowledge, &parsed.job, &parsed.notes, &evidence);
    if common.json || args.job.job.is_some() {
        let answer = causes_json::causes(&ranking, &parsed.job, &notes, &knowledge.sha256);
        if let Some(job) = &args.job.job {
            let after = parsed.job.entries.len();
            book::keep(&args.job.book, job, after, "causes", &knowledge, &answer);
        }
        if common.json {
            return out::document(&answer);
        }
    }
    let wanted = Wanted {
        all: args.all,
        systems: args.systems,
    };
    out::text(&causes_text::causes(
        &ranking,
        &parsed.job,
        &evidence,
        &knowledge,
        &notes,
        wanted,
        out::layout(),
    ))
}
