//! Published networks: read from their text, compiled, run.
//!
//! "Recalled" marks a printed value that was not seen in print but is reproduced to the printed
//! digits by enumeration. Must not hold networks of our own.

use super::check::Check;
use crate::network::{Lane, Network, Program, Request, Seen, Slot, VarId, bif};

/// What is asked of a network.
enum Asked {
    /// P(yes) of a variable.
    Yes(&'static str),
    /// P(evidence).
    Evidence,
}

/// One published value.
struct Line {
    network: &'static str,
    /// Words such as `smoke` and `!xray`; `alarm*4` is a likelihood of four to one.
    given: &'static str,
    asked: Asked,
    expected: f64,
    within: f64,
}

const fn yes(
    network: &'static str,
    given: &'static str,
    name: &'static str,
    expected: f64,
    within: f64,
) -> Line {
    Line {
        network,
        given,
        asked: Asked::Yes(name),
        expected,
        within,
    }
}

const fn evidence(network: &'static str, given: &'static str, expected: f64, within: f64) -> Line {
    Line {
        network,
        given,
        asked: Asked::Evidence,
        expected,
        within,
    }
}

const CLINIC: &str = "chest clinic";
const SPRINKLER: &str = "sprinkler";
const BURGLARY: &str = "burglary";
const ALARM: &str = "alarm";
const UMBRELLA: &str = "umbrella";

/// Name, source and text of each network.
const NETWORKS: [(&str, &str, &str); 5] = [
    (
        CLINIC,
        "Lauritzen & Spiegelhalter 1988, J. R. Statist. Soc. B 50; values as the R package gRain prints them",
        include_str!("../../data/published/chest_clinic.bif"),
    ),
    (
        SPRINKLER,
        "Murphy 1998, A brief introduction to graphical models",
        include_str!("../../data/published/sprinkler.bif"),
    ),
    (
        BURGLARY,
        "Russell & Norvig, Artificial Intelligence, chapter 14",
        include_str!("../../data/published/burglary.bif"),
    ),
    (
        ALARM,
        "Pearl 1988, Probabilistic Reasoning, section 2.1; 4:1 recalled from Chan & Darwiche 2005",
        include_str!("../../data/published/alarm_test.bif"),
    ),
    (
        UMBRELLA,
        "Russell & Norvig, Artificial Intelligence, chapter 15 (recalled)",
        include_str!("../../data/published/umbrella.bif"),
    ),
];

const LINES: [Line; 22] = [
    yes(CLINIC, "", "tuberculosis", 0.0104, 5e-5),
    yes(CLINIC, "", "cancer", 0.055, 5e-4),
    yes(CLINIC, "", "bronchitis", 0.45, 5e-3),
    evidence(CLINIC, "visit dyspnoea", 0.004_501_375, 5e-10),
    yes(CLINIC, "visit dyspnoea", "cancer", 0.099_525_15, 5e-9),
    yes(CLINIC, "visit dyspnoea", "bronchitis", 0.811_402_1, 5e-8),
    yes(CLINIC, "visit dyspnoea", "tuberculosis", 0.088, 5e-4),
    evidence(CLINIC, "visit dyspnoea smoke", 0.002_817_5, 5e-8),
    evidence(SPRINKLER, "wet", 0.6471, 5e-5),
    yes(SPRINKLER, "wet", "sprinkler", 0.430, 5e-4),
    yes(SPRINKLER, "wet", "rain", 0.708, 5e-4),
    yes(SPRINKLER, "wet rain", "sprinkler", 0.1945, 5e-5),
    yes(BURGLARY, "john mary", "burglary", 0.284, 5e-4),
    evidence(BURGLARY, "burglary john mary", 0.000_592_24, 5e-9),
    evidence(BURGLARY, "!burglary john mary", 0.001_491_9, 5e-8),
    evidence(
        BURGLARY,
        "john mary alarm !burglary !earthquake",
        0.000_628,
        5e-7,
    ),
    yes(BURGLARY, "burglary", "john", 0.849_02, 5e-6),
    yes(ALARM, "alarm", "burglary", 0.009_41, 5e-6),
    yes(ALARM, "alarm*4", "burglary", 0.000_374, 5e-7),
    yes(UMBRELLA, "umbrella1", "rain1", 0.818, 5e-4),
    yes(UMBRELLA, "umbrella1 umbrella2", "rain2", 0.883, 5e-4),
    yes(UMBRELLA, "umbrella1 umbrella2", "rain1", 0.883, 5e-4),
];

/// Every published value of the networks, with the one found here.
pub(super) fn checks() -> Vec<Check> {
    LINES.iter().map(check).collect()
}

fn check(line: &Line) -> Check {
    let known = NETWORKS.iter().find(|(name, ..)| *name == line.network);
    let (_, source, text) = known.unwrap_or(&NETWORKS[0]);
    let given = match line.given {
        "" => String::new(),
        words => format!(" given {}", words.replace('!', "no ")),
    };
    let name = match line.asked {
        Asked::Yes(name) => format!("{}: {name}{given}", line.network),
        Asked::Evidence => format!("{}: chance of {}", line.network, &given[" given ".len()..]),
    };
    let found = bif::read(text)
        .ok()
        .and_then(|read| find(&read.network, line))
        .unwrap_or(f64::NAN);
    Check {
        name,
        source,
        expected: line.expected,
        within: line.within,
        found,
    }
}

/// The value asked for; `None` where something is not there or cannot be.
fn find(network: &Network, line: &Line) -> Option<f64> {
    let mut slots = Vec::new();
    let mut inputs = Vec::new();
    for word in line.given.split_whitespace() {
        let name = word.trim_start_matches('!');
        let (name, times) = match name.split_once('*') {
            Some((name, times)) => (name, Some(times.parse::<f64>().ok()?)),
            None => (name, None),
        };
        let seen = match times {
            Some(times) => {
                inputs.extend([1.0, times]);
                Seen::Soft
            }
            None => Seen::Hard(usize::from(!word.starts_with('!'))),
        };
        slots.push(Slot {
            scope: vec![network.find(name)?],
            seen,
        });
    }
    let query = match line.asked {
        Asked::Yes(name) => network.find(name)?,
        Asked::Evidence => VarId(0),
    };
    let request = Request {
        slots,
        queries: vec![vec![query]],
        restarts: 0,
    };
    let program = Program::compile(network, &request).ok()?;
    let bound = program.bind(&network.figures()).ok()?;
    let lane = Lane {
        inputs,
        log_scale: 0.0,
    };
    let answer = program.run(&bound, &[lane]).pop()?.ok()?;
    match line.asked {
        Asked::Yes(_) => answer.chances.first()?.get(1).copied(),
        Asked::Evidence => Some(answer.log_evidence.exp()),
    }
}
