//! Pairs of signs the trade reads together, against the network given the complaint.
//!
//! The wanted chances are elicited judgement (own judgement, no source): the network was not
//! tuned to them.

use std::collections::BTreeMap;

use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};

/// Chances by cause and by system for a job of an invented engine with these signs.
fn chances(signs: &str) -> BTreeMap<String, f64> {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in files pass their rules");
    let text = format!(
        "schema = \"hardstart/job/1\"\njob = \"P-1\"\ncomplaint = \"hard to start cold\"\n\
         [engine]\ncylinders = 4\nchamber = \"swirl\"\npreheat = \"plugs\"\n\
         [[entry]]\nstart.engine_temperature = \"0 degC\"\nstart.soak = \"12 h\"\n{signs}\n"
    );
    let parsed = read_toml(&text, "pair.toml", &knowledge).expect("a sound job");
    let evidence = gather(&knowledge, &parsed.job).expect("gathers");
    let ranking = causes(&evidence, &parsed.job).expect("answers");
    let systems = ranking
        .systems
        .iter()
        .map(|s| (format!("system {}", s.system), s.chance));
    ranking
        .causes
        .iter()
        .map(|c| (c.cause.clone(), c.chance))
        .chain(systems)
        .collect()
}

/// Sum over the causes that begin with one of these.
fn sum(chances: &BTreeMap<String, f64>, causes: &[&str]) -> f64 {
    chances
        .iter()
        .filter(|(name, _)| causes.iter().any(|c| name.starts_with(c)))
        .map(|(_, chance)| chance)
        .sum()
}

fn near(name: &str, got: f64, wanted: f64, within: f64) {
    assert!(
        (got - wanted).abs() <= within,
        "{name}: {got} wanted {wanted} within {within}"
    );
}

#[test]
fn white_smoke_good_hot_restart_and_normal_cranking_mean_preheat() {
    let c = chances(
        "start.smoke_cranking = \"white\"\nstart.hot_restart = \"instant\"\nstart.crank_sound = \"normal\"",
    );
    near("preheat", c["system preheat"], 0.75, 0.15);
    near("compression", sum(&c, &["rings.", "barrel."]), 0.10, 0.15);
    near(
        "timing or advance",
        sum(&c, &["static_timing.", "cold_advance."]),
        0.10,
        0.15,
    );
}

#[test]
fn no_smoke_and_a_cure_by_priming_mean_air() {
    let c = chances("start.smoke_cranking = \"none\"\nstart.priming = \"cures\"");
    near(
        "air",
        sum(&c, &["suction_line.", "fuel_column."]),
        0.85,
        0.15,
    );
}

#[test]
fn slow_cranking_and_a_cure_by_jump_or_tow_mean_cranking() {
    let c = chances("start.crank_sound = \"slow\"\nstart.jump_or_tow = \"cures\"");
    near("cranking", c["system cranking"], 0.90, 0.25);
}

#[test]
fn one_miss_that_clears_on_an_engine_good_when_hot_means_one_plug() {
    let c = chances(
        "start.miss = \"one\"\nstart.hot_restart = \"instant\"\nstart.time_to_even = \"s20_60\"",
    );
    near("one plug", sum(&c, &["plug.", "plug_joint."]), 0.60, 0.25);
    near("nozzle", sum(&c, &["nozzle."]), 0.20, 0.15);
    near("one cylinder low", sum(&c, &["barrel."]), 0.15, 0.15);
}

#[test]
fn white_smoke_cold_and_warm_with_no_pull_means_timing_or_belt() {
    let c = chances(
        "start.smoke_cranking = \"white\"\nstart.warm_power = \"low\"\nstart.smoke_warm = \"white\"",
    );
    near(
        "timing or belt",
        sum(&c, &["static_timing.", "cam_drive."]),
        0.60,
        0.15,
    );
    near("compression", sum(&c, &["rings.", "barrel."]), 0.25, 0.15);
}
