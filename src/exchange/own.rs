//! Our own long and wide tables back into jobs.
//!
//! A record here is a job. Jobs the reader does not take go to quarantine with its reasons. Must
//! not read foreign tables.

use std::collections::{BTreeMap, HashSet};
use std::fs::File;
use std::io::Seek;
use std::path::Path;

use super::error::ExchangeError;
use super::import::{Known, Report, Sink, Table, key_hash, table};
use super::issue::{Balance, Code, Issue, Level};
use super::long::{self, Row, at};
use super::map::FileSaid;
use super::open::reading;
use super::quarantine::Aside;
use super::sheet;
use super::wide;
use crate::job::{read_json, to_json};
use crate::knowledge::Knowledge;

/// The jobs of a table of ours, or `None` if it is a foreign one.
///
/// # Errors
/// When it cannot be read or turned, or the sink fails.
pub fn run(
    path: &Path,
    file: &str,
    known: &Known,
    knowledge: &Knowledge,
    sink: &mut dyn Sink,
) -> Result<Option<Report>, ExchangeError> {
    let mut source = File::open(path).map_err(reading)?;
    let Ok(found) = table(&source, file, &FileSaid::default(), None) else {
        return Ok(None);
    };
    let is_long = sheet::is_long(&found.headings);
    if found.layout.header_line != 1 || !(is_long || sheet::is_wide(&found.headings)) {
        return Ok(None);
    }
    source.rewind().map_err(reading)?;
    let text = sheet::read(&source)?;
    let rows = if is_long {
        sheet::long_rows(&text)?
    } else {
        wide::lengthen(&text)?
    };
    sink.begin(&found)?;
    let mut run = Own {
        report: report(found),
        known,
        knowledge,
        sink,
        seen: HashSet::new(),
    };
    let mut from = 0;
    while from < rows.len() {
        let name = &rows[from].0[at("job_id")];
        let many = rows[from..]
            .iter()
            .take_while(|r| r.0[at("job_id")] == *name)
            .count();
        run.job(&rows[from..from + many])?;
        from += many;
    }
    Ok(Some(run.report))
}

fn report(table: Table) -> Report {
    Report {
        table,
        balance: Balance::default(),
        codes: BTreeMap::new(),
        issues: Vec::new(),
        causes: super::story::Counts::default(),
        unmapped: Vec::new(),
        decimals: Vec::new(),
        map_sha256: String::new(),
        drafted: false,
    }
}

struct Own<'a> {
    report: Report,
    known: &'a Known,
    knowledge: &'a Knowledge,
    sink: &'a mut dyn Sink,
    seen: HashSet<u64>,
}

impl Own<'_> {
    fn job(&mut self, rows: &[Row]) -> Result<(), ExchangeError> {
        self.report.balance.records += 1;
        let name = rows
            .first()
            .and_then(|r| r.get("job_id"))
            .unwrap_or_default()
            .to_owned();
        if !self.seen.insert(key_hash(&name)) {
            let why = format!("job `{name}` returns after another; sort the table by job_id");
            return self.refuse(&name, Code::KeyClash, why);
        }
        if self.known.content(key_hash(&name)).is_some() {
            self.report.balance.already += 1;
            return self.say(
                &name,
                Code::Already,
                Level::Note,
                "imported before".to_owned(),
            );
        }
        let json = match long::job(rows) {
            Ok(json) => json,
            Err(error) => return self.refuse(&name, Code::NumberBad, error.to_string()),
        };
        match read_json(&json.to_string(), &self.report.table.file, self.knowledge) {
            Ok(parsed) => {
                self.report.balance.accepted += 1;
                self.sink.job(&to_json(&parsed.job).to_string())
            }
            Err(errors) => {
                let why: Vec<String> = errors
                    .problems
                    .iter()
                    .map(|p| format!("{}: {} ({})", p.path, p.what, p.try_))
                    .collect();
                self.refuse(&name, Code::TextUnmapped, why.join("; "))
            }
        }
    }

    fn refuse(&mut self, name: &str, code: Code, why: String) -> Result<(), ExchangeError> {
        self.report.balance.quarantined += 1;
        self.sink.aside(&Aside {
            line: self.report.balance.records,
            source: self.report.table.bytes.sha256.clone(),
            codes: vec![code.word()],
            why: vec![why.clone()],
            cells: vec![name.to_owned()],
        })?;
        self.say(name, code, Level::Row, why)
    }

    fn say(
        &mut self,
        name: &str,
        code: Code,
        level: Level,
        message: String,
    ) -> Result<(), ExchangeError> {
        let issue = Issue {
            line_from: 1,
            line_to: self.report.table.bytes.lines,
            record: self.report.balance.records,
            column: Some(1),
            header: "job_id".to_owned(),
            raw: name.to_owned(),
            code,
            level,
            message,
            hint: String::new(),
        };
        *self.report.codes.entry(code).or_insert(0) += 1;
        super::import::hand_on(self.sink, &issue, &self.report.table)?;
        if self.report.issues.len() < super::import::MOST_KEPT {
            self.report.issues.push(issue);
        }
        Ok(())
    }
}
