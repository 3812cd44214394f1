//! `job new|list|show|close|set|take|backup`: the slips of the job book.
//!
//! Must not judge a job.

use std::io::Write as _;

use serde_json::{Map, Value, json};

use super::args::Common;
use super::book_args::{As, Backup, Close, JobCommand, List, New, Own, Set, Show, Take};
use super::exit::Exit;
use super::failure::Failure;
use super::{book, entries, input, keys, out, programs};
use crate::diagnosis;
use crate::job::book::Access;
use crate::job::{self, Job, JobState, Mark, SCHEMA};
use crate::knowledge::Knowledge;
use crate::report::trouble::{self, Trouble};
use crate::report::{came_true_text, closing_text, slips_text};
use crate::scoring::came_true::{self, CameTrue};

/// What the list of an empty book says.
const NO_JOBS: &str = "No jobs yet. Open one: hardstart job new \"what is wrong\"\n";

/// Runs a command on the slips.
///
/// # Errors
/// When the book or what was typed cannot be used.
pub fn run(what: &JobCommand, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    match what {
        JobCommand::New(args) => new(args, &knowledge, common),
        JobCommand::List(args) => list(args, &knowledge, common),
        JobCommand::Show(args) => show(args, &knowledge, common),
        JobCommand::Close(args) => close(args, &knowledge, common),
        JobCommand::Set(args) => set(args, &knowledge),
        JobCommand::Take(args) => take(args, &knowledge, common),
        JobCommand::Score(args) => score(args, &knowledge, common),
        JobCommand::Backup(args) => backup(args),
    }
}

fn new(args: &New, knowledge: &Knowledge, common: &Common) -> Result<(), Failure> {
    let mut head: Map<String, Value> = keys::object(&args.more)?;
    keys::none_of(
        &head,
        &["schema", "job", "complaint", "entry"],
        "the number is given by --number, the complaint by the first words, entries by note and did",
    )?;
    head.insert("schema".to_owned(), SCHEMA.into());
    head.insert(
        "job".to_owned(),
        args.number.clone().unwrap_or_default().into(),
    );
    head.insert("complaint".to_owned(), args.complaint.as_str().into());
    let text = Value::Object(head).to_string();
    let parsed = job::read_json(&text, "command line", knowledge)
        .map_err(job::book::BookError::NotUnderstood)?;
    let mut book = book::open(&args.book, Access::Create)?;
    let number = match &args.number {
        Some(number) => {
            book.open_job(&parsed.job, knowledge)?;
            number.clone()
        }
        None => book.open_next(&parsed.job, knowledge)?,
    };
    if common.json {
        return out::document(&json!({ "job": number }));
    }
    for note in &parsed.notes {
        out::message(&format!("note: {}\n", note.what));
    }
    out::text(&format!("Job {number} is open.\n"))
}

fn list(args: &List, knowledge: &Knowledge, common: &Common) -> Result<(), Failure> {
    // Nothing was ever written down: that is an empty list, not a fault.
    if !book::place(&args.book)?.exists() {
        return match (args.ndjson, common.json) {
            (true, _) => Ok(()),
            (false, true) => out::document(&slips_text::json(&[], &[])),
            (false, false) => out::text(NO_JOBS),
        };
    }
    let book = book::open(&args.book, Access::Read)?;
    if args.ndjson {
        let mut all = std::io::stdout().lock();
        for name in book.names()? {
            let job = book.job(&name, knowledge)?.job;
            writeln!(all, "{}", job::to_json(&job))?;
        }
        return Ok(());
    }
    let state = args.state.as_deref().and_then(JobState::from_id);
    let slips = book.slips(state, 0, args.most as usize, knowledge)?;
    let waiting = match state {
        None | Some(JobState::WaitingForColdStart) => book.waiting(knowledge)?,
        Some(_) => Vec::new(),
    };
    if common.json {
        return out::document(&slips_text::json(&slips, &waiting));
    }
    let now = jiff::Timestamp::now();
    out::text(&slips_text::text(&slips, &waiting, now, out::layout()))
}

fn show(args: &Show, knowledge: &Knowledge, common: &Common) -> Result<(), Failure> {
    let book = book::open(&args.book, Access::Read)?;
    if args.said {
        let said = book.said(&args.job)?;
        let list: Value = said.iter().map(slips_text::said).collect();
        return out::document(&list);
    }
    let job = book.job(&args.job, knowledge)?.job;
    if common.json {
        out::document(&job::to_json(&job))
    } else {
        out::text(&job::to_toml(&job))
    }
}

