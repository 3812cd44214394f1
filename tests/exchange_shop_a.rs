//! A messy table of an invented shop gives exactly the verdicts a person wrote down for it.
//!
//! Expected values: worked out by hand, line by line, from the bytes of the file.

use std::path::Path;

use hardstart::exchange::import::{Known, Nothing, Report, Sink, Table, Takes, Wishes, run};
use hardstart::exchange::quarantine::Aside;
use hardstart::exchange::{ExchangeError, Issue, Level};
use hardstart::job::{EntryBody, Job, Measured, ReadingValue, read_json};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};

#[derive(Default)]
struct Kept {
    jobs: Vec<String>,
    issues: Vec<Issue>,
    asides: Vec<Aside>,
}

impl Sink for Kept {
    fn job(&mut self, line: &str) -> Result<(), ExchangeError> {
        self.jobs.push(line.to_owned());
        Ok(())
    }
    fn issue(&mut self, issue: &Issue) -> Result<(), ExchangeError> {
        self.issues.push(issue.clone());
        Ok(())
    }
    fn aside(&mut self, aside: &Aside) -> Result<(), ExchangeError> {
        self.asides.push(aside.clone());
        Ok(())
    }
    fn begin(&mut self, _: &Table) -> Result<(), ExchangeError> {
        Ok(())
    }
}

fn knowledge() -> Knowledge {
    load(&KnowledgeFiles::built_in()).unwrap()
}

/// Takes issues as lines.
#[derive(Default)]
struct Lines(String);

impl Sink for Lines {
    fn takes(&self) -> Takes {
        Takes::Lines
    }
    fn issues(&mut self, lines: &str) -> Result<(), ExchangeError> {
        self.0.push_str(lines);
        Ok(())
    }
    fn job(&mut self, _: &str) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn aside(&mut self, _: &Aside) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn begin(&mut self, _: &Table) -> Result<(), ExchangeError> {
        Ok(())
    }
}

fn import(stated: bool) -> (Report, Kept) {
    let mut kept = Kept::default();
    let report = import_into(stated, &mut kept);
    (report, kept)
}

fn import_into(stated: bool, sink: &mut dyn Sink) -> Report {
    let map = std::fs::read_to_string("data/exchange/shop_a.toml").unwrap();
    let map = if stated {
        map
    } else {
        map.replace("encoding = ", "# ")
            .replace("delimiter = ", "# ")
            .replace("decimal = ", "# ")
            .replace("header_line = ", "# ")
    };
    let wishes = Wishes {
        file: "shop_a_messy.csv".to_owned(),
        map: Some(map),
        ..Wishes::default()
    };
    let path = Path::new("data/exchange/shop_a_messy.csv");
    run(path, &wishes, &Known::default(), &knowledge(), sink).unwrap()
}

/// Expected: the same issues in the same order, and the same report, however a sink takes them.
#[test]
fn issues_are_the_same_one_by_one_and_as_lines() {
    for stated in [true, false] {
        let (report, kept) = import(stated);
        let mut wanted = String::new();
        for issue in &kept.issues {
            issue.line(&mut wanted, &report.table.file, &report.table.bytes.sha256);
        }
        let mut lines = Lines::default();
        assert_eq!(import_into(stated, &mut lines), report);
        assert_eq!(lines.0, wanted);
        assert_eq!(import_into(stated, &mut Nothing), report);
        assert_eq!(report.issues, kept.issues);
    }
}

fn jobs(kept: &Kept) -> Vec<Job> {
    let knowledge = knowledge();
    let read = kept.jobs.iter().map(|line| {
        read_json(line, "line", &knowledge)
            .unwrap_or_else(|e| panic!("{}\n{line}", e.summary()))
            .job
    });
    read.collect()
}

fn reading(job: &Job, check: &str, cylinder: Option<u8>) -> (ReadingValue, bool) {
    let found = job.entries.iter().find_map(|e| match &e.body {
        EntryBody::Reading(r) if r.check == check && r.cylinder == cylinder => {
            Some((r.value.clone(), e.is_used()))
        }
        _ => None,
    });
    found.unwrap_or_else(|| panic!("{}: no {check} {cylinder:?}", job.job))
}

fn number(job: &Job, check: &str, cylinder: u8) -> f64 {
    let (value, _) = reading(job, check, Some(cylinder));
    value
        .number()
        .unwrap_or_else(|| panic!("{value:?}"))
        .quantity
        .value
}

fn findings(job: &Job) -> Vec<String> {
    let found = job.entries.iter().filter_map(|e| match &e.body {
        EntryBody::Finding(f) => Some(format!(
            "{}{} {}",
            f.fault,
            f.cylinder.map_or(String::new(), |c| format!(":{c}")),
            f.proof.unwrap().id()
        )),
        _ => None,
    });
    found.collect()
}

