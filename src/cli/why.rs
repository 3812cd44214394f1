//! `hardstart why CAUSE FILE`: what moved one cause.
//!
//! Must not reckon or word.

use super::args::{Common, Why};
use super::exit::Exit;
use super::failure::Failure;
use super::{cause_name, input, out, programs, usage};
use crate::diagnosis;
use crate::diagnosis::ranges;
use crate::report::round;
use crate::report::trouble::Trouble;
use crate::report::{ranges_json, ranges_text, why_json, why_text};

/// Runs the command.
///
/// # Errors
/// When there is no such cause, the job cannot be used, or the answer not written.
pub fn run(args: &Why, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let cause = cause_name::parse(&knowledge, &args.cause)?;
    let parsed = input::job(&args.job, &knowledge, || usage::page("why"))?;
    let evidence = programs::evidence(&knowledge, &parsed.job)?;
    if !evidence.cases.iter().any(|c| cause.place.find(c).is_some()) {
        let what = format!("the engine of this job has no `{}`", args.cause);
        let advice = "hardstart causes --all lists every cause this engine may have";
        return Err(Failure::new(Exit::Usage, Trouble::new(what, advice)));
    }
    let why = diagnosis::why(&evidence, &cause.place)?;
    let ranges = if args.figures {
        Some(ranges::ranges(&knowledge, &parsed.job, &evidence)?)
    } else {
        None
    };
    let behind = ranges.as_ref().and_then(|r| Some((r, r.of(&cause.place)?)));
    if common.json {
        let mut document = why_json::why(
            &why,
            &cause.place,
            &cause.label,
            &parsed.job,
            &knowledge.sha256,
        );
        if let Some((ranges, range)) = behind {
            document["low"] = round::chance(range.low);
            document["high"] = round::chance(range.high);
            document["figures"] = ranges_json::figures(ranges, range, &knowledge);
        }
        return out::document(&document);
    }
    let mut page = why_text::why(
        &why,
        &cause.place,
        &cause.label,
        &parsed.job,
        &knowledge,
        out::layout(),
    );
    if let Some((ranges, range)) = behind {
        page.push_str(&ranges_text::figures(
            ranges,
            range,
            &knowledge,
            out::layout(),
        ));
    }
    out::text(&page)
}