fn close(args: &Close, knowledge: &Knowledge, common: &Common) -> Result<(), Failure> {
    let mark = match args.how {
        As::Done => Mark::Done,
        As::LeftAsIs => Mark::LeftAsIs,
        As::Parked => Mark::Parked,
        As::WaitingForParts => Mark::WaitingForParts,
        As::Open => Mark::Open,
    };
    let mut written = args.written.clone();
    if mark == Mark::Done {
        let book = book::open(&written.book, Access::Read)?;
        let job = book.job(&written.job, knowledge)?.job;
        let against = against(&job, knowledge)?;
        if !against.is_empty() && args.why.as_deref().is_none_or(|w| w.trim().is_empty()) {
            let advice = "go on (hardstart next), or close it with --why and a reason; \
                          --as left-as-is or parked need none";
            let troubles = against.into_iter().map(|what| Trouble::new(what, advice));
            return Err(Failure::Said {
                exit: Exit::Failed,
                troubles: troubles.collect(),
            });
        }
    }
    written.remark = args.why.clone().or(written.remark);
    let mark = json!({ "mark": { "state": mark.id() } });
    entries::written(&written, mark, common).map(|_| ())
}

/// What stands against closing a job as mended. A job that cannot be reckoned has that against it.
fn against(job: &Job, knowledge: &Knowledge) -> Result<Vec<String>, Failure> {
    let evidence = programs::evidence(knowledge, job)?;
    Ok(match diagnosis::causes(&evidence, job) {
        Ok(ranking) => {
            let closing = diagnosis::closing(job, knowledge, &ranking);
            closing.against.iter().map(closing_text::one).collect()
        }
        Err(error) => vec![error.to_string()],
    })
}

fn set(args: &Set, knowledge: &Knowledge) -> Result<(), Failure> {
    let more = keys::object(&args.more)?;
    keys::none_of(
        &more,
        &["job", "entry"],
        "a job keeps its number, and its entries are added to with note, did and undo",
    )?;
    let mut book = book::open(&args.book, Access::Write)?;
    let parsed = book.describe(&args.job, &more, knowledge)?;
    for note in &parsed.notes {
        out::message(&format!("note: {}\n", note.what));
    }
    out::text(&format!(
        "Job {} is changed; the old words are kept.\n",
        args.job
    ))
}

/// Each job is taken whole or not at all; those that cannot be taken are told.
fn take(args: &Take, knowledge: &Knowledge, common: &Common) -> Result<(), Failure> {
    let mut book = book::open(&args.book, Access::Create)?;
    let (mut taken, mut troubles) = (0, Vec::new());
    for file in &args.files {
        let read = input::jobs(file, knowledge)?;
        for (line, job) in read {
            let refused = match job {
                Ok(parsed) => match book.open_job(&parsed.job, knowledge) {
                    Ok(_) => {
                        taken += 1;
                        continue;
                    }
                    Err(job::book::BookError::NotUnderstood(errors)) => {
                        trouble::of_job(&errors, "")
                    }
                    Err(
                        error @ (job::book::BookError::JobExists { .. }
                        | job::book::BookError::NoNumber { .. }),
                    ) => {
                        let mut one =
                            Trouble::in_file(file.as_str(), error.to_string(), error.advice());
                        if let Some(place) = &mut one.place {
                            place.line = line;
                        }
                        vec![one]
                    }
                    Err(error) => return Err(error.into()),
                },
                Err(failure) => failure,
            };
            troubles.extend(refused);
        }
    }
    if common.json {
        out::document(&json!({ "taken": taken }))?;
    } else {
        out::text(&format!("{taken} taken into the job book.\n"))?;
    }
    if troubles.is_empty() {
        return Ok(());
    }
    let exit = if taken > 0 {
        Exit::SomeQuarantined
    } else {
        Exit::NoUsableInput
    };
    Err(Failure::Said { exit, troubles })
}

/// Reckons nothing again: what was said then is kept.
fn score(args: &Own, knowledge: &Knowledge, common: &Common) -> Result<(), Failure> {
    let mut judged = Vec::new();
    if book::place(&args.book)?.exists() {
        let book = book::open(&args.book, Access::Read)?;
        for (job, _) in book.proven(came_true::KIND, came_true::MOST_JOBS, knowledge)? {
            judged.extend(came_true::of_job(&book, &job, knowledge)?);
        }
    }
    let came = CameTrue::of(&judged);
    if common.json {
        return out::document(&came_true_text::json(&came));
    }
    out::text(&came_true_text::text(&came, out::layout()))
}

fn backup(args: &Backup) -> Result<(), Failure> {
    let book = book::open(&args.book, Access::Read)?;
    book.copy_to(&args.to)?;
    out::text(&format!(
        "The job book is copied to {}.\n",
        args.to.display()
    ))
}
