//! Jobs from a file with one JSON job a line, some at a time, read on all threads.
//!
//! Must not keep more than it was asked for, and must not stop at a line that cannot be read.

use std::io::{BufRead, BufReader, IsTerminal};

use rayon::prelude::*;

use super::exit::Exit;
use super::failure::Failure;
use super::input::STANDARD_INPUT;
use crate::job::{self, Job, JobErrors};
use crate::knowledge::Knowledge;
use crate::report::trouble::{self, Trouble};

/// Troubles of single lines that are told; the rest are counted.
const TOLD: usize = 5;

/// A source of jobs.
pub struct Jobs<'k> {
    source: Box<dyn BufRead>,
    knowledge: &'k Knowledge,
    /// The file as it was named.
    pub name: String,
    line: usize,
    /// Lines that could not be read.
    pub refused: usize,
    /// Jobs read.
    pub read: usize,
    /// What was wrong with the first of them.
    pub troubles: Vec<Trouble>,
}

impl<'k> Jobs<'k> {
    /// Opens a file, or the standard input for `-`.
    ///
    /// # Errors
    /// When it cannot be opened; a help page where a terminal would have to be typed into.
    pub fn open(
        file: &str,
        knowledge: &'k Knowledge,
        help: impl FnOnce() -> String,
    ) -> Result<Self, Failure> {
        let source: Box<dyn BufRead> = if file == STANDARD_INPUT {
            let input = std::io::stdin();
            if input.is_terminal() {
                return Err(Failure::Help(help()));
            }
            Box::new(BufReader::new(input))
        } else {
            let opened = std::fs::File::open(file).map_err(|error| {
                let advice = "give the name of a file with one JSON job a line, or -";
                let what = format!("cannot be read: {error}");
                Failure::new(Exit::NoUsableInput, Trouble::in_file(file, what, advice))
            })?;
            Box::new(BufReader::new(opened))
        };
        Ok(Self {
            source,
            knowledge,
            name: file.to_owned(),
            line: 0,
            refused: 0,
            read: 0,
            troubles: Vec::new(),
        })
    }

    /// The next lines' jobs with their line numbers, in order; none at the end.
    ///
    /// # Errors
    /// When the source cannot be read.
    pub fn next(&mut self, most: usize) -> Result<Option<Vec<(usize, Job)>>, Failure> {
        let mut lines = Vec::new();
        while lines.len() < most {
            let mut bytes = Vec::new();
            let n = self.source.read_until(b'\n', &mut bytes).map_err(|error| {
                let what = format!("cannot be read: {error}");
                let trouble = Trouble::in_file(&self.name, what, "see whether the file is whole");
                Failure::new(Exit::Failed, trouble)
            })?;
            if n == 0 {
                break;
            }
            self.line += 1;
            if !bytes.iter().all(u8::is_ascii_whitespace) {
                lines.push((self.line, bytes));
            }
        }
        if lines.is_empty() {
            return Ok(None);
        }
        let parsed = lines
            .par_iter()
            .map(|(line, bytes)| (*line, job::read_bytes(bytes, &self.name, self.knowledge)))
            .collect::<Vec<_>>();
        let mut jobs = Vec::new();
        for ((line, parsed), (_, bytes)) in parsed.into_iter().zip(&lines) {
            match parsed {
                Ok(parsed) => jobs.push((line, parsed.job)),
                Err(errors) => self.refuse(line, bytes, errors),
            }
        }
        self.read += jobs.len();
        Ok(Some(jobs))
    }

    fn refuse(&mut self, line: usize, bytes: &[u8], mut errors: JobErrors) {
        self.refused += 1;
        if self.troubles.len() < TOLD {
            let text = String::from_utf8_lossy(bytes);
            for problem in &mut errors.problems {
                problem.line += line - 1;
            }
            let mut told = trouble::of_job(&errors, &text);
            told.truncate(1);
            // Drawn lines would hold a whole job.
            told.iter_mut().for_each(|t| t.drawn = None);
            self.troubles.append(&mut told);
        }
    }

    /// How the run ends as far as its input goes.
    #[must_use]
    pub fn end(&self) -> Exit {
        match (self.read, self.refused) {
            (0, _) => Exit::NoUsableInput,
            (_, 0) => Exit::Done,
            _ => Exit::SomeQuarantined,
        }
    }
}
