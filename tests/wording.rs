//! The wording of answers, on answers made by hand so that no figure can move it.
//!
//! The numbers are invented; what is tested is how they are said. Expected texts are own
//! judgement, kept as snapshots.

use hardstart::diagnosis::{
    Cause, FaultPlace, Misfit, Moved, Ranking, Standing, SystemChance, Why,
};
use hardstart::evidence::{Evidence, Remark, Source};
use hardstart::job::{Job, read_bytes};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::network::Shelf;
use hardstart::planning::bench::{ColdState, Found, Hidden, MoveKind, Next, NextMove};
use hardstart::report::causes_text::{Wanted, causes};
use hardstart::report::page::{Layout, Symbols};
use hardstart::report::{next_json, next_text, remarks, why_text};

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
        cause(
            "suction.air",
            "air drawn into the fuel line",
            None,
            [0.081, 0.02, 0.13],
        ),
        cause("battery.tired", "battery tired", None, [0.03, 0.035, 0.06]),
        cause(
            "filter.blocked",
            "fuel filter blocked",
            None,
            [0.004, 0.012, 0.005],
        ),
        cause(
            "other.present",
            "something not on this list",
            None,
            [0.02, 0.01, 0.02],
        ),
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
        proven: Vec::new(),
        cases: Vec::new(),
        remarks,
        temperature: -6.0,
        contexts: Vec::new(),
        shelf: Shelf::none(),
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
        base: 0.04,
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
    let place = FaultPlace {
        part: "plug".to_owned(),
        fault: "dead".to_owned(),
        cylinder: Some(3),
    };
    let text = why_text::why(&why, &place, "dead plug", &job, &knowledge, layout);
    insta::assert_snapshot!(text);
}

fn check(id: &str, cylinder: Option<u8>, saves: f64, changes_next: f64) -> NextMove {
    NextMove {
        repeat: None,
        kind: MoveKind::Check,
        id: id.to_owned(),
        cylinder,
        minutes: 9.0,
        access: vec!["plug_leads".to_owned()],
        cold: "keeps",
        expected_total: 83.0,
        night: None,
        saves,
        changes_next,
        risk: 0.0,
        outcomes: Vec::new(),
        split: None,
        hazards: Vec::new(),
        tied: false,
    }
}

fn hidden(check: &str, why: &'static str, detail: &str) -> Hidden {
    Hidden {
        check: check.to_owned(),
        why,
        detail: detail.to_owned(),
    }
}

fn next() -> Next {
    let found = |state: &str, chance, leads_to: Option<&str>| Found {
        state: state.to_owned(),
        chance,
        leads_to: leads_to.map(str::to_owned),
    };
    let mut first = check("plug_current", Some(3), 12.4, 0.352);
    first.hazards = vec!["battery".to_owned()];
    first.outcomes = vec![
        found("none", 0.31, Some("replace_plug:3")),
        found("like_its_mates", 0.685, Some("lamp_at_strip")),
        found("low", 0.005, Some("hand_over")),
    ];
    let mut repair = check("replace_plug", Some(3), -4.0, 0.0);
    repair.kind = MoveKind::Repair;
    Next {
        stop: false,
        over: None,
        settle_first: false,
        moves: vec![first, check("lamp_at_strip", None, 0.2, 0.05), repair],
        hidden: vec![
            hidden("plug_glow_time", "no_tool", "stopwatch"),
            hidden("plug_ohms", "no_tool", "multimeter"),
            hidden("relay_contact_drop", "no_tool", "multimeter"),
            hidden("intake_grid_hand", "not_on_engine", ""),
        ],
        cold: ColdState {
            cold: true,
            worth_keeping: true,
        },
        wants_checks: vec![("replace_plug".to_owned(), 2)],
    }
}

#[test]
fn the_card_says_cautions_before_steps() {
    let knowledge = knowledge();
    let job = job("frost.toml", &knowledge);
    let layout = Layout::new(80, Symbols::Ascii);
    let text = next_text::next(&next(), &job, &knowledge, layout);
    assert!(text.find("Take care").unwrap() < text.find("How").unwrap());
    insta::assert_snapshot!("next_check", text);
    let mut stop = next();
    stop.stop = true;
    stop.moves.rotate_right(1);
    stop.hidden.clear();
    let text = next_text::next(&stop, &job, &knowledge, layout);
    insta::assert_snapshot!("next_repair", text);
}

#[test]
fn the_next_move_as_json_follows_the_contract() {
    let knowledge = knowledge();
    let job = job("frost.toml", &knowledge);
    let answer = next_json::next(&next(), &job, &knowledge.sha256);
    let keys =
        |v: &serde_json::Value| -> Vec<String> { v.as_object().unwrap().keys().cloned().collect() };
    let wanted = [
        "schema",
        "job",
        "figures_sha256",
        "stop",
        "over",
        "settle_first",
        "moves",
        "hidden",
        "cold",
        "wants_checks",
    ];
    assert_eq!(keys(&answer), wanted);
    let wanted = [
        "kind",
        "id",
        "cylinder",
        "repeat",
        "minutes",
        "access",
        "cold",
        "expected_total",
        "saves",
        "changes_next",
        "risk",
        "outcomes",
        "hazards",
        "tied",
    ];
    assert_eq!(keys(&answer["moves"][0]), wanted);
    assert_eq!(
        answer["moves"][0]["outcomes"][0]["leads_to"],
        "replace_plug:3"
    );
}
