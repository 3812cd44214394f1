//! What goes into the judging of a record, and what comes out.
//!
//! Must not judge.

use super::encoding::Coding;
use super::issue::Issue;
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
    /// What has to be said.
    pub issues: Vec<Issue>,
    /// Pieces of what was found, counted.
    pub counts: Counts,
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
