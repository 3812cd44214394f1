//! A directory of imported jobs: what stands in it, and how more is added whole or not at all.
//!
//! Files are written beside their place and then renamed; `jobs.ndjson` last, so that until then
//! a rerun decides the same. Must not judge records.

use std::borrow::Cow;
use std::fs::{self, File};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

use serde::Deserialize;
use tempfile::NamedTempFile;

use super::error::ExchangeError;
use super::import::{Known, Report, Sink, Table, Takes};
use super::package;
use super::quarantine::{self, Aside};
use super::steady::Steady;

/// Name of the file with the jobs.
pub const JOBS: &str = "jobs.ndjson";
/// Start and end of names of files that are not finished.
const UNFINISHED: (&str, &str) = (".hardstart-", ".part");
/// Keeps two imports out of one directory.
const LOCK: &str = ".lock";

#[derive(Deserialize)]
struct Stands<'l> {
    #[serde(borrow)]
    job: Cow<'l, str>,
    #[serde(default, borrow)]
    import: Option<Origin<'l>>,
}

#[derive(Deserialize)]
struct Origin<'l> {
    #[serde(borrow)]
    sha256: Cow<'l, str>,
    line: u64,
    #[serde(borrow)]
    content: Cow<'l, str>,
}

/// What stands in a directory already; nothing if there is none.
///
/// # Errors
/// When its jobs cannot be read.
pub fn known(directory: &Path) -> Result<Known, ExchangeError> {
    let mut known = Known::default();
    let file = match File::open(directory.join(JOBS)) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(known),
        Err(error) => return Err(ExchangeError::Read(format!("{JOBS}: {error}"))),
    };
    for (at, line) in BufReader::with_capacity(1 << 18, file).lines().enumerate() {
        let line = line.map_err(|e| ExchangeError::Read(format!("{JOBS}: {e}")))?;
        if line.trim().is_empty() {
            continue;
        }
        let stands: Stands = serde_json::from_str(&line)
            .map_err(|e| ExchangeError::Read(format!("{JOBS}:{}: {e}", at + 1)))?;
        let content = stands.import.as_ref().map_or(0, |origin| {
            u64::from_str_radix(&origin.content, 16).unwrap_or(0)
        });
        let from = stands.import.as_ref();
        let from = from.map(|origin| (&*origin.sha256, origin.line));
        known.add(&stands.job, content, from);
    }
    known.order();
    Ok(known)
}

/// An import into a directory, until it is finished.
pub struct Store {
    directory: PathBuf,
    jobs: Steady,
    issues: Steady,
    asides: csv::Writer<NamedTempFile>,
    extra: usize,
    any_aside: bool,
    table: Option<Table>,
    _lock: File,
}

fn unfinished(directory: &Path) -> Result<NamedTempFile, ExchangeError> {
    let made = tempfile::Builder::new()
        .prefix(UNFINISHED.0)
        .suffix(UNFINISHED.1)
        .tempfile_in(directory);
    Ok(made?)
}

impl Store {
    /// Opens a directory, made if it is not there, and takes its lock.
    ///
    /// # Errors
    /// When it cannot be written to, or another import is at work in it.
    pub fn open(directory: &Path) -> Result<Self, ExchangeError> {
        fs::create_dir_all(directory)?;
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(directory.join(LOCK))?;
        if lock.try_lock().is_err() {
            return Err(ExchangeError::Write(
                "another import is at work in this directory".to_owned(),
            ));
        }
        // What an interrupted import left; nobody else can be at it.
        for entry in fs::read_dir(directory)?.flatten() {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            if name.starts_with(UNFINISHED.0) && name.ends_with(UNFINISHED.1) {
                fs::remove_file(entry.path())?;
            }
        }
        let mut jobs = Steady::new(unfinished(directory)?);
        if let Ok(mut old) = File::open(directory.join(JOBS)) {
            std::io::copy(&mut old, &mut jobs)?;
        }
        Ok(Self {
            directory: directory.to_owned(),
            jobs,
            issues: Steady::new(unfinished(directory)?),
            asides: csv::WriterBuilder::new()
                .flexible(true)
                .from_writer(unfinished(directory)?),
            extra: 0,
            any_aside: false,
            table: None,
            _lock: lock,
        })
    }

