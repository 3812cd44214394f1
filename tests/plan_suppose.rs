//! `plan` and `suppose` on jobs, by the program itself, and what the bench says of prices.
//!
//! Job files under `tests/jobs` are of an invented shop.

use std::process::{Command, Output};

use hardstart::evidence::gather;
use hardstart::job::{CannotDo, Entry, EntryBody, Job, read_toml};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::planning::bench::{MoveKind, Next, next};
use serde_json::Value;

const DEAD_PLUG: &str = "tests/jobs/dead_plug.toml";

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_hardstart"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("LC_ALL", "C")
        .env("COLUMNS", "80")
        .output()
        .unwrap()
}

fn text(args: &[&str]) -> String {
    let output = run(args);
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{args:?}: {errors}");
    String::from_utf8(output.stdout).unwrap()
}

fn document(args: &[&str]) -> Value {
    serde_json::from_str(&text(args)).unwrap()
}

/// Depth of the tree; checks on the way that the chances of a step's findings add to one and
/// that the cold goes only where something takes it.
fn depth(step: &Value) -> usize {
    let branches = step["branches"].as_array().unwrap();
    let sum: f64 = branches.iter().map(|b| b["chance"].as_f64().unwrap()).sum();
    if !branches.is_empty() {
        assert!((sum - 1.0).abs() < 1e-9, "{sum}: {step}");
    }
    if step["kind"] == "repair" {
        assert_eq!(step["uses_up_cold"], true, "the proof is a cold start");
    }
    let then = branches.iter().filter(|b| !b["then"].is_null());
    1 + then.map(|b| depth(&b["then"])).max().unwrap_or(0)
}

#[test]
fn the_plan_is_a_tree_of_three_moves_that_begins_with_the_next_one() {
    let plan = document(&["plan", "--json", DEAD_PLUG]);
    assert_eq!(plan["schema"], "hardstart/plan/1");
    assert_eq!(depth(&plan["tree"]), 3);
    let next = document(&["next", "--json", DEAD_PLUG]);
    assert_eq!(plan["tree"]["id"], next["moves"][0]["id"]);
    assert_eq!(
        plan["tree"]["expected_total"],
        next["moves"][0]["expected_total"]
    );
}

#[test]
fn for_people_cautions_stand_before_the_steps_and_a_rule_where_the_cold_goes() {
    let page = text(&["plan", DEAD_PLUG]);
    let first = page.find("\n1. ").unwrap();
    if let Some(care) = page.find("\nTake care\n") {
        assert!(care < first, "{page}");
    }
    // A plan that comes to a repair comes to its proof, which uses the cold up.
    assert!(
        page.contains("---- the cold is used up here ----"),
        "{page}"
    );
    assert!(
        page.lines().all(|l| l.is_ascii() && l.len() <= 80),
        "{page}"
    );
}

#[test]
fn the_drawing_holds_the_same_steps_and_closes_every_element() {
    let drawing = text(&["plan", "--svg", DEAD_PLUG]);
    assert!(drawing.starts_with("<svg xmlns="), "{drawing}");
    assert!(drawing.trim_end().ends_with("</svg>"), "{drawing}");
    let count = |s: &str| drawing.matches(s).count();
    assert_eq!(count("<text"), count("</text>"));
    assert!(drawing.contains("the cold is used up here"), "{drawing}");
    for word in ["<script", "href", "NaN"] {
        assert!(!drawing.contains(word), "{word}");
    }
    // One box a step, and one behind all.
    let plan = document(&["plan", "--json", DEAD_PLUG]);
    fn steps(step: &Value) -> usize {
        let listed = step["branches"].as_array().unwrap().iter();
        // Findings below two of a hundred are counted, not drawn.
        let listed = listed.filter(|b| b["chance"].as_f64().unwrap() >= 0.02);
        let then = listed.filter(|b| !b["then"].is_null());
        1 + then.map(|b| steps(&b["then"])).sum::<usize>()
    }
    assert_eq!(count("<rect"), 1 + steps(&plan["tree"]));
}

