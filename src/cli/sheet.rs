//! `hardstart sheet`: one page of a job, to be printed.
//!
//! Must not word or lay out.

use super::args::Common;
use super::book_args::{Sheet, SheetForm};
use super::failure::Failure;
use super::{input, out, programs, usage};
use crate::report::sheet;

/// Runs the command.
///
/// # Errors
/// When the figures or the job cannot be used, or the sheet not written.
pub fn run(args: &Sheet, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let job = input::job(&args.job, &knowledge, || usage::page("sheet"))?.job;
    let filled = if args.blank {
        sheet::blank(&job)
    } else {
        let evidence = programs::evidence(&knowledge, &job)?;
        let ranking = crate::diagnosis::causes(&evidence, &job)?;
        // What was believed when the work was begun is reckoned from what stood there then.
        let mut before = Vec::new();
        if let Some(then) = sheet::before_work(&job) {
            let evidence = programs::evidence(&knowledge, &then)?;
            before = sheet::causes(&crate::diagnosis::causes(&evidence, &then)?);
        }
        sheet::filled(&job, &knowledge, &ranking, &before)
    };
    match args.form {
        SheetForm::Text => out::text(&crate::report::sheet_text::text(&filled, out::layout())),
        SheetForm::Html => out::text(&crate::report::sheet_html::page(&filled)),
    }
}
