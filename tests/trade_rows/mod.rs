//! The trade's table of signs as rows, and what each row asks of the network.
//!
//! Shared by the test and the residual example. All figures of the table are elicited
//! judgement: they check that the network says what the trade says, not that the trade is right.

use std::collections::BTreeMap;

use hardstart::knowledge::Knowledge;
use hardstart::learning::{Alone, SignQuestion, ordinary, sign_alone};
use hardstart::network::build::{RootChances, Shape};

/// One row of the table.
#[derive(Debug, Clone)]
pub struct Row {
    pub code: String,
    pub condition: String,
    pub sign: String,
    pub state: String,
    pub wanted: f64,
    pub temperature: f64,
    pub engine: String,
}

/// A row with what the network says.
#[derive(Debug, Clone)]
pub struct Residual {
    pub row: Row,
    pub got: f64,
}

type States = BTreeMap<(String, String), (String, Vec<(String, f64)>)>;

fn reader(text: &str) -> csv::Reader<&[u8]> {
    csv::Reader::from_reader(text.as_bytes())
}

/// Rows that have a number and a code of a sign, and the others with the reason.
pub fn rows() -> (Vec<Row>, Vec<(String, String)>) {
    let mut kept = Vec::new();
    let mut left = Vec::new();
    for record in reader(include_str!("../../data/trade/signs.csv")).records() {
        let r = record.expect("the table is well formed");
        let name = format!("{} {} {}", &r[0], &r[1], &r[2]);
        if !r[8].starts_with('S') {
            left.push((
                name,
                "no sign code: a check, a fact or the dead-plug table".to_owned(),
            ));
        } else if r[3].is_empty() {
            left.push((name, "no number".to_owned()));
        } else {
            kept.push(Row {
                code: r[7].to_owned(),
                condition: r[9].to_owned(),
                sign: r[1].to_owned(),
                state: r[2].to_owned(),
                wanted: r[3].parse().expect("a number"),
                temperature: r[4].parse().unwrap_or(0.0),
                engine: r[5].to_owned(),
            });
        }
    }
    (kept, left)
}

fn states() -> States {
    reader(include_str!("../../data/trade/sign_states.csv"))
        .records()
        .map(|record| {
            let r = record.expect("the map is well formed");
            let states = r[3]
                .split(' ')
                .map(|s| match s.split_once('=') {
                    Some((state, share)) => (state.to_owned(), share.parse().expect("a share")),
                    None => (s.to_owned(), 1.0),
                })
                .collect();
            (
                (r[0].to_owned(), r[1].to_owned()),
                (r[2].to_owned(), states),
            )
        })
        .collect()
}

pub fn shape(engine: &str) -> Shape {
    match engine {
        "DI-H" => ordinary("direct", "intake_grid"),
        "DI-G" => ordinary("direct", "plugs"),
        "flame_fitted" => ordinary("direct", "flame"),
        "series_chain" => ordinary("swirl", "plugs_series"),
        _ => ordinary("swirl", "plugs"),
    }
}

fn one(faults: &[&str]) -> Alone {
    mix(&[(faults, 1.0)])
}

fn mix(list: &[(&[&str], f64)]) -> Alone {
    Alone {
        mixture: list
            .iter()
            .map(|(f, w)| (f.iter().map(|s| (*s).to_owned()).collect(), *w))
            .collect(),
    }
}

/// Which faults a row means.
fn alone(knowledge: &Knowledge, row: &Row) -> Alone {
    match (row.code.as_str(), row.condition.as_str()) {
        ("-", _) => one(&[]),
        ("P01", "n=1" | "1H n=1 of N=4") => one(&["plug.dead:1"]),
        ("P01", "n<N") => mix(&[
            (&["plug.dead:1"], 1.0),
            (&["plug.dead:1", "plug.dead:2"], 1.0),
        ]),
        ("P01", "n=N") => one(&[
            "plug_set.overfed",
            "plug.dead:1",
            "plug.dead:2",
            "plug.dead:3",
            "plug.dead:4",
        ]),
        ("P01", "n>=N/2") => mix(&[
            (&["plug.dead:1", "plug.dead:2"], 1.0),
            (&["plug.dead:1", "plug.dead:2", "plug.dead:3"], 1.0),
            (
                &["plug.dead:1", "plug.dead:2", "plug.dead:3", "plug.dead:4"],
                1.0,
            ),
        ]),
        ("P01", _) => one(&["plug.dead:1"]),
        ("P05", "one nut, as P01 n=1") => one(&["plug_joint.loose:1"]),
        ("P05", "feed stud, as P10") => one(&["strip_joint.poor"]),
        ("P07", "short") => one(&["preheat_timer.short"]),
        ("P07", "dead") => one(&["preheat_timer.dead"]),
        ("P15", "leaking") => one(&["flame_heater.leaking"]),
        (code, _) => {
            let mut mixture = Vec::new();
            for part in &knowledge.parts {
                for fault in &part.fault {
                    if fault.code.get_ref() == code || fault.also.iter().any(|c| c == code) {
                        let mut id = format!("{}.{}", part.id.get_ref(), fault.id.get_ref());
                        if part.scope == hardstart::knowledge::Scope::Cylinder {
                            id.push_str(":1");
                        }
                        mixture.push((vec![id], fault.part_of_code.unwrap_or(1.0)));
                    }
                }
            }
            assert!(!mixture.is_empty(), "no fault carries {code}");
            Alone { mixture }
        }
    }
}

/// What the network says to every row.
pub fn residuals(knowledge: &Knowledge) -> Vec<Residual> {
    let states = states();
    let mut groups: BTreeMap<(String, i64, String), Vec<Row>> = BTreeMap::new();
    for row in rows().0 {
        let (sign, _) = &states[&(row.sign.clone(), row.state.clone())];
        #[allow(clippy::cast_possible_truncation)]
        let key = (row.engine.clone(), row.temperature as i64, sign.clone());
        groups.entry(key).or_default().push(row);
    }
    let mut out = Vec::new();
    for ((engine, _, sign), rows) in groups {
        let question = SignQuestion {
            shape: shape(&engine),
            temperature: rows[0].temperature,
            sign: sign.clone(),
        };
        let asked = rows.iter().map(|r| alone(knowledge, r)).collect::<Vec<_>>();
        let roots = RootChances::default();
        let answers = sign_alone(knowledge, &roots, &question, &asked).expect("narrow");
        let names = &knowledge
            .signs
            .iter()
            .find(|s| *s.id.get_ref() == sign)
            .expect("the map names signs that exist")
            .states;
        for (row, chances) in rows.into_iter().zip(answers) {
            let wanted = &states[&(row.sign.clone(), row.state.clone())].1;
            let got = wanted
                .iter()
                .map(|(state, share)| {
                    let at = names.iter().position(|n| n == state);
                    share * chances[at.unwrap_or_else(|| panic!("{sign} has no {state}"))]
                })
                .sum();
            out.push(Residual { row, got });
        }
    }
    out
}
