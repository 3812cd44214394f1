//! `hardstart next`: what to check next, and why.
//!
//! Must not choose or word.

use super::args::{Common, JobFile};
use super::failure::Failure;
use super::{book, input, out, programs, usage};
use crate::planning;
use crate::report::{next_json, next_text};

/// Runs the command.
///
/// # Errors
/// When the figures or the job cannot be used, or the answer not written.
pub fn run(args: &JobFile, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let job = input::job(args, &knowledge, || usage::page("next"))?.job;
    let evidence = programs::evidence(&knowledge, &job)?;
    let next = planning::bench::next(&knowledge, &job, &evidence)?;
    if common.json || args.job.is_some() {
        let answer = next_json::next(&next, &job, &knowledge.sha256);
        if let Some(number) = &args.job {
            let after = job.entries.len();
            book::keep(&args.book, number, after, "next", &knowledge, &answer);
        }
        if common.json {
            return out::document(&answer);
        }
    }
    out::text(&next_text::next(&next, &job, &knowledge, out::layout()))
}
