//! `hardstart plan`: the next few moves as a tree, or a stated problem solved.
//!
//! Must not plan or word.

use super::args::{Common, JobFile, Plan};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, out, programs, usage};
use crate::planning;
use crate::planning::{ProblemError, problem_from_json, solve};
use crate::report::trouble::{Place, Trouble};
use crate::report::{plan_json, plan_svg, plan_text, policy_json, policy_text};

/// Runs the command.
///
/// # Errors
/// When the problem or the job cannot be used, or the answer not written.
pub fn run(args: &Plan, common: &Common) -> Result<(), Failure> {
    match &args.problem {
        Some(problem) => stated(problem, common),
        None => of_job(args, common),
    }
}

/// The next few moves of a job.
fn of_job(args: &Plan, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let asked = JobFile {
        file: args.file.clone(),
        job: args.job.clone(),
        book: args.book.clone(),
    };
    let job = input::job(&asked, &knowledge, || usage::page("plan"))?.job;
    let evidence = programs::evidence(&knowledge, &job)?;
    let plan = planning::bench::plan(&knowledge, &job, &evidence)?;
    if common.json {
        return out::document(&plan_json::plan(&plan, &job, &knowledge.sha256));
    }
    if args.svg {
        return out::text(&plan_svg::plan(&plan, &job, &knowledge));
    }
    out::text(&plan_text::plan(&plan, &job, &knowledge, out::layout()))
}

/// Solves a stated problem.
fn stated(file: &str, common: &Common) -> Result<(), Failure> {
    let bytes = input::bytes(file, || usage::page("plan"))?;
    let refuse = |error| unusable(file, &error);
    let text = String::from_utf8_lossy(&bytes);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let problem = problem_from_json(text).map_err(refuse)?;
    let policy = solve(&problem).map_err(refuse)?;
    if common.json {
        return out::document(&policy_json::policy(&policy, &problem));
    }
    out::text(&policy_text::policy(&policy, &problem, out::layout()))
}

fn unusable(file: &str, error: &ProblemError) -> Failure {
    let at = |line: usize, column: usize, what: String, advice: &str| {
        let mut trouble = Trouble::in_file(file, what, advice);
        trouble.place = Some(Place {
            file: file.to_owned(),
            line: Some(line),
            column: Some(column),
        });
        Failure::new(Exit::NoUsableInput, trouble)
    };
    match error {
        ProblemError::NotJson { line, column, what } => {
            let what = format!("not JSON: {what}");
            at(*line, *column, what, "check brackets, commas and quotes")
        }
        ProblemError::Twice { line, column, what } => {
            at(*line, *column, what.clone(), "leave out one of them")
        }
        ProblemError::Fields(fields) => Failure::Said {
            exit: Exit::NoUsableInput,
            troubles: fields
                .iter()
                .map(|f| {
                    let what = format!("{}: {}", f.path, f.what);
                    Trouble::in_file(file, what, f.hint.clone())
                })
                .collect(),
        },
        ProblemError::TooLarge { limit } => {
            let what = format!("more than {limit} situations to follow to the end");
            let advice = "leave out checks or repairs that matter least";
            Failure::new(Exit::Failed, Trouble::in_file(file, what, advice))
        }
    }
}
