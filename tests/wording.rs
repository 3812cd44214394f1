//! The wording of answers, on answers made by hand so that no figure can move it.
//!
//! The numbers are invented; what is tested is how they are said. Expected texts are own
//! judgement, kept as snapshots.

use hardstart::diagnosis::{Cause, Misfit, Moved, Ranking, Standing, SystemChance, Why};
use hardstart::evidence::{Evidence, Remark, Source};
use hardstart::job::{Job, read_bytes};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::report::causes_text::{Wanted, causes};
use hardstart::report::page::{Layout, Symbols};
use hardstart::report::{remarks, why_text};

fn knowledge() -> Knowledge {
    load(&KnowledgeFiles::built_in()).unwrap()
}

fn job(name: &str, knowledge: &Knowledge) -> Job {
    let bytes = std::fs::read(format!("tests/jobs/{name}")).unwrap();
    read_bytes(&bytes, name, knowledge).unwrap().job
}

fn cause(name: &str, label: &str, cylinder: Option<u8>, chances: [f64; 3]) -> Cause {
    let (part, fault) = name.split_once('.').unwrap();
    let [chance, base, before] = chances;
    Cause {
        cause: name.to_owned(),
        part: part.to_owned(),
        fault: fault.to_owned(),
        cylinder,
        label: label.to_owned(),
        system: "preheat".to_owned(),
        chance,
        low: None,
        high: None,
        base,
        standing: Standing::InTheRunning,
        before: Some(before),
    }
}

fn ranking() -> Ranking {
    let mut causes = vec![
        cause("plug.dead", "dead plug", Some(3), [0.584, 0.031, 0.462]),
        cause("plug.dead", "dead plug", Some(1), [0.121, 0.031, 0.098]),
        cause("plug.dead", "dead plug", Some(2), [0.119, 0.031, 0.097]),
        cause("suction.air", "air drawn into the fuel line", None, [0.081, 0.02, 0.13]),
        cause("battery.tired", "battery tired", None, [0.03, 0.035, 0.06]),
        cause("filter.blocked", "fuel filter blocked", None, [0.004, 0.012, 0.005]),
        cause("other.present", "something not on this list", None, [0.02, 0.01, 0.02]),
    ];
    causes[0].standing = Standing::Leading;
    causes[0].low = Some(0.41);
    causes[0].high = Some(0.73);
    causes[4].standing = Standing::SetAside;
    causes[5].standing = Standing::NotLookedAt;
    let systems = [("preheat", 0.71), ("fuel_supply", 0.09), ("air", 0.002)];
    Ranking {
        log_evidence: -7.0,
        healthy: 0.006,
        causes,
        systems: systems
            .iter()
            .map(|(system, chance)| SystemChance {
                system: (*system).to_owned(),
                chance: *chance,
            })
            .collect(),
        misfit: Misfit::default(),
        kinds: Vec::new(),
    }
}

fn evidence(remarks: Vec<Remark>) -> Evidence {
    Evidence {
        cases: Vec::new(),
        remarks,
        temperature: -6.0,
        contexts: Vec::new(),
    }
}

fn page(ranking: &Ranking, remarks: Vec<Remark>, wanted: Wanted, symbols: Symbols) -> String {
    let knowledge = knowledge();
    let job = job("frost.toml", &knowledge);
    let evidence = evidence(remarks);
    let notes = remarks::notes(&knowledge, &job, &[], &evidence);
    let layout = Layout::new(80, symbols);
    causes(ranking, &job, &evidence, &knowledge, &notes, wanted, layout)
}

const SHORT: Wanted = Wanted {
    all: false,
    systems: false,
};

#[test]
fn one_cause_leads() {
    insta::assert_snapshot!(page(&ranking(), Vec::new(), SHORT, Symbols::Unicode));
}

#[test]
fn two_are_level_readings_clash_and_things_were_left_out() {
    let mut ranking = ranking();
    ranking.causes[3].chance = 0.55;
    ranking.causes[3].standing = Standing::Leading;
    ranking.misfit = Misfit {
        bits: 4.2,
        entries: vec![2, 1],
        repeat: Some(("plug_ohms".to_owned(), Some(3))),
    };
    let remarks = vec![
        Remark::CylindersAssumed(4),
        Remark::TemperatureAssumed(0),
        Remark::KindsMixed(3),
        Remark::Suspect {
            entry: 2,
            id: "plug_ohms".to_owned(),
            why: "far outside what plugs have".to_owned(),
        },
    ];
    let wanted = Wanted {
        all: true,
        systems: true,
    };
    insta::assert_snapshot!(page(&ranking, remarks, wanted, Symbols::Ascii));
}

#[test]
fn what_moved_it() {
    let knowledge = knowledge();
    let job = job("frost.toml", &knowledge);
    let moved = |entry, source, typed: &str, factor: f64| Moved {
        entry,
        source,
        typed: typed.to_owned(),
        log_odds: factor.ln(),
    };
    let seen = |sign: &str| Source::Seen {
        sign: sign.to_owned(),
        start: 1,
    };
    let reading = Source::Reading {
        check: "plug_ohms".to_owned(),
        cylinder: Some(3),
    };
    let told = Source::Told {
        sign: "since".to_owned(),
    };
    let why = Why {
        start: 0.12,
        end: 0.62,
        moved: vec![
            moved(2, reading, "open", 18.0),
            moved(1, seen("miss"), "one", 2.1),
            moved(1, seen("crank_time"), "11 s", 1.0 / 3.6),
            moved(0, told, "first_frost", 1.01),
        ],
        exact: true,
        rest: 0.0,
    };
    let layout = Layout::new(80, Symbols::Unicode);
    let text = why_text::why(&why, "dead plug, cylinder 3", &job, &knowledge, layout);
    insta::assert_snapshot!(text);
}
