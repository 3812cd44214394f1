//! What a command works on: the figures and the job, with every problem of either.
//!
//! Must not reckon.

use std::io::{IsTerminal, Read};
use std::path::Path;

use super::args::{Common, JobFile};
use super::exit::Exit;
use super::failure::Failure;
use super::{book, files, programs};
use crate::job::book::Access;
use crate::job::{self, Parsed};
use crate::knowledge::{
    self, FittedLayer, Knowledge, KnowledgeErrors, KnowledgeFile, KnowledgeFiles,
};
use crate::network::{Network, bif};
use crate::report::trouble::{self, Place, Trouble};

/// Name that stands for the standard input.
pub const STANDARD_INPUT: &str = "-";
/// Rule of the loader that finds files of another version.
const FORMAT_RULE: &str = "format";

/// The figures that were asked for: built in or of a directory, with a fitted layer over them
/// where one is given.
///
/// # Errors
/// Every problem of the files.
pub fn knowledge(common: &Common) -> Result<Knowledge, Failure> {
    let knowledge = starter(common.priors.as_deref())?;
    match &common.fitted {
        None => Ok(knowledge),
        Some(path) => layered(knowledge, path).map(|l| l.0),
    }
}

/// Figures with a fitted layer over them.
///
/// # Errors
/// When the layer cannot be read or was fitted over other figures.
pub fn layered(knowledge: Knowledge, path: &Path) -> Result<(Knowledge, FittedLayer), Failure> {
    let text = files::read(path)?;
    knowledge.with_layer(&text).map_err(|mut errors| {
        let name = path.display().to_string();
        errors
            .problems
            .iter_mut()
            .for_each(|p| p.file.clone_from(&name));
        let files = KnowledgeFiles {
            files: vec![KnowledgeFile { name, text }],
        };
        refused(&errors, &files)
    })
}

/// Figures that cannot be used; those of another version end with a code of their own.
fn refused(errors: &KnowledgeErrors, files: &KnowledgeFiles) -> Failure {
    let old = errors.problems.iter().any(|p| p.rule == FORMAT_RULE);
    Failure::Said {
        exit: if old {
            Exit::VersionMismatch
        } else {
            Exit::NoUsableInput
        },
        troubles: trouble::of_knowledge(errors, files),
    }
}

/// The built-in figures, or those of a directory, without any layer.
///
/// # Errors
/// Every problem of the files.
pub fn starter(directory: Option<&Path>) -> Result<Knowledge, Failure> {
    let files = match directory {
        None => KnowledgeFiles::built_in(),
        Some(directory) => KnowledgeFiles::from_directory(directory).map_err(|error| {
            let advice = "give the directory that holds the whole set of files, or leave out \
                          --priors for the built-in ones";
            Failure::new(Exit::NoUsableInput, Trouble::new(error.to_string(), advice))
        })?,
    };
    let name = programs::name(&files.sha256());
    let store = programs::store();
    let bytes = store.as_ref().and_then(|s| s.take(&name));
    let loaded = knowledge::load_kept(&files, bytes.as_deref());
    let (knowledge, keep) = loaded.map_err(|errors| refused(&errors, &files))?;
    if let (Some(store), Some(keep)) = (store, keep) {
        store.put(&name, &keep);
    }
    Ok(knowledge)
}

/// The bytes of a file, or of the standard input for `-`.
///
/// # Errors
/// When it cannot be read. With `-` on a terminal the help of the command is given back instead
/// of waiting for somebody to type a job.
pub fn bytes(file: &str, help: impl FnOnce() -> String) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let read = if file == STANDARD_INPUT {
        let mut input = std::io::stdin();
        if input.is_terminal() {
            return Err(Failure::Help(help()));
        }
        input.read_to_end(&mut bytes)
    } else {
        std::fs::File::open(file).and_then(|mut f| f.read_to_end(&mut bytes))
    };
    match read {
        Ok(_) => Ok(bytes),
        Err(error) => {
            let what = format!("cannot be read: {error}");
            let advice = "give the name of a file, or - to read from the standard input";
            Err(Failure::new(
                Exit::NoUsableInput,
                Trouble::in_file(file, what, advice),
            ))
        }
    }
}

