//! What can be done today comes before what waits a night for a cold engine, if it is hardly dearer.

use hardstart::evidence::gather;
use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::planning::bench::next;

/// An invented lorry that cranks slowly at 12.3 V a battery.
const SLOW: &str = r#"
schema = "hardstart/job/1"
job = "x"
complaint = "cranks slowly in frost"
engine = { cylinders = 4, chamber = "direct", preheat = "none", pump = "inline", system_volts = 24 }
bench = { arrived = "cold", tools = ["test_lamp", "multimeter", "jump_leads", "stopwatch"] }
[[entry]]
reading = { check = "battery_rest_volts", value = "12.3 V" }
[[entry]]
start = { engine_temperature = "-4 degC", soak = "13 h", crank_sound = "slow" }
"#;

#[test]
fn a_warm_engine_is_not_left_for_a_night_to_work_the_primer() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let job = read_toml(SLOW, "job", &knowledge).unwrap().job;
    let evidence = gather(&knowledge, &job).unwrap();
    let next = next(&knowledge, &job, &evidence).unwrap();
    assert!(!next.cold.cold);
    assert_eq!(next.moves[0].cold, "keeps", "{}", next.moves[0].id);
}
