//! `hardstart suppose FILE READING...`: what if this reading were ...
//!
//! Must not reckon, word or save.

use super::args::{Common, JobFile, Suppose};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, out, programs, usage};
use crate::job::{SupposeProblem, suppose};
use crate::report::suppose_json::Answer;
use crate::report::trouble::Trouble;
use crate::report::{remarks, suppose_json, suppose_text};
use crate::{diagnosis, planning};

/// Runs the command.
///
/// # Errors
/// When the job or what is supposed cannot be used, or the answer not written.
pub fn run(args: &Suppose, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    // With a job of the book there is no file, so the first word is a reading too.
    let mut readings = args.readings.clone();
    let file = match &args.job {
        Some(_) => {
            readings.insert(0, args.first.clone());
            None
        }
        None => Some(args.first.clone()),
    };
    let asked = JobFile {
        file,
        job: args.job.clone(),
        book: args.book.clone(),
    };
    let parsed = input::job(&asked, &knowledge, || usage::page("suppose"))?;
    let job = parsed.job;
    let supposed = suppose(&job, &knowledge, &readings).map_err(misread)?;
    let is = programs::evidence(&knowledge, &job)?;
    let would = programs::evidence(&knowledge, &supposed)?;
    let ranking = diagnosis::causes(&is, &job)?;
    let next = planning::bench::next(&knowledge, &job, &is)?;
    let then = diagnosis::causes(&would, &supposed)?;
    let then_next = planning::bench::next(&knowledge, &supposed, &would)?;
    let now = Answer {
        ranking: &ranking,
        next: &next,
    };
    let then = Answer {
        ranking: &then,
        next: &then_next,
    };
    if common.json {
        let notes = remarks::notes(&knowledge, &supposed, &parsed.notes, &would);
        return out::document(&suppose_json::suppose(
            now,
            then,
            &readings,
            &supposed,
            &notes,
            &knowledge.sha256,
        ));
    }
    out::text(&suppose_text::suppose(
        now,
        then,
        &readings,
        &supposed,
        &knowledge,
        out::layout(),
    ))
}

fn misread(problems: Vec<SupposeProblem>) -> Failure {
    let each = problems.into_iter();
    Failure::Said {
        exit: Exit::Usage,
        troubles: each
            .map(|p| Trouble::new(format!("`{}`: {}", p.typed, p.what), p.try_))
            .collect(),
    }
}
