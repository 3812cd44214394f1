//! `hardstart causes`: what it could be, with chances.
//!
//! Must not reckon or word; it fetches, asks and writes.

use super::args::{Causes, Common};
use super::failure::Failure;
use super::{book, input, out, programs, usage};
use crate::diagnosis;
use crate::diagnosis::ranges::{self, Ranges, Tipping};
use crate::report::causes_text::Wanted;
use crate::report::{causes_json, causes_text, ranges_json, ranges_text, remarks};

/// Figures named that would change the head of the list.
const TIPS: usize = 3;

/// Runs the command.
///
/// # Errors
/// When the figures or the job cannot be used, or the answer not written.
pub fn run(args: &Causes, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let parsed = input::job(&args.job, &knowledge, || usage::page("causes"))?;
    let evidence = programs::evidence(&knowledge, &parsed.job)?;
    let mut ranking = diagnosis::causes(&evidence, &parsed.job)?;
    let mut behind: Option<(Ranges, Vec<Tipping>)> = None;
    if args.ranges {
        let found = ranges::ranges(&knowledge, &parsed.job, &evidence)?;
        found.put_into(&mut ranking);
        let tips = ranges::tipping(&knowledge, &parsed.job, &evidence, &found, TIPS)?;
        behind = Some((found, tips));
    }
    let notes = remarks::notes(&knowledge, &parsed.job, &parsed.notes, &evidence);
    if common.json || args.job.job.is_some() {
        let mut answer = causes_json::causes(&ranking, &parsed.job, &notes, &knowledge.sha256);
        if let Some((found, tips)) = &behind {
            answer["tipping"] = ranges_json::tipping(tips, found, &knowledge);
        }
        if let Some(job) = &args.job.job {
            let after = parsed.job.entries.len();
            book::keep(&args.job.book, job, after, "causes", &knowledge, &answer);
        }
        if common.json {
            return out::document(&answer);
        }
    }
    let wanted = Wanted {
        all: args.all,
        systems: args.systems,
    };
    let mut page = causes_text::causes(
        &ranking,
        &parsed.job,
        &evidence,
        &knowledge,
        &notes,
        wanted,
        out::layout(),
    );
    if let Some((found, tips)) = &behind {
        page.push_str(&ranges_text::tipping(
            tips,
            found,
            &knowledge,
            out::layout(),
        ));
    }
    out::text(&page)
}
