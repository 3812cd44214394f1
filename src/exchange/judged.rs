//! What goes into the judging of a record, and what comes out.
//!
//! Must not judge.

use super::encoding::Coding;
use super::issue::{Code, Issue, Told};
use super::plan::Plan;
use super::records::Record;
use super::story::{self, Counts};

/// What all records of a file share.
pub struct Context<'a> {
    /// The columns.
    pub plan: &'a Plan,
    /// The encoding.
    pub coding: Coding,
    /// Name of the file.
    pub file: &'a str,
    /// Its hash.
    pub sha256: &'a str,
    /// Phrases and what may be named.
    pub story: &'a story::Story,
    /// Notes count as cell errors, cell errors as record errors.
    pub strict: bool,
}

/// A judged record.
#[derive(Debug, Default)]
pub struct Judged {
    /// The job was written; otherwise the record goes to quarantine.
    pub taken: bool,
    /// What has to be said and somebody looks at one by one ([`Said::keep`]), and what keeps
    /// the record from being taken.
    pub issues: Vec<Issue>,
    /// Where its part of [`Said::lines`] ends.
    pub said: usize,
    /// Pieces of what was found, counted.
    pub counts: Counts,
}

/// What has to be said of several records, one behind the other.
#[derive(Debug, Default)]
pub struct Said {
    /// Lines of a file of issues, each with its end; none unless they are `asked` for.
    pub lines: String,
    /// How many of each code, in the order of [`Code::ALL`].
    pub codes: [u64; Code::ALL.len()],
    /// Lines are written.
    pub asked: bool,
    /// Issues are kept one by one as well.
    pub keep: bool,
}

impl Said {
    /// Begins anew.
    pub fn clear(&mut self, asked: bool, keep: bool) {
        self.lines.clear();
        self.codes = [0; Code::ALL.len()];
        (self.asked, self.keep) = (asked, keep);
    }

    /// Counts one, and writes its line if that is asked for.
    pub(super) fn add(&mut self, code: Code, told: &Told<'_>) {
        self.codes[code as usize] += 1;
        if self.asked {
            told.line(&mut self.lines);
        }
    }
}

/// A record with the number it has and the line it counts under.
pub struct Numbered<'r> {
    /// The record.
    pub record: &'r Record,
    /// Number below the heading, from 1.
    pub number: u64,
    /// Hash of the source and line its job comes from (a quarantine file names another).
    pub source: Option<(&'r str, u64)>,
    /// Hash of its contents.
    pub content: u64,
    /// The key.
    pub key: &'r str,
}
