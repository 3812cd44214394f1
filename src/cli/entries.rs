//! `note`, `did`, `coldstart`, `undo`: one more entry of a job in the book.
//!
//! Must not judge what is written.

use serde_json::{Map, Value, json};

use super::args::Common;
use super::book_args::{ColdStart, Did, Kind, Note, Undo, Written};
use super::exit::Exit;
use super::failure::Failure;
use super::{book, input, keys, out, programs};
use crate::job::book::{Access, Added};
use crate::knowledge::Knowledge;
use crate::report::trouble::Trouble;
use crate::report::{closing_text, names};
use crate::{diagnosis, job};

/// `hardstart note`.
///
/// # Errors
/// When the words are not understood or the book cannot be written.
pub fn note(args: &Note, common: &Common) -> Result<(), Failure> {
    let mut words = args.words.clone();
    let mut body = Map::new();
    let name = match args.kind {
        Kind::Reading => {
            named(&mut words, "check", &mut body);
            valued(&mut words, "value", &mut body);
            "reading"
        }
        Kind::Cannot => {
            named(&mut words, "check", &mut body);
            valued(&mut words, "reason", &mut body);
            "cannot"
        }
        Kind::Later => {
            named(&mut words, "check", &mut body);
            "later"
        }
        Kind::Finding => {
            named(&mut words, "fault", &mut body);
            "finding"
        }
        Kind::Opinion => {
            valued(&mut words, "text", &mut body);
            "opinion"
        }
        Kind::Start => "start",
        Kind::Told => "told",
        Kind::Text => {
            let entry = json!({ "note": words.join(" ") });
            return written(&args.written, entry, common).map(|_| ());
        }
    };
    body.extend(keys::object(&words)?);
    written(&args.written, json!({ name: body }), common).map(|_| ())
}

/// Takes the first word as a thing with its cylinder, unless it is a key with a value.
fn named(words: &mut Vec<String>, key: &str, body: &mut Map<String, Value>) {
    if words.first().is_some_and(|w| !w.contains('=')) {
        keys::with_cylinder(&words.remove(0), key, body);
    }
}

/// Takes the next word as a value, as typed.
fn valued(words: &mut Vec<String>, key: &str, body: &mut Map<String, Value>) {
    if words.first().is_some_and(|w| !w.contains('=')) {
        body.insert(key.to_owned(), words.remove(0).into());
    }
}

/// `hardstart did`.
///
/// # Errors
/// As [`note`].
pub fn did(args: &Did, common: &Common) -> Result<(), Failure> {
    let mut body = keys::object(&args.more)?;
    keys::with_cylinder(&args.repair, "repair", &mut body);
    written(&args.written, json!({ "work": body }), common).map(|_| ())
}

/// `hardstart coldstart`.
///
/// # Errors
/// As [`note`]; also when there is no work yet that it could prove.
pub fn cold_start(args: &ColdStart, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let before =
        book::open(&args.written.book, Access::Write)?.job(&args.written.job, &knowledge)?;
    if job::verification(&before.job, &knowledge)
        .last_work
        .is_none()
    {
        let what = "no work is written down that this start could prove";
        let advice = "write the work first (hardstart did), or the start with \
                      hardstart note --kind start";
        return Err(Failure::new(Exit::Failed, Trouble::new(what, advice)));
    }
    let mut body = keys::object(&args.more)?;
    keys::none_of(
        &body,
        &["result"],
        "the result is the second word: right, better, same or worse",
    )?;
    body.insert("result".to_owned(), args.result.clone().into());
    let (knowledge, added) = written(&args.written, json!({ "start": body }), common)?;
    if common.json {
        return Ok(());
    }
    let job = &added.parsed.job;
    let evidence = programs::evidence(&knowledge, job)?;
    let ranking = diagnosis::causes(&evidence, job)?;
    let closing = diagnosis::closing(job, &knowledge, &ranking);
    out::text(&closing_text::after_start(
        &closing,
        job,
        &knowledge,
        out::layout(),
    ))
}

/// `hardstart undo`.
///
/// # Errors
/// As [`note`].
pub fn undo(args: &Undo, common: &Common) -> Result<(), Failure> {
    let mut body = Map::new();
    body.insert("entry".to_owned(), args.entry.into());
    if let Some(why) = &args.why {
        body.insert("why".to_owned(), why.as_str().into());
    }
    let name = if args.aside { "aside" } else { "undo" };
    written(&args.written, json!({ name: body }), common).map(|_| ())
}

/// Writes one entry and says what was understood.
pub(super) fn written(
    args: &Written,
    mut entry: Value,
    common: &Common,
) -> Result<(Knowledge, Added), Failure> {
    let knowledge = input::knowledge(common)?;
    let at = args.at.clone().unwrap_or_else(book::now);
    entry["at"] = at.into();
    if let Some(by) = &args.by {
        entry["by"] = by.as_str().into();
    }
    if let Some(remark) = &args.remark {
        entry["note"] = remark.as_str().into();
    }
    let mut book = book::open(&args.book, Access::Write)?;
    let added = book.add(&args.job, &[entry], &knowledge)?;
    let job = &added.parsed.job;
    let state = job::state(job, &knowledge);
    if common.json {
        out::document(&json!({ "job": job.job, "entry": added.first, "state": state.id() }))?;
    } else {
        let says = names::says(&knowledge, job, added.first - 1);
        let (number, label) = (added.first, state.label());
        out::text(&format!(
            "Job {}, entry {number}: {says}\nThe job is {label}.\n",
            job.job
        ))?;
        let own = format!("entry[{}]", number - 1);
        for note in added
            .parsed
            .notes
            .iter()
            .filter(|n| n.path.starts_with(&own))
        {
            out::message(&format!("note: {}\n", note.what));
        }
    }
    Ok((knowledge, added))
}
