//! `hardstart peek`, `map` and `import`: tables of other people into jobs.
//!
//! Must not judge or word.

use std::collections::BTreeMap;
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::args::Common;
use super::exchange_args::{Import, MapCheck, MapCommand, Peek, TableFile};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, out, usage};
use crate::exchange::import::{self, Known, Nothing, Report, Sink, Table, Takes, Wishes};
use crate::exchange::quarantine::Aside;
use crate::exchange::store::{self, Store};
use crate::exchange::{ExchangeError, draft, map, peek, quarantine};
use crate::report::trouble::{Place, Trouble};
use crate::report::{import_json, import_text};

/// A table on disk; what came on the standard input stands in a file until the end.
struct Source {
    path: PathBuf,
    name: String,
    _kept: Option<tempfile::NamedTempFile>,
}

fn source(table: &TableFile, command: &str) -> Result<Source, Failure> {
    if table.file != input::STANDARD_INPUT {
        let name = Path::new(&table.file).file_name();
        return Ok(Source {
            path: PathBuf::from(&table.file),
            name: name.map_or_else(|| table.file.clone(), |n| n.to_string_lossy().into_owned()),
            _kept: None,
        });
    }
    let mut stdin = std::io::stdin();
    if stdin.is_terminal() {
        return Err(Failure::Help(usage::page(command)));
    }
    let mut kept = tempfile::NamedTempFile::new()?;
    std::io::copy(&mut stdin, &mut kept)?;
    Ok(Source {
        path: kept.path().to_owned(),
        name: input::STANDARD_INPUT.to_owned(),
        _kept: Some(kept),
    })
}

/// What the exchange could not do, with the file it is about.
pub fn failed(error: ExchangeError, file: &str, map: Option<&Path>) -> Failure {
    let said =
        |exit, advice: &str| Failure::new(exit, Trouble::in_file(file, error.to_string(), advice));
    match &error {
        ExchangeError::Map(problems) => {
            let name =
                map.map_or_else(|| "the drafted map".to_owned(), |m| m.display().to_string());
            let troubles = problems.iter().map(|p| Trouble {
                what: p.what.clone(),
                place: Some(Place {
                    file: name.clone(),
                    line: Some(p.line).filter(|l| *l > 0),
                    column: Some(p.column).filter(|c| *c > 0),
                }),
                advice: p.try_.clone(),
                drawn: Some(format!(
                    "error: {name}:{}:{}: {}\nTry: {}",
                    p.line, p.column, p.what, p.try_
                )),
            });
            let old = problems.iter().any(|p| p.is_of_another_format);
            Failure::Said {
                exit: if old {
                    Exit::VersionMismatch
                } else {
                    Exit::NoUsableInput
                },
                troubles: troubles.collect(),
            }
        }
        ExchangeError::Write(_) => said(
            Exit::Failed,
            "see whether the place may be written to and the disk has room",
        ),
        ExchangeError::Read(_) => said(
            Exit::NoUsableInput,
            "give the name of a table, or - to read one from the standard input",
        ),
        ExchangeError::UnknownEncoding { .. } | ExchangeError::MarkDisagrees { .. } => said(
            Exit::NoUsableInput,
            "state the encoding with --encoding, or leave it out",
        ),
        ExchangeError::NoHeading | ExchangeError::Table(_) => said(
            Exit::NoUsableInput,
            "look at the file with `hardstart peek`",
        ),
    }
}

/// `hardstart peek FILE`.
///
/// # Errors
/// When the table cannot be read, or the answer not written.
pub fn run_peek(args: &Peek, common: &Common) -> Result<(), Failure> {
    let source = source(&args.table, "peek")?;
    let look = peek::look(&source.path, &source.name, args.table.encoding.as_deref())
        .map_err(|e| failed(e, &source.name, None))?;
    if common.json {
        return out::document(&import_json::peek(&look));
    }
    out::text(&import_text::peek(&look, out::layout()))
}

