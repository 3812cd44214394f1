//! The kernel on a network of our shape against two independent engines, read from the
//! interchange format: all fault marginals and the chance of the evidence.
//!
//! Reference answers: `data/kernel/README.md`; two engines agree on them to 1e-15.

use std::collections::BTreeMap;

use hardstart::network::bif::{read, with_noisy_maxima};
use hardstart::network::{Lane, Network, Program, Request, Seen, Slot};

/// Agreement asked for.
const SAME: f64 = 1e-9;

type Evidence = BTreeMap<String, usize>;
type Marginals = BTreeMap<String, Vec<f64>>;

fn check(network: &Network, reference: &str, restarts: usize) {
    let (jobs, marginals, weights): (Vec<Evidence>, Vec<Marginals>, Vec<f64>) =
        serde_json::from_str(reference).expect("a reference file");
    assert!(jobs.len() >= 20);
    for ((job, marginals), weight) in jobs.iter().zip(&marginals).zip(&weights) {
        let id = |name: &String| network.find(name).expect("a known name");
        let request = Request {
            slots: job
                .iter()
                .map(|(name, state)| Slot {
                    scope: vec![id(name)],
                    seen: Seen::Hard(*state),
                })
                .collect(),
            queries: marginals.keys().map(|name| vec![id(name)]).collect(),
            restarts,
        };
        let program = Program::compile(network, &request).expect("narrow enough");
        let bound = program.bind(&network.figures()).expect("same figures");
        let answer = program.run(&bound, &[Lane::default()])[0]
            .clone()
            .expect("possible");
        let off = (answer.log_evidence - weight.ln()).abs();
        assert!(off < SAME, "log chance of the evidence off by {off}");
        for ((name, expected), found) in marginals.iter().zip(&answer.chances) {
            for (e, f) in expected.iter().zip(found) {
                assert!((e - f).abs() < SAME, "{name}: {f}, expected {e}");
            }
        }
    }
}

fn network() -> Network {
    let text = include_str!("../data/kernel/shape_div.bif");
    with_noisy_maxima(&read(text).expect("a sound file").network)
}

#[test]
fn twelve_observations_as_two_independent_engines_find() {
    let reference = include_str!("../data/kernel/shape_jobs_reference.json");
    check(&network(), reference, 4);
}

#[test]
fn all_signs_and_checks_observed_as_two_independent_engines_find() {
    let reference = include_str!("../data/kernel/shape_jobs_full_reference.json");
    check(&network(), reference, 4);
}
