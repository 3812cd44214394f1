//! What to do next in each job. Awaited: the command `next` gives the moves.

use std::process::Command;

use hardstart::job::{Job, to_toml};

use crate::shop::{job, stage};

const PLANNER: &str = "needs the planner: `hardstart next`";

/// The moves `hardstart next --json` gives for a job, best first: id and cylinder.
fn moves(job: &Job) -> Vec<String> {
    let directory = tempfile::tempdir().unwrap();
    let file = directory.path().join("job.toml");
    std::fs::write(&file, to_toml(job)).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(["next", "--json"])
        .arg(&file)
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let answer: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let moves = answer["moves"].as_array().unwrap();
    moves
        .iter()
        .map(|m| m["id"].as_str().unwrap_or("").to_owned())
        .collect()
}

fn first_is_one_of(job: &Job, wanted: &[&str]) {
    let moves = moves(job);
    assert!(wanted.contains(&moves[0].as_str()), "{moves:?}");
}

#[test]
fn kl_11_next_is_each_plug_by_current_or_lamp() {
    expected_to_fail!(PLANNER, {
        let job = stage("kl-11", "after the current");
        first_is_one_of(&job, &["plug_current", "series_lamp_per_plug", "plug_ohms"]);
    });
}

#[test]
fn kl_14_next_is_the_stepwise_volt_drop_and_no_plugs() {
    expected_to_fail!(PLANNER, {
        let job = stage("kl-14", "after the lamp");
        let steps = [
            "relay_contact_drop",
            "strip_joint_drop",
            "fuse_drop",
            "feed_wire_drop",
            "strip_volts_below_battery",
        ];
        first_is_one_of(&job, &steps);
    });
}

#[test]
fn kl_17_replacing_plugs_is_never_first() {
    expected_to_fail!(PLANNER, {
        let moves = moves(&stage("kl-17", "after the start"));
        assert!(!moves[0].starts_with("replace_plug"), "{moves:?}");
    });
}

#[test]
fn sm_03_next_is_the_clear_hose_or_the_hoses() {
    expected_to_fail!(PLANNER, {
        first_is_one_of(&job("sm-03"), &["clear_hose", "hoses_look"]);
    });
}

#[test]
fn kl_22_no_compression_until_it_turns_faster() {
    expected_to_fail!(PLANNER, {
        let moves = moves(&job("kl-22"));
        assert!(
            !moves.iter().take(3).any(|m| m.starts_with("compression")),
            "{moves:?}"
        );
    });
}

#[test]
fn kl_25_next_is_the_marks() {
    expected_to_fail!(PLANNER, {
        first_is_one_of(
            &stage("kl-25", "before opening anything"),
            &["cam_marks", "pump_timing_lift"],
        );
    });
}

#[test]
fn sm_12_living_with_a_block_heater_is_an_answer() {
    expected_to_fail!(PLANNER, {
        let moves = moves(&job("sm-12"));
        assert!(
            moves.iter().any(|m| m == "live_with_block_heater"),
            "{moves:?}"
        );
        assert_ne!(moves[0], "overhaul_engine");
    });
}

#[test]
fn sm_15_next_is_cleaning_the_joint() {
    expected_to_fail!(PLANNER, {
        let wanted = ["clean_plug_joint", "plug_joint_look", "plug_joint_drop"];
        first_is_one_of(&job("sm-15"), &wanted);
    });
}

#[test]
fn kl_36_next_is_cracking_lines_while_it_misses() {
    expected_to_fail!(PLANNER, {
        first_is_one_of(&stage("kl-36", "after the plugs"), &["line_crack_balance"]);
    });
}

#[test]
fn sm_18_next_is_the_bowl() {
    expected_to_fail!(PLANNER, {
        let wanted = ["filter_cloudy", "water_in_bowl", "fuel_sample"];
        first_is_one_of(&stage("sm-18", "after the start"), &wanted);
    });
}

#[test]
fn kl_40_no_repair_is_offered_first() {
    expected_to_fail!(PLANNER, {
        let moves = moves(&job("kl-40"));
        assert!(!moves[0].starts_with("replace"), "{moves:?}");
    });
}

#[test]
fn kl_44_next_is_the_cheapest_repeat() {
    expected_to_fail!(PLANNER, {
        first_is_one_of(&job("kl-44"), &["plug_current_total", "lamp_at_strip"]);
    });
}