/// `hardstart map new|check`.
///
/// # Errors
/// When the table or the map cannot be used, or the answer not written.
pub fn run_map(command: &MapCommand, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    match command {
        MapCommand::New(table) => {
            let source = source(table, "map")?;
            let file = std::fs::File::open(&source.path)
                .map_err(|e| failed(ExchangeError::Read(e.to_string()), &source.name, None))?;
            let found = import::table(
                &file,
                &source.name,
                &map::FileSaid::default(),
                table.encoding.as_deref(),
            );
            let found = found.map_err(|e| failed(e, &source.name, None))?;
            out::text(&draft::text(
                &quarantine::own_headings(&found.headings),
                &knowledge,
            ))
        }
        MapCommand::Check(args) => {
            let MapCheck { map, table } = args;
            let source = source(table, "map")?;
            let wishes = wishes(&source, table, Some(map), false)?;
            let (_, plan) = import::check(&source.path, &wishes, &knowledge)
                .map_err(|e| failed(e, &source.name, Some(map)))?;
            out::text(&format!(
                "The map fits: {} of {} columns are understood.\n",
                plan.understood(),
                plan.columns.len()
            ))
        }
    }
}

/// What the person states, with the files the map names.
fn wishes(
    source: &Source,
    table: &TableFile,
    map_file: Option<&PathBuf>,
    strict: bool,
) -> Result<Wishes, Failure> {
    let mut wishes = Wishes {
        file: source.name.clone(),
        encoding: table.encoding.clone(),
        strict,
        ..Wishes::default()
    };
    let Some(path) = map_file else {
        return Ok(wishes);
    };
    let unread = |path: &Path, error: std::io::Error| {
        let trouble = Trouble::in_file(
            path.display().to_string(),
            format!("cannot be read: {error}"),
            "give the name of a column map",
        );
        Failure::new(Exit::NoUsableInput, trouble)
    };
    let text = std::fs::read_to_string(path).map_err(|e| unread(path, e))?;
    let said =
        map::read(&text).map_err(|p| failed(ExchangeError::Map(p), &source.name, Some(path)))?;
    for rules in said.text.values().filter_map(|t| t.rules.as_ref()) {
        let beside = path.parent().unwrap_or(Path::new(".")).join(rules);
        let text = std::fs::read_to_string(&beside).map_err(|e| unread(&beside, e))?;
        wishes.rules.insert(rules.clone(), text);
    }
    wishes.map = Some(text);
    Ok(wishes)
}

/// Jobs or issues, one a line, as they are made.
struct Lines<'w> {
    jobs: Option<Box<dyn Write + 'w>>,
    issues: Option<Box<dyn Write + 'w>>,
    inner: Option<Store>,
}

impl Sink for Lines<'_> {
    fn begin(&mut self, table: &Table) -> Result<(), ExchangeError> {
        self.inner.as_mut().map_or(Ok(()), |s| s.begin(table))
    }

    fn job(&mut self, line: &str) -> Result<(), ExchangeError> {
        if let Some(jobs) = &mut self.jobs {
            jobs.write_all(line.as_bytes())?;
            jobs.write_all(b"\n")?;
        }
        self.inner.as_mut().map_or(Ok(()), |s| s.job(line))
    }

    fn jobs(&mut self, lines: &str) -> Result<(), ExchangeError> {
        if let Some(jobs) = &mut self.jobs {
            jobs.write_all(lines.as_bytes())?;
        }
        self.inner.as_mut().map_or(Ok(()), |s| s.jobs(lines))
    }

    fn takes(&self) -> Takes {
        match (&self.issues, &self.inner) {
            (None, None) => Takes::None,
            _ => Takes::Lines,
        }
    }

    fn issues(&mut self, lines: &str) -> Result<(), ExchangeError> {
        if let Some(out) = &mut self.issues {
            out.write_all(lines.as_bytes())?;
        }
        self.inner.as_mut().map_or(Ok(()), |s| s.issues(lines))
    }

    fn aside(&mut self, aside: &Aside) -> Result<(), ExchangeError> {
        self.inner.as_mut().map_or(Ok(()), |s| s.aside(aside))
    }
}

