//! Batches of plain observations: against enumeration on random networks, against two
//! independent engines on a network of our shape, and with a cache that keeps forgetting.

mod random_networks;

use std::collections::BTreeMap;

use hardstart::network::bif::{read, with_noisy_maxima, write};
use hardstart::network::enumerate::{Likelihood, enumerate};
use hardstart::network::{Answers, Batch, Network, Observation, VarId};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Agreement with two engines asked for on the network of our shape.
const SAME: f64 = 1e-9;
/// Room for the programs, enough for all of them.
const ROOMY: usize = 1 << 30;

fn jobs(random: &mut ChaCha8Rng, network: &Network, count: usize) -> Vec<Vec<Observation>> {
    (0..count)
        .map(|_| {
            let mut job = Vec::new();
            for v in 0..network.variables().len() as u32 {
                if random.random::<f64>() < 0.4 {
                    job.push((VarId(v), random.random_range(0..network.size(VarId(v)))));
                }
            }
            job
        })
        .collect()
}

fn all(network: &Network) -> Vec<VarId> {
    (0..network.variables().len() as u32).map(VarId).collect()
}

#[test]
fn batches_equal_enumeration_on_random_networks() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    for _ in 0..150 {
        let folds = random_networks::network(&mut random);
        // Folds as they are, and whole tables in which maxima are looked for.
        let text = write(&folds, "net", &[]).0;
        let tables = read(&text).expect("what was written").network;
        for network in [folds, with_noisy_maxima(&tables)] {
            let queries = (0..2).map(|v| vec![VarId(v)]).collect::<Vec<_>>();
            let jobs = jobs(&mut random, &network, 9);
            let mut batch = Batch::new(network.clone(), &all(&network), queries.clone(), 0, ROOMY);
            let answers = batch.answer(&jobs).expect("small");
            for (job, answer) in jobs.iter().zip(answers.iter()) {
                let seen = job.iter().map(|(v, state)| Likelihood {
                    scope: vec![*v],
                    values: (0..network.size(*v))
                        .map(|s| f64::from(u8::from(s == *state)))
                        .collect(),
                });
                let (total, weights) = enumerate(&network, &seen.collect::<Vec<_>>(), &queries);
                let Ok(answer) = answer else {
                    assert!(total < 1e-15, "{total} is not impossible");
                    continue;
                };
                assert!((answer.log_evidence.exp() / total - 1.0).abs() < 1e-9);
                let found = answer.chances().flatten();
                for (found, weight) in found.zip(weights.iter().flatten()) {
                    assert!((found - weight / total).abs() < 1e-9);
                }
            }
        }
    }
}

type Reference = (
    Vec<BTreeMap<String, usize>>,
    Vec<BTreeMap<String, Vec<f64>>>,
    Vec<f64>,
);

fn shape() -> Network {
    let text = include_str!("../data/kernel/shape_div.bif");
    with_noisy_maxima(&read(text).expect("a sound file").network)
}

fn check(reference: &str, most_bytes: usize) -> (u64, Vec<Answers>) {
    let network = shape();
    let (jobs, marginals, weights): Reference =
        serde_json::from_str(reference).expect("a reference file");
    let id = |name: &String| network.find(name).expect("a known name");
    let queries = marginals[0].keys().map(|n| vec![id(n)]).collect();
    let seen = jobs
        .iter()
        .map(|job| job.iter().map(|(n, s)| (id(n), *s)).collect::<Vec<_>>())
        .collect::<Vec<_>>();
    let observable = all(&network)
        .into_iter()
        .filter(|v| seen.iter().flatten().any(|(w, _)| w == v))
        .collect::<Vec<_>>();
    let mut batch = Batch::new(network.clone(), &observable, queries, 4, most_bytes);
    let answers = batch.answer(&seen).expect("narrow enough");
    let answers = answers
        .iter()
        .map(|a| a.expect("possible").to_owned())
        .collect::<Vec<_>>();
    for ((answer, marginals), weight) in answers.iter().zip(&marginals).zip(&weights) {
        assert!((answer.log_evidence - weight.ln()).abs() < SAME);
        for ((name, expected), found) in marginals.iter().zip(&answer.chances) {
            for (e, f) in expected.iter().zip(found) {
                assert!((e - f).abs() < SAME, "{name}: {f}, expected {e}");
            }
        }
    }
    (batch.programs().made(), answers)
}

#[test]
fn twelve_observations_in_a_batch_as_two_independent_engines_find() {
    check(
        include_str!("../data/kernel/shape_jobs_reference.json"),
        ROOMY,
    );
}

#[test]
fn all_signs_and_checks_in_a_batch_as_two_independent_engines_find() {
    check(
        include_str!("../data/kernel/shape_jobs_full_reference.json"),
        ROOMY,
    );
}

#[test]
fn a_cache_that_keeps_forgetting_changes_no_bit() {
    let reference = include_str!("../data/kernel/shape_jobs_reference.json");
    let (_, roomy) = check(reference, ROOMY);
    let (_, tight) = check(reference, 1);
    assert_eq!(roomy, tight);
}
