//! Our own tables: export and import are inverses, widen and lengthen too.
//!
//! The jobs are those of the scenarios and examples, and ones imported from odd cells.

use std::path::Path;

use hardstart::exchange::import::{Known, Sink, Table, Wishes, run};
use hardstart::exchange::quarantine::Aside;
use hardstart::exchange::sheet::{self, Style, Writer};
use hardstart::exchange::{ExchangeError, Issue, long, wide};
use hardstart::job::{Job, read_bytes, read_json, to_json};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};

fn knowledge() -> Knowledge {
    load(&KnowledgeFiles::built_in()).unwrap()
}

/// Every job file of the project, and those of the messy table.
fn jobs(knowledge: &Knowledge) -> Vec<Job> {
    let mut jobs = Vec::new();
    for directory in ["data/scenarios", "data/jobs", "tests/jobs", "examples/jobs"] {
        let mut paths: Vec<_> = std::fs::read_dir(directory)
            .unwrap()
            .map(|e| e.unwrap().path())
            .collect();
        paths.sort();
        for path in paths
            .iter()
            .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        {
            let bytes = std::fs::read(path).unwrap();
            if let Ok(parsed) = read_bytes(&bytes, "job", knowledge) {
                jobs.push(parsed.job.without_positions());
            }
        }
    }
    // Several files may tell of one job; tables name each once.
    for (n, job) in jobs.iter_mut().enumerate() {
        job.job = format!("{n} {}", job.job);
    }
    assert!(jobs.len() > 15, "{}", jobs.len());
    jobs
}

fn read(value: &serde_json::Value, knowledge: &Knowledge) -> Job {
    let text = value.to_string();
    let parsed =
        read_json(&text, "row", knowledge).unwrap_or_else(|e| panic!("{}\n{text}", e.summary()));
    parsed.job.without_positions()
}

/// The same job as the JSON reader gives it: what a table can be compared with.
fn plain(job: &Job, knowledge: &Knowledge) -> Job {
    read(&to_json(job), knowledge)
}

#[test]
fn rows_of_a_job_give_the_same_job() {
    let knowledge = knowledge();
    for job in jobs(&knowledge) {
        let back = read(&long::job(&long::rows(&job)).unwrap(), &knowledge);
        assert_eq!(back, plain(&job, &knowledge), "{}", job.job);
    }
}

#[test]
fn wide_and_long_are_inverses() {
    let knowledge = knowledge();
    let rows: Vec<long::Row> = jobs(&knowledge).iter().flat_map(long::rows).collect();
    let table = wide::widen(&rows);
    let back = wide::lengthen(&table).unwrap();
    assert_eq!(back.len(), rows.len());
    for (a, b) in back.iter().zip(&rows) {
        assert_eq!(a, b);
    }
    // Whatever the order of the rows of a job.
    let mut turned = rows.clone();
    turned
        .chunk_by_mut(|a, b| a.0[0] == b.0[0])
        .for_each(<[_]>::reverse);
    assert_eq!(wide::lengthen(&wide::widen(&turned)).unwrap(), turned);
    let again = wide::widen(&wide::lengthen(&table).unwrap());
    let columns = |t: &wide::Wide| {
        let mut columns: Vec<(String, Vec<String>)> = t
            .headings
            .iter()
            .enumerate()
            .map(|(n, h)| (h.clone(), t.rows.iter().map(|r| r[n].clone()).collect()))
            .collect();
        columns.sort();
        columns
    };
    assert_eq!(columns(&again), columns(&table));
}

#[derive(Default)]
struct Jobs(Vec<String>);

impl Sink for Jobs {
    fn job(&mut self, line: &str) -> Result<(), ExchangeError> {
        self.0.push(line.to_owned());
        Ok(())
    }
    fn issue(&mut self, _: &Issue) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn aside(&mut self, _: &Aside) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn begin(&mut self, _: &Table) -> Result<(), ExchangeError> {
        Ok(())
    }
}

fn imported(path: &Path, map: Option<&str>, knowledge: &Knowledge) -> Vec<Job> {
    let wishes = Wishes {
        file: "table.csv".to_owned(),
        map: map.map(str::to_owned),
        ..Wishes::default()
    };
    let mut jobs = Jobs::default();
    let report = run(path, &wishes, &Known::default(), knowledge, &mut jobs).unwrap();
    assert!(report.balance.holds());
    let read = jobs.0.iter().map(|l| {
        read_json(l, "line", knowledge)
            .unwrap()
            .job
            .without_positions()
    });
    read.collect()
}

#[test]
fn what_was_imported_and_handed_out_comes_back_the_same() {
    let knowledge = knowledge();
    let map = std::fs::read_to_string("data/exchange/shop_a.toml").unwrap();
    let mut all = imported(
        Path::new("data/exchange/shop_a_messy.csv"),
        Some(&map),
        &knowledge,
    );
    all.extend(jobs(&knowledge).iter().map(|j| plain(j, &knowledge)));
    let rows: Vec<long::Row> = all.iter().flat_map(long::rows).collect();
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("long.csv");
    let mut writer = Writer::new(
        std::fs::File::create(&path).unwrap(),
        Style::default(),
        &long::COLUMNS,
    )
    .unwrap();
    rows.iter().for_each(|r| writer.row(&r.0).unwrap());
    writer.finish().unwrap();
    assert_eq!(imported(&path, None, &knowledge), all);

    let table = wide::widen(&rows);
    let path = place.path().join("wide.csv");
    let mut writer = Writer::new(
        std::fs::File::create(&path).unwrap(),
        Style::default(),
        &table.headings,
    )
    .unwrap();
    table.rows.iter().for_each(|r| writer.row(r).unwrap());
    writer.finish().unwrap();
    let back = sheet::read(std::fs::File::open(&path).unwrap()).unwrap();
    assert_eq!(back, table);
    // The same for people who double-click, in either form.
    let style = Style {
        spreadsheet: Some((b';', true)),
        crlf: true,
    };
    let cells: Vec<Vec<String>> = rows.iter().map(|r| r.0.to_vec()).collect();
    let headings = long::COLUMNS.map(str::to_owned).to_vec();
    for (headings, rows) in [(&headings, &cells), (&table.headings, &table.rows)] {
        let mut out = Vec::new();
        let mut writer = Writer::new(&mut out, style, headings).unwrap();
        rows.iter().for_each(|r| writer.row(r).unwrap());
        writer.finish().unwrap();
        let back = sheet::read(out.as_slice()).unwrap();
        assert_eq!((&back.headings, &back.rows), (headings, rows));
    }
    assert_eq!(imported(&path, None, &knowledge).len(), all.len());
}