/// `hardstart import FILE`. A dry run is the same walk with nothing at its end.
///
/// # Errors
/// When the table or the map cannot be used, something cannot be written, or some records were
/// put aside.
pub fn run_import(args: &Import, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let source = source(&args.table, "import")?;
    let wishes = wishes(&source, &args.table, args.map.as_ref(), args.strict)?;
    let fail = |e| failed(e, &source.name, args.map.as_deref());
    let real = args.out.as_deref().filter(|_| !args.dry_run);
    let inner = real.map(Store::open).transpose().map_err(fail)?;
    let known = match &args.out {
        Some(directory) => store::known(directory).map_err(fail)?,
        None => Known::default(),
    };
    let mut lines = Lines {
        jobs: args
            .ndjson
            .then(|| Box::new(std::io::BufWriter::new(std::io::stdout().lock())) as Box<dyn Write>),
        issues: match args.issues.as_deref() {
            None => None,
            Some(input::STANDARD_INPUT) => {
                Some(Box::new(std::io::BufWriter::new(std::io::stdout().lock())))
            }
            Some(path) => Some(Box::new(std::io::BufWriter::new(std::fs::File::create(
                path,
            )?))),
        },
        inner,
    };
    let plain = lines.jobs.is_none() && lines.issues.is_none() && lines.inner.is_none();
    let report = if plain {
        import::run(&source.path, &wishes, &known, &knowledge, &mut Nothing)
    } else {
        import::run(&source.path, &wishes, &known, &knowledge, &mut lines)
    };
    let report = report.map_err(|e| {
        if gone(&e) {
            Failure::ReaderGone
        } else {
            fail(e)
        }
    })?;
    for out in [&mut lines.jobs, &mut lines.issues].into_iter().flatten() {
        out.flush()?;
    }
    drop((lines.jobs, lines.issues));
    let done = match lines.inner {
        Some(store) => {
            let record = record(&report, &wishes, args, &knowledge.sha256);
            written(&store.finish(&report, &record).map_err(fail)?)
        }
        None if args.ndjson => String::new(),
        None => "Nothing written. To write: --out DIR; every issue: --issues -".to_owned(),
    };
    tell(&report, args, common, &done, &knowledge.sha256)?;
    match (
        report.balance.quarantined,
        report.balance.accepted + report.balance.already + report.balance.duplicates,
    ) {
        (0, 1..) => Ok(()),
        (_, 0) => Err(Failure::Quiet(Exit::NoUsableInput)),
        _ => Err(Failure::Quiet(Exit::SomeQuarantined)),
    }
}

/// The reader of our output went away.
fn gone(error: &ExchangeError) -> bool {
    matches!(error, ExchangeError::Write(what) if what.contains("Broken pipe"))
}

fn record(report: &Report, wishes: &Wishes, args: &Import, figures: &str) -> String {
    let rules: BTreeMap<String, String> = wishes
        .rules
        .iter()
        .map(|(n, t)| (n.clone(), import::sha256(t.as_bytes())))
        .collect();
    let same = args.reproducible || std::env::var_os("SOURCE_DATE_EPOCH").is_some();
    let started = (!same).then(|| jiff::Timestamp::now().to_string());
    import_json::record(report, figures, &rules, args.strict, started.as_deref())
}

fn written(paths: &[PathBuf]) -> String {
    if paths.is_empty() {
        return "Nothing new; the files stand as they were.".to_owned();
    }
    let names: Vec<String> = paths.iter().map(|p| p.display().to_string()).collect();
    format!("Written: {}", names.join(", "))
}

/// The report: the answer itself, or beside the jobs on the standard error.
fn tell(
    report: &Report,
    args: &Import,
    common: &Common,
    done: &str,
    figures: &str,
) -> Result<(), Failure> {
    let beside = args.ndjson || args.issues.as_deref() == Some(input::STANDARD_INPUT);
    if common.json && !beside {
        return out::document(&import_json::import(report, figures));
    }
    let text = import_text::import(report, done, out::layout());
    if beside {
        out::message(&text);
        return Ok(());
    }
    out::text(&text)
}
