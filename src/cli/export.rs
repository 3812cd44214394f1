//! `hardstart export`, `widen` and `lengthen`: our own tables.
//!
//! Must not turn or word.

use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, IsTerminal, Read, Write};
use std::path::Path;

use super::args::Common;
use super::exchange_args::{Country, Export, TableForm, Turn, Written};
use super::exit::Exit;
use super::failure::Failure;
use super::import::failed;
use super::{input, usage};
use crate::exchange::sheet::{self, Style, Writer};
use crate::exchange::{ExchangeError, long, package, wide};
use crate::job::{Job, read_ndjson, to_json};
use crate::knowledge::Knowledge;
use crate::report::trouble::{self, Trouble};

fn open(file: &str, command: &str) -> Result<Box<dyn Read>, Failure> {
    if file == input::STANDARD_INPUT {
        if std::io::stdin().is_terminal() {
            return Err(Failure::Help(usage::page(command)));
        }
        return Ok(Box::new(std::io::stdin()));
    }
    match File::open(file) {
        Ok(file) => Ok(Box::new(file)),
        Err(error) => Err(failed(ExchangeError::Read(error.to_string()), file, None)),
    }
}

fn style(written: &Written) -> Style {
    Style {
        spreadsheet: written.for_spreadsheet.map(|country| match country {
            Country::De | Country::Fr => (b';', true),
            Country::En => (b',', false),
        }),
        crlf: written.crlf,
    }
}

/// `hardstart export FILE`.
///
/// # Errors
/// When a job cannot be read, or the table not written.
pub fn run_export(args: &Export, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let source: Box<dyn BufRead> = Box::new(BufReader::new(open(&args.file, "export")?));
    let name = match args.form {
        TableForm::Long => "jobs_long.csv",
        TableForm::Wide => "jobs_wide.csv",
        TableForm::Ndjson => "jobs.ndjson",
    };
    let fail = |e| failed(e, &args.file, None);
    let Some(directory) = &args.out else {
        return table(args, source, &knowledge, std::io::stdout().lock());
    };
    let place = directory.join(name);
    if place.exists() && !args.force {
        let trouble = Trouble::in_file(
            place.display().to_string(),
            "stands there already",
            "give another directory, or --force",
        );
        return Err(Failure::new(Exit::Failed, trouble));
    }
    std::fs::create_dir_all(directory)?;
    let mut file = tempfile::Builder::new()
        .prefix(".hardstart-")
        .suffix(".part")
        .tempfile_in(directory)?;
    table(args, source, &knowledge, &mut file)?;
    persist(file, &place)?;
    let text = package::of_directory(directory, &[]).map_err(fail)?;
    let mut file = tempfile::Builder::new()
        .prefix(".hardstart-")
        .suffix(".part")
        .tempfile_in(directory)?;
    file.write_all(text.as_bytes())?;
    persist(file, &directory.join(package::NAME))
}

fn persist(file: tempfile::NamedTempFile, place: &Path) -> Result<(), Failure> {
    file.as_file().sync_all()?;
    file.persist(place).map_err(|e| e.error)?;
    Ok(())
}

fn table(
    args: &Export,
    source: Box<dyn BufRead>,
    knowledge: &Knowledge,
    out: impl Write,
) -> Result<(), Failure> {
    let mut out = BufWriter::new(out);
    let fail = |e| {
        if matches!(&e, ExchangeError::Write(w) if w.contains("Broken pipe")) {
            Failure::ReaderGone
        } else {
            failed(e, &args.file, None)
        }
    };
    match args.form {
        TableForm::Ndjson => each(args, source, knowledge, |job| {
            Ok(writeln!(out, "{}", to_json(job))?)
        })?,
        TableForm::Long => {
            let mut writer =
                Writer::new(&mut out, style(&args.written), &long::COLUMNS).map_err(fail)?;
            each(args, source, knowledge, |job| {
                long::rows(job)
                    .iter()
                    .try_for_each(|r| writer.row(&r.0))
                    .map_err(fail)
            })?;
            writer.finish().map_err(fail)?;
        }
        TableForm::Wide => {
            let mut kept = Vec::new();
            each(args, source, knowledge, |job| {
                kept.extend(long::rows(job));
                Ok(())
            })?;
            write_wide(&wide::widen(&kept), &mut out, &args.written).map_err(fail)?;
        }
    }
    Ok(out.flush()?)
}

/// Every job, one after the other.
fn each(
    args: &Export,
    source: Box<dyn BufRead>,
    knowledge: &Knowledge,
    mut take: impl FnMut(&Job) -> Result<(), Failure>,
) -> Result<(), Failure> {
    for line in read_ndjson(source, &args.file, knowledge) {
        let job = line?.job.map_err(|errors| Failure::Said {
            exit: Exit::NoUsableInput,
            troubles: trouble::of_job(&errors, ""),
        })?;
        take(&job.job)?;
    }
    Ok(())
}

fn write_wide(table: &wide::Wide, out: impl Write, written: &Written) -> Result<(), ExchangeError> {
    let mut writer = Writer::new(out, style(written), &table.headings)?;
    table.rows.iter().try_for_each(|r| writer.row(r))?;
    writer.finish()
}

/// `hardstart widen FILE`.
///
/// # Errors
/// When the table cannot be read, or the answer not written.
pub fn run_widen(args: &Turn) -> Result<(), Failure> {
    let fail = |e| failed(e, &args.file, None);
    let table = sheet::read(open(&args.file, "widen")?).map_err(fail)?;
    let rows = sheet::long_rows(&table).map_err(fail)?;
    write_wide(&wide::widen(&rows), std::io::stdout().lock(), &args.written).map_err(fail)
}

/// `hardstart lengthen FILE`.
///
/// # Errors
/// When the table cannot be read, or the answer not written.
pub fn run_lengthen(args: &Turn) -> Result<(), Failure> {
    let fail = |e| failed(e, &args.file, None);
    let table = sheet::read(open(&args.file, "lengthen")?).map_err(fail)?;
    let rows = wide::lengthen(&table).map_err(fail)?;
    let mut writer = Writer::new(
        std::io::stdout().lock(),
        style(&args.written),
        &long::COLUMNS,
    )
    .map_err(fail)?;
    rows.iter()
        .try_for_each(|r| writer.row(&r.0))
        .map_err(fail)?;
    writer.finish().map_err(fail)
}