    /// Puts everything in its place. `record` is the import record. If no record was new,
    /// nothing but the descriptor is looked after.
    ///
    /// # Errors
    /// When something cannot be written; then the old jobs stand as they were.
    pub fn finish(mut self, report: &Report, record: &str) -> Result<Vec<PathBuf>, ExchangeError> {
        let balance = &report.balance;
        let nothing_new = balance.accepted == 0 && balance.already > 0;
        let mut written = Vec::new();
        let mut summed = Vec::new();
        if !nothing_new {
            let stem = stem(&report.table);
            if self.any_aside {
                let whole = self.whole_quarantine()?;
                written.push(self.place(whole, &format!("quarantine-{stem}.csv"))?);
            }
            let other = Steady::new(unfinished(&self.directory)?);
            let (issues, sum) = std::mem::replace(&mut self.issues, other).finish()?;
            let name = format!("issues-{stem}.ndjson");
            written.push(self.place(issues, &name)?);
            summed.push((name, sum));
            let mut file = unfinished(&self.directory)?;
            file.write_all(record.as_bytes())?;
            written.push(self.place(file, &format!("import-{stem}.json"))?);
            let other = Steady::new(unfinished(&self.directory)?);
            let (jobs, sum) = std::mem::replace(&mut self.jobs, other).finish()?;
            written.push(self.place(jobs, JOBS)?);
            summed.push((JOBS.to_owned(), sum));
        }
        let text = package::of_directory(&self.directory, &summed)?;
        let path = self.directory.join(package::NAME);
        if fs::read_to_string(&path).ok().as_deref() != Some(text.as_str()) {
            let mut file = unfinished(&self.directory)?;
            file.write_all(text.as_bytes())?;
            written.push(self.place(file, package::NAME)?);
        }
        Ok(written)
    }

    fn place(&self, file: NamedTempFile, name: &str) -> Result<PathBuf, ExchangeError> {
        file.as_file().sync_all()?;
        let path = self.directory.join(name);
        set_readable(file.path());
        file.persist(&path)
            .map_err(|e| ExchangeError::Write(e.to_string()))?;
        Ok(path)
    }

    /// The quarantine table with its heading, now that the widest record is known.
    fn whole_quarantine(&mut self) -> Result<NamedTempFile, ExchangeError> {
        let other = csv::WriterBuilder::new()
            .flexible(true)
            .from_writer(unfinished(&self.directory)?);
        let rows = std::mem::replace(&mut self.asides, other);
        let rows = rows
            .into_inner()
            .map_err(|e| ExchangeError::Write(e.to_string()))?;
        let own = self
            .table
            .as_ref()
            .map(|t| quarantine::own_headings(&t.headings))
            .unwrap_or_default();
        let heading = quarantine::heading(&own, self.extra);
        let mut out = csv::Writer::from_writer(unfinished(&self.directory)?);
        let failed = |e: csv::Error| ExchangeError::Write(e.to_string());
        out.write_record(&heading).map_err(failed)?;
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_path(rows.path())
            .map_err(failed)?;
        for row in reader.records() {
            let row = row.map_err(failed)?;
            let room = std::iter::repeat_n("", heading.len().saturating_sub(row.len()));
            out.write_record(row.iter().chain(room)).map_err(failed)?;
        }
        out.into_inner()
            .map_err(|e| ExchangeError::Write(e.to_string()))
    }
}

/// Others in the shop may read what was imported; the library makes its files private.
fn set_readable(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A directory that does not allow it keeps the file private.
        let _ = fs::set_permissions(path, fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = path;
}

/// Name of the source without its end, and the start of its hash.
fn stem(table: &Table) -> String {
    let name = Path::new(&table.file)
        .file_stem()
        .map(|s| s.to_string_lossy().into_owned())
        .unwrap_or_default();
    let name: String = name
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '_' || c == '-' {
                c
            } else {
                '_'
            }
        })
        .collect();
    format!("{name}-{}", table.bytes.sha256.get(..8).unwrap_or_default())
}

impl Sink for Store {
    fn begin(&mut self, table: &Table) -> Result<(), ExchangeError> {
        self.table = Some(table.clone());
        Ok(())
    }

    fn job(&mut self, line: &str) -> Result<(), ExchangeError> {
        self.jobs.write_all(line.as_bytes())?;
        Ok(self.jobs.write_all(b"\n")?)
    }

    fn jobs(&mut self, lines: &str) -> Result<(), ExchangeError> {
        Ok(self.jobs.write_all(lines.as_bytes())?)
    }

    fn takes(&self) -> Takes {
        Takes::Lines
    }

    fn issues(&mut self, lines: &str) -> Result<(), ExchangeError> {
        Ok(self.issues.write_all(lines.as_bytes())?)
    }

    fn aside(&mut self, aside: &Aside) -> Result<(), ExchangeError> {
        let own = self
            .table
            .as_ref()
            .map(|t| quarantine::own_headings(&t.headings).len())
            .unwrap_or_default();
        let extra = quarantine::extra_cells(aside, own);
        self.extra = self.extra.max(extra);
        self.any_aside = true;
        self.asides
            .write_record(aside.row(own, extra))
            .map_err(|e| ExchangeError::Write(e.to_string()))
    }
}