#[test]
fn every_line_gets_its_verdict() {
    for stated in [true, false] {
        let (report, kept) = import(stated);
        assert_eq!(
            report.table.bytes.sha256,
            "75201b8985ad2c4e0e2bc487d8e0387db9b9d44d87d28b8981faa157bd3c67cb"
        );
        assert_eq!(
            (report.table.bytes.size, report.table.bytes.lines),
            (1468, 18)
        );
        assert_eq!(report.table.layout.header_line, 4);
        assert_eq!(
            report.balance.line(),
            "13 records = 7 accepted + 1 duplicate + 3 quarantined + 2 ignored"
        );
        assert!(report.balance.holds());
        let verdicts: Vec<String> = kept
            .issues
            .iter()
            .filter(|i| i.record > 0)
            .map(|i| {
                format!(
                    "{}-{} {} {}{}",
                    i.line_from,
                    i.line_to,
                    i.level.word(),
                    i.code.word(),
                    i.column.map_or(String::new(), |c| format!(" {c}"))
                )
            })
            .collect();
        assert_eq!(
            verdicts,
            [
                "6-6 note UNIT_OVERRIDE 3",
                "7-7 note DATE_SERIAL 2",
                "8-8 cell DATE_AMBIGUOUS 2",
                "9-9 cell DAMAGED_BY_SHEET 6",
                "10-10 note DUP_EXACT",
                "11-11 row KEY_CLASH",
                "12-13 note CAUSE_MULTIPLE 14",
                "14-14 note BLANK",
                "15-15 row CELL_COUNT",
                "16-16 row KEY_MISSING",
                "17-17 cell UNIT_SUSPECT 9",
                "17-17 cell UNIT_SUSPECT 10",
                "17-17 cell UNIT_SUSPECT 11",
                "17-17 cell UNIT_SUSPECT 12",
                "17-17 note CAUSE_NEGATED 14",
                "18-18 note FOOTER",
            ]
        );
        let lines: Vec<(u64, &[&str])> = kept
            .asides
            .iter()
            .map(|a| (a.line, a.codes.as_slice()))
            .collect();
        assert_eq!(
            lines,
            [
                (11, &["KEY_CLASH"][..]),
                (15, &["CELL_COUNT"][..]),
                (16, &["KEY_MISSING"][..])
            ]
        );
        assert!(
            kept.asides[0].why[0].contains("line 5"),
            "{:?}",
            kept.asides[0]
        );
        assert!(kept.asides[0].why[0].contains("came back"));
        assert!(kept.asides[1].why[0].starts_with("18 cells where the heading has 17"));
        let c = &report.causes;
        assert_eq!((c.phrases, c.mapped, c.negated, c.unmapped), (9, 7, 1, 1));
    }
}

#[test]
fn every_accepted_line_is_a_job_with_the_values_a_person_reads_in_it() {
    let (_, kept) = import(true);
    let jobs = jobs(&kept);
    let names: Vec<&str> = jobs.iter().map(|j| j.job.as_str()).collect();
    assert_eq!(
        names,
        [
            "FE-0101", "FE-0102", "FE-0103", "FE-0104", "FE-0105", "FE-0106", "FE-0108"
        ]
    );
    let air = |at: usize| {
        jobs[at].entries.iter().find_map(|e| match &e.body {
            EntryBody::Start(s) => s.air_temperature.as_ref().map(|t| t.value),
            _ => None,
        })
    };
    // (21 - 32) * 5/9 = -6.1
    assert!((air(0).unwrap() + 6.111).abs() < 0.001);
    assert!((air(1).unwrap() + 5.0).abs() < 1e-9);
    let (no_glow, _) = reading(&jobs[0], "plug_glow_time", Some(3));
    assert_eq!(no_glow.number().unwrap().to_string(), "> 60 s");
    assert_eq!(
        reading(&jobs[1], "compression", Some(1)).0,
        ReadingValue::NotRecorded
    );
    assert_eq!(jobs[2].entries[0].at.as_deref(), Some("2023-12-05"));
    // 400 psi * 0.0689476 = 27.58 bar
    assert!((number(&jobs[2], "compression", 1) - 27.58).abs() < 0.005);
    assert_eq!(jobs[3].entries[0].at, None);
    assert!(findings(&jobs[3]).is_empty());
    assert_eq!(
        reading(&jobs[4], "plug_glow_time", Some(2)).0,
        ReadingValue::Unreadable
    );
    assert!((number(&jobs[5], "plug_glow_time", 2) - 15.2).abs() < 1e-9);
    for cylinder in 1..=4 {
        let (value, used) = reading(&jobs[6], "compression", Some(cylinder));
        assert!(matches!(value, ReadingValue::Measured(Measured::Number(_))));
        assert!(!used, "a doubtful value is kept and not used");
    }
    assert_eq!(findings(&jobs[0]), ["plug.dead:3 believed"]);
    assert_eq!(findings(&jobs[1]), ["strip_joint.poor believed"]);
    assert_eq!(findings(&jobs[2]), ["suction_line.draws_air believed"]);
    assert_eq!(findings(&jobs[4]), ["battery.tired believed"]);
    assert_eq!(
        findings(&jobs[5]),
        ["suction_line.draws_air believed", "plug.weak:2 believed"]
    );
    assert_eq!(
        findings(&jobs[6]),
        [
            "plug.dead:1 refuted",
            "plug.dead:2 refuted",
            "plug.dead:3 refuted",
            "plug.dead:4 refuted",
            "crank_lead.poor believed"
        ]
    );
}

#[test]
fn the_hint_says_what_psi_would_give() {
    let (_, kept) = import(true);
    let doubtful = kept.issues.iter().find(|i| i.raw == "412").unwrap();
    assert!(
        doubtful.message.contains("28.4 bar if psi"),
        "{}",
        doubtful.message
    );
    assert_eq!(doubtful.level, Level::Cell);
}
