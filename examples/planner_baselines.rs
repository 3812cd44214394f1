//! Prints mean minutes of the planner and of simpler rules on jobs drawn from the own network.
//!
//! `cargo run --release --example planner_baselines [JOBS]`: for whoever changes the planner.
//! The signs of a start, what is wrong and every reading are drawn from the network, so each
//! rule is judged on the beliefs it holds. One job is the same for all rules: the same faults,
//! and a check shows the same whoever does it.

#[path = "planner_baselines/draw.rs"]
mod draw;
#[path = "planner_baselines/rules.rs"]
mod rules;

use std::collections::HashMap;

use draw::{Drawn, draw};
use hardstart::evidence::gather;
use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::planning::bench::{Prices, problem};
use hardstart::planning::{Action, Hypotheses, Outcomes, Problem, Situation, Tables};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use rules::{NAMES, Rules};

/// Jobs drawn unless the command line says otherwise.
const JOBS: usize = 300;
/// Moves after which a job is handed over, so that no rule goes on for ever.
const MOST_MOVES: usize = 80;

#[allow(clippy::print_stdout)]
fn main() {
    let jobs = std::env::args()
        .nth(1)
        .map_or(JOBS, |n| n.parse().expect("a number of jobs"));
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in figures");
    let results: Vec<[f64; NAMES.len()]> = (0..jobs)
        .into_par_iter()
        .filter_map(|seed| {
            let Drawn { job, miss, smoke } = draw(&knowledge, seed as u64);
            // A few engines with many signs are too wide; they are drawn but not played.
            let evidence = gather(&knowledge, &job).ok()?;
            let problem = problem(&knowledge, &job, &evidence).ok()?;
            let tables = Tables::new(&problem).ok()?;
            let rules = Rules::new(&problem, &tables, &miss, &smoke);
            let twice = Prices::of(&job.bench).missed;
            let mut minutes = [0.0; NAMES.len()];
            for (rule, minutes) in minutes.iter_mut().enumerate() {
                *minutes = play(&problem, &tables, &rules, rule, seed as u64) - twice;
            }
            Some(minutes)
        })
        .collect();
    let n = results.len() as f64;
    println!(
        "{} jobs of {jobs} drawn; minutes to a proven repair",
        results.len()
    );
    println!(
        "{:<38} {:>7} {:>9} {:>14}",
        "rule", "mean", "to ours", "(std. error)"
    );
    let ours: f64 = results.iter().map(|r| r[0]).sum::<f64>() / n;
    for (rule, name) in NAMES.iter().enumerate() {
        let mean = results.iter().map(|r| r[rule]).sum::<f64>() / n;
        let spread = results
            .iter()
            .map(|r| (r[rule] - r[0] - mean + ours).powi(2));
        let error = (spread.sum::<f64>() / (n - 1.0) / n).sqrt();
        println!(
            "{name:<38} {mean:>7.0} {:>+9.0} {:>14}",
            mean - ours,
            format!("({error:.0})")
        );
    }
}

/// Minutes of one job under one rule, what is wrong drawn from the beliefs at its beginning.
fn play(problem: &Problem, tables: &Tables, rules: &Rules<'_>, rule: usize, seed: u64) -> f64 {
    let Hypotheses::Listed(list) = &problem.hypotheses else {
        panic!("a job lists its hypotheses");
    };
    let by_set: HashMap<&[usize], usize> = list
        .iter()
        .enumerate()
        .map(|(i, h)| (h.faults.as_slice(), i))
        .collect();
    let mut situation = Situation::start(tables);
    let total: f64 = list.iter().map(|h| h.weight).sum();
    let mut left = uniform(seed, 0, 0) * total;
    let mut truth = list
        .iter()
        .position(|h| {
            left -= h.weight;
            left < 0.0
        })
        .unwrap_or(0);
    let mut minutes = 0.0;
    let mut state = rules.begin();
    for _ in 0..MOST_MOVES {
        let action = rules.decide(rule, &mut state, &situation);
        minutes += situation
            .cost(tables, action)
            .expect("a move that can be made");
        match action {
            Action::HandOver => return minutes,
            Action::Check(c) => {
                let Outcomes::Table { outcomes, chances } = &problem.checks[c].outcomes else {
                    panic!("a job's checks are tables");
                };
                let row = &chances[truth * outcomes..(truth + 1) * outcomes];
                let mut draw = uniform(seed, 1 + c as u64, truth as u64);
                let shown = row.iter().position(|p| {
                    draw -= p;
                    draw < 0.0
                });
                let shown = shown.unwrap_or_else(|| most(row));
                match situation.after_check(tables, c, shown) {
                    Some((_, next)) => situation = next,
                    None => return minutes + problem.hand_over_minutes,
                }
            }
            Action::Repair(r) => {
                let fix = &problem.repairs[r].fix;
                let faults: Vec<usize> = list[truth]
                    .faults
                    .iter()
                    .copied()
                    .filter(|f| uniform(seed, 10_000 + r as u64, *f as u64) >= fix[*f])
                    .collect();
                if faults.is_empty() {
                    return minutes;
                }
                truth = by_set[faults.as_slice()];
                match situation.after_repair(tables, r).1 {
                    Some(next) => situation = next,
                    None => return minutes,
                }
            }
        }
    }
    minutes + problem.hand_over_minutes
}

fn most(row: &[f64]) -> usize {
    (0..row.len())
        .max_by(|a, b| row[*a].total_cmp(&row[*b]))
        .unwrap_or(0)
}

/// The same number for the same job, thing and place, whoever asks.
fn uniform(seed: u64, thing: u64, place: u64) -> f64 {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(thing * 100_003 + place);
    rng.random()
}
