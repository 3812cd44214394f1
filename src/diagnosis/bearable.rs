//! The evidence of a job, no more of it than can be reckoned with while somebody waits.
//!
//! Every start after work lays one more copy of what the parts deliver beside the others, and all
//! copies hang on the same parts: three or four together are too much for exact work. Then what was
//! seen between the first work and the last start is left out, the oldest first, until it can be
//! done; then what was seen before. The engine's temperatures stay. Which were left out is said with
//! every answer. Must not approximate.

use super::error::DiagnosisError;
use super::reckoner::Reckoner;
use crate::evidence::{Evidence, EvidenceError, Remark, gather};
use crate::job::{EntryBody, Job};
use crate::knowledge::Knowledge;
use crate::network::{CompileError, Shelf};

/// Bytes of programs kept while it is tried whether they are too wide, where nothing else keeps any.
const MEANWHILE: usize = 64 << 20;

/// Everything a job says, starts left out where all are too much, with programs from `shelf`.
///
/// # Errors
/// When a network cannot be built.
pub fn bearable(
    knowledge: &Knowledge,
    job: &Job,
    shelf: &Shelf,
) -> Result<Evidence, EvidenceError> {
    let mut evidence = gather(knowledge, job)?;
    let mut starts = seen_starts(job);
    if starts.len() < 2 {
        return Ok(evidence.on(shelf));
    }
    let meanwhile = || Shelf::new(MEANWHILE);
    let shelf = if shelf.keeps() {
        shelf.clone()
    } else {
        meanwhile()
    };
    evidence = evidence.on(&shelf);
    let mut told = job.clone();
    let mut left_out = Vec::new();
    // The last one always counts.
    while starts.len() > 1 && too_wide(&evidence) {
        let spared = starts.remove(0);
        if let EntryBody::Start(start) = &mut told.entries[spared].body {
            start.signs.clear();
            start.result = None;
        }
        left_out.push(Remark::TooMuch { entry: spared });
        evidence = gather(knowledge, &told)?.on(&shelf);
    }
    evidence.remarks.extend(left_out);
    Ok(evidence)
}

/// Positions of the starts at which something was seen, in the order in which they can be spared:
/// those between works, those before, the last one.
fn seen_starts(job: &Job) -> Vec<usize> {
    let used = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    let seen = used.clone().filter(|(_, e)| match &e.body {
        EntryBody::Start(start) => !start.signs.is_empty() || start.result.is_some(),
        _ => false,
    });
    let mut seen: Vec<usize> = seen.map(|(at, _)| at).collect();
    let last = seen.pop();
    let mut works = used.filter(|(_, e)| matches!(e.body, EntryBody::Work(_)));
    let first_work = works.next().map_or(usize::MAX, |(at, _)| at);
    // Stable: each kind stays in its order.
    seen.sort_by_key(|at| *at < first_work);
    seen.extend(last);
    seen
}

fn too_wide(evidence: &Evidence) -> bool {
    matches!(
        Reckoner::new(evidence),
        Err(DiagnosisError::Compile(CompileError::TooWide { .. }))
    )
}
