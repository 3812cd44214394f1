//! The same jobs written otherwise: other units, decimal commas, JSON, another order of what was
//! told and read, two readings taken out.
//!
//! Where a variant must not change anything, what is compared is the evidence (every likelihood,
//! and every figure of the network), from which the answer follows.

use hardstart::evidence::{Evidence, gather};
use hardstart::job::{EntryBody, Job, read_json, to_json};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::shop::{ALL, answer, job, knowledge, text, understood, whole};

/// Jobs that are answered quickly enough to be asked again and again.
const QUICK: [&str; 6] = ["kl-14", "kl-22", "kl-31", "kl-36", "kl-44", "sm-15"];

/// Units a job is rewritten in: from, to, factor, offset.
const SWAPS: [[(&str, &str, f64, f64); 7]; 2] = [
    [
        ("degC", "degF", 1.8, 32.0),
        ("bar", "psi", 14.503_773_773_020_923, 0.0),
        ("V", "mV", 1000.0, 0.0),
        ("ohm", "mohm", 1000.0, 0.0),
        ("A", "mA", 1000.0, 0.0),
        ("h", "min", 60.0, 0.0),
        ("s", "min", 1.0 / 60.0, 0.0),
    ],
    [
        ("degC", "K", 1.0, 273.15),
        ("bar", "kgf/cm2", 1.019_716_212_977_928_2, 0.0),
        ("V", "V", 1.0, 0.0),
        ("ohm", "ohm", 1.0, 0.0),
        ("A", "A", 1.0, 0.0),
        ("h", "s", 3600.0, 0.0),
        ("s", "ms", 1000.0, 0.0),
    ],
];

/// Rewrites every `key = "number unit"` of a job file.
fn rewritten(text: &str, write: impl Fn(f64, &str) -> String) -> String {
    let lines = text.lines().map(|line| {
        let Some((key, value)) = line.split_once(" = \"") else {
            return line.to_owned();
        };
        let quantity = value.trim_end_matches('"').split_once(' ');
        match quantity.and_then(|(n, u)| n.parse::<f64>().ok().map(|n| (n, u))) {
            Some((number, unit)) => format!("{key} = \"{}\"", write(number, unit)),
            None => line.to_owned(),
        }
    });
    lines.map(|l| l + "\n").collect()
}

fn evidence(job: &Job) -> Evidence {
    gather(knowledge(), job).unwrap_or_else(|e| panic!("{e}"))
}

/// Everything the answer follows from, in an order of its own.
fn figures(evidence: &Evidence) -> Vec<(String, Vec<f64>)> {
    let mut figures = Vec::new();
    for (n, case) in evidence.cases.iter().enumerate() {
        // Signs are built as they are met; the figures are the same ones in another order.
        let mut network = case.model.network.figures();
        network.sort_by(f64::total_cmp);
        figures.push((format!("{n} network"), network));
        for item in &case.items {
            for (slot, values) in &item.slots {
                let mut scope = slot
                    .scope
                    .iter()
                    .map(|v| case.model.network.variable(*v).name.as_str())
                    .collect::<Vec<_>>();
                scope.sort_unstable();
                let name = format!("{n} {:?} {scope:?} {:?}", item.source, slot.seen);
                figures.push((name, values.clone()));
            }
        }
    }
    figures.sort_by(|a, b| a.0.cmp(&b.0));
    figures
}

fn same(name: &str, left: &Job, right: &Job) {
    let (left, right) = (figures(&evidence(left)), figures(&evidence(right)));
    assert_eq!(left.len(), right.len(), "{name}");
    for (l, r) in left.iter().zip(&right) {
        assert_eq!(l.0, r.0, "{name}");
        assert_eq!(l.1.len(), r.1.len(), "{name}: {}", l.0);
        for (x, y) in l.1.iter().zip(&r.1) {
            assert!(
                (x - y).abs() <= 1e-9 * x.abs().max(1.0),
                "{name}: {}: {x} and {y}",
                l.0
            );
        }
    }
}

#[test]
fn other_units_change_nothing() {
    for name in ALL {
        for swaps in &SWAPS {
            let other = rewritten(&text(name), |number, unit| {
                match swaps.iter().find(|s| s.0 == unit) {
                    Some((_, to, factor, offset)) => format!("{} {to}", number * factor + offset),
                    None => format!("{number} {unit}"),
                }
            });
            assert_ne!(other, text(name), "{name}: nothing was swapped");
            same(name, &job(name), &understood(&other, name));
        }
    }
}

#[test]
fn decimal_commas_change_nothing() {
    for name in ALL {
        let other = rewritten(&text(name), |number, unit| {
            format!("{number:.1} {unit}").replace('.', ",")
        });
        same(name, &job(name), &understood(&other, name));
    }
}

#[test]
fn json_says_the_same_as_toml() {
    for name in ALL {
        let toml = job(name);
        let json = serde_json::to_string(&to_json(&toml)).unwrap();
        let back = read_json(&json, name, knowledge()).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(
            back.job.without_positions(),
            toml.without_positions(),
            "{name}"
        );
    }
}

/// Shuffles what was told and read between two starts or pieces of work, where order is not time.
fn shuffled(job: &Job, seed: u64) -> Job {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut other = job.clone();
    let fixed =
        |e: &hardstart::job::Entry| matches!(e.body, EntryBody::Start(_) | EntryBody::Work(_));
    for run in other.entries.chunk_by_mut(|a, b| !fixed(a) && !fixed(b)) {
        run.shuffle(&mut random);
    }
    other
}

#[test]
fn order_of_what_was_told_and_read_changes_no_likelihood() {
    for name in ALL {
        for seed in 1..=3 {
            same(name, &job(name), &shuffled(&job(name), seed));
        }
    }
}

#[test]
fn order_of_what_was_told_and_read_changes_no_chance() {
    for name in QUICK {
        let (left, right) = (whole(name), answer(&shuffled(&job(name), 7)));
        for cause in &left.causes {
            let other = right
                .causes
                .iter()
                .find(|c| c.cause == cause.cause)
                .unwrap();
            assert!(
                (cause.chance - other.chance).abs() < 1e-9,
                "{name}: {}",
                cause.cause
            );
        }
    }
}

/// The job without two of its readings, drawn at random.
fn poorer(job: &Job, seed: u64) -> Job {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut other = job.clone();
    for _ in 0..2 {
        let mut readings = Vec::new();
        for (at, entry) in other.entries.iter().enumerate() {
            if matches!(entry.body, EntryBody::Reading(_)) {
                readings.push(at);
            }
        }
        other
            .entries
            .remove(readings[random.random_range(0..readings.len())]);
    }
    other
}

#[test]
fn two_readings_fewer_leave_the_first_cause_among_the_first_three() {
    // A set of plugs, or any other part of each cylinder, counts whichever cylinder leads.
    for (name, seed) in [
        ("kl-14", 1),
        ("kl-22", 1),
        ("kl-22", 2),
        ("kl-31", 1),
        ("kl-31", 2),
        ("kl-36", 1),
        ("kl-36", 2),
    ] {
        let first = whole(name).causes[0].clone();
        let poorer = answer(&poorer(&job(name), seed));
        let among = poorer
            .causes
            .iter()
            .take(3)
            .any(|c| c.part == first.part && c.fault == first.fault);
        assert!(
            among,
            "{name}: {} is not in {}",
            first.cause,
            crate::shop::top(&poorer)
        );
    }
}