#[test]
fn what_is_supposed_moves_the_list_and_saves_nothing() {
    let before = std::fs::read(DEAD_PLUG).unwrap();
    let reading = "plug_ohms:1=open";
    let answer = document(&["suppose", DEAD_PLUG, reading, "--json"]);
    assert_eq!(answer["schema"], "hardstart/suppose/1");
    assert_eq!(answer["supposed"][0], reading);
    let chance = |list: &Value| {
        let list = list.as_array().unwrap();
        let found = list.iter().find(|c| c["cause"] == "plug.dead:1").unwrap();
        found["chance"].as_f64().unwrap()
    };
    let (now, then) = (
        chance(&answer["causes_now"]),
        chance(&answer["causes"]["causes"]),
    );
    assert!(
        then > 5.0 * now,
        "an open plug is a dead plug: {now} {then}"
    );
    let is = document(&["next", "--json", DEAD_PLUG]);
    assert_eq!(answer["next_now"], is["moves"][0]);
    assert_eq!(answer["next"]["schema"], "hardstart/next/1");
    let page = text(&["suppose", DEAD_PLUG, reading]);
    assert!(page.contains("Nothing is saved."), "{page}");
    assert!(page.contains("Next would be: "), "{page}");
    assert_eq!(std::fs::read(DEAD_PLUG).unwrap(), before);
}

#[test]
fn what_cannot_be_supposed_is_said_with_what_to_try() {
    let output = run(&["suppose", DEAD_PLUG, "crank_volts=8.4 V"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("cranking_volts"), "{said}");
}

fn job(bench: &str) -> (Knowledge, Job) {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let text = std::fs::read_to_string(DEAD_PLUG).unwrap();
    let text = text.replace("[[entry]]\nstart", &format!("{bench}\n[[entry]]\nstart"));
    let job = read_toml(&text, "job", &knowledge).unwrap().job;
    (knowledge, job)
}

fn advice(knowledge: &Knowledge, job: &Job) -> Next {
    next(knowledge, job, &gather(knowledge, job).unwrap()).unwrap()
}

#[test]
fn a_job_that_costs_nothing_to_hand_over_is_handed_over() {
    // Nothing costs less than nothing. A job that misses no repair cannot come back.
    let (knowledge, job) = job("[bench]\nhand_over_minutes = 0");
    let next = advice(&knowledge, &job);
    assert_eq!(
        next.moves[0].kind,
        MoveKind::HandOver,
        "{:?}",
        next.moves[0]
    );
    assert!(next.stop);
    assert!(next.moves[0].expected_total.abs() < 1e-9);
}

#[test]
fn dearer_nights_parts_and_come_backs_make_the_whole_dearer() {
    let total = |bench: &str| {
        let (knowledge, job) = job(bench);
        advice(&knowledge, &job).moves[0].expected_total
    };
    let usual = total("");
    for bench in [
        "[bench]\nnight_minutes = 300",
        "[bench]\nminute_rate = 1\nplug_price = 200",
        "[bench]\ncome_back_minutes = 2000",
    ] {
        let dearer = total(bench);
        assert!(dearer > usual + 1.0, "{bench}: {dearer}, usually {usual}");
    }
    assert!(total("[bench]\nbreak_factor = 0") <= usual + 1e-9);
}

#[test]
fn a_check_that_cannot_be_done_at_one_cylinder_is_left_for_the_others() {
    let (knowledge, mut job) = job("");
    let cannot = |check: &str, cylinder| {
        Entry::new(EntryBody::CannotDo(CannotDo {
            check: check.to_owned(),
            cylinder,
            reason: "seized".to_owned(),
        }))
    };
    job.entries.push(cannot("plug_glow_time", Some(2)));
    let next = advice(&knowledge, &job);
    let glow = next.moves.iter().find(|m| m.id == "plug_glow_time");
    let shown: Vec<&str> = glow
        .unwrap()
        .outcomes
        .iter()
        .map(|o| o.state.as_str())
        .collect();
    let left = [
        "nothing odd",
        "cylinder 1",
        "cylinder 3",
        "cylinder 4",
        "several",
    ];
    assert_eq!(shown, left);
    job.entries.push(cannot("plug_glow_time", None));
    let next = advice(&knowledge, &job);
    assert!(next.moves.iter().all(|m| m.id != "plug_glow_time"));
    let hidden = next.hidden.iter().find(|h| h.check == "plug_glow_time");
    assert_eq!(hidden.unwrap().detail, "seized");
    // One cylinder of four is read: the other three are left.
    let ohms = next
        .moves
        .iter()
        .find(|m| m.id == "plug_ohms" && m.repeat.is_none());
    assert_eq!(ohms.unwrap().outcomes.len(), 5);
}