/// A file to be read as it comes, or the standard input for `-`.
///
/// # Errors
/// When it cannot be opened.
pub fn reader(file: &str) -> Result<Box<dyn Read>, Failure> {
    if file == STANDARD_INPUT {
        return Ok(Box::new(std::io::stdin()));
    }
    match std::fs::File::open(file) {
        Ok(open) => Ok(Box::new(open)),
        Err(error) => {
            let what = format!("cannot be read: {error}");
            let advice = "give the name of a file, or - to read the standard input";
            Err(Failure::new(
                Exit::NoUsableInput,
                Trouble::in_file(file, what, advice),
            ))
        }
    }
}

/// A network in the interchange format, tables that are noisy maxima taken as such.
///
/// # Errors
/// When it cannot be read, and every problem of what it says.
pub fn network(file: &str) -> Result<Network, Failure> {
    let mut text = Vec::new();
    reader(file)?.read_to_end(&mut text)?;
    let text = String::from_utf8_lossy(&text);
    match bif::read(&text) {
        Ok(read) => Ok(bif::with_noisy_maxima(&read.network)),
        Err(problems) => Err(Failure::Said {
            exit: Exit::NoUsableInput,
            troubles: problems
                .into_iter()
                .map(|p| Trouble {
                    place: Some(Place {
                        file: file.to_owned(),
                        line: Some(p.line),
                        column: Some(p.column),
                    }),
                    ..Trouble::new(p.what, p.hint)
                })
                .collect(),
        }),
    }
}

/// The job that was asked for: in a file, on the standard input for `-`, or in the book.
///
/// # Errors
/// When it cannot be read, and every problem of what it says.
pub fn job(
    asked: &JobFile,
    knowledge: &Knowledge,
    help: impl FnOnce() -> String,
) -> Result<Parsed, Failure> {
    match (&asked.job, &asked.file) {
        (Some(job), _) => Ok(book::open(&asked.book, Access::Read)?.job(job, knowledge)?),
        (None, Some(file)) => of_file(file, knowledge, help),
        (None, None) => Err(Failure::Help(help())),
    }
}

/// Jobs of a file, each with its line where there is one a line, or its problems.
///
/// # Errors
/// When the file cannot be read.
pub fn jobs(file: &str, knowledge: &Knowledge) -> Result<Vec<JobAtLine>, Failure> {
    if !file.ends_with(".ndjson") {
        return match of_file(file, knowledge, String::new) {
            Ok(parsed) => Ok(vec![(None, Ok(parsed))]),
            Err(Failure::Said {
                exit: Exit::NoUsableInput | Exit::VersionMismatch,
                troubles,
            }) => Ok(vec![(None, Err(troubles))]),
            Err(other) => Err(other),
        };
    }
    let unread = |error: std::io::Error| {
        let what = format!("cannot be read: {error}");
        let advice = "give the name of a file with one JSON job a line";
        Failure::new(Exit::NoUsableInput, Trouble::in_file(file, what, advice))
    };
    let source = std::fs::File::open(file).map_err(unread)?;
    let source = std::io::BufReader::new(source);
    job::read_ndjson(source, file, knowledge)
        .map(|line| {
            let line = line.map_err(unread)?;
            let job = line.job.map_err(|errors| {
                let mut troubles = trouble::of_job(&errors, "");
                troubles.iter_mut().for_each(|t| t.drawn = None);
                troubles
            });
            Ok((Some(line.line), job))
        })
        .collect()
}

/// A job with its line, or what is wrong with it.
pub type JobAtLine = (Option<usize>, Result<Parsed, Vec<Trouble>>);

/// The job in a file, or on the standard input for `-`.
///
/// # Errors
/// When the file cannot be read or is not a job.
pub fn of_file(
    file: &str,
    knowledge: &Knowledge,
    help: impl FnOnce() -> String,
) -> Result<Parsed, Failure> {
    let bytes = bytes(file, help)?;
    job::read_bytes(&bytes, file, knowledge).map_err(|errors| {
        let text = String::from_utf8_lossy(&bytes);
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        let old = errors.problems.iter().any(|p| p.path == "schema");
        Failure::Said {
            exit: if old {
                Exit::VersionMismatch
            } else {
                Exit::NoUsableInput
            },
            troubles: trouble::of_job(&errors, text),
        }
    })
}
