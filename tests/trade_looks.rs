//! Signs of the trade that are looked for on purpose stand as quick checks, with its figures.
//!
//! `data/trade/signs.csv` has rows without a sign code: things one finds by looking, not by
//! watching a start. Each is the figure of a check, or named in `NO_CHECK` with the reason.

use std::collections::BTreeMap;

use hardstart::knowledge::{Check, KnowledgeFiles, load};

/// Fault and sign of the trade = check, state, and the variable and state it looks at.
const LOOKS: &[(&str, &str, &str, &str, &str, &str)] = &[
    (
        "preheat_sender",
        "unplugging_sender_gives_full_time",
        "unplug_sender",
        "full_time",
        "preheat_sender",
        "reads_warm",
    ),
    (
        "preheat_earth",
        "lights_dim_oddly",
        "lights_dim_oddly",
        "oddly",
        "engine_earth",
        "poor",
    ),
    (
        "preheat_earth",
        "warm_cables",
        "terminals_hot",
        "hot",
        "engine_earth",
        "poor",
    ),
    (
        "preheat_stuck_on",
        "battery_found_flat",
        "found_flat",
        "yes",
        "preheat_relay",
        "stuck_on",
    ),
    (
        "preheat_stuck_on",
        "plugs_swollen",
        "plugs_swollen_look",
        "swollen",
        "preheat_relay",
        "stuck_on",
    ),
    (
        "preheat_series_break",
        "dash_coil_dark",
        "dash_coil_look",
        "dark",
        "series_chain",
        "broken",
    ),
    (
        "flame_heater",
        "manifold_not_warm",
        "flame_heater_touch",
        "stays_cold",
        "flame_heater",
        "dead",
    ),
    (
        "battery_tired",
        "recurs_after_charge",
        "charge_and_wait",
        "comes_back",
        "battery",
        "tired",
    ),
    (
        "crank_lead",
        "clicks",
        "clicks_listen",
        "clicks",
        "crank_lead",
        "poor",
    ),
    (
        "crank_lead",
        "hot_terminal",
        "terminals_hot",
        "hot",
        "crank_lead",
        "poor",
    ),
    (
        "engine_earth",
        "clicks",
        "clicks_listen",
        "clicks",
        "engine_earth",
        "poor",
    ),
    (
        "engine_earth",
        "hot_terminal",
        "terminals_hot",
        "hot",
        "engine_earth",
        "poor",
    ),
    (
        "fuel_water",
        "water_in_bowl",
        "water_in_bowl",
        "water",
        "fuel",
        "water",
    ),
    (
        "tank_pickup",
        "cap_hiss",
        "cap_hiss",
        "hiss",
        "tank_pickup",
        "blocked",
    ),
    (
        "nozzle_drip",
        "repeat_plug_failure_same_hole",
        "same_plug_before",
        "yes",
        "nozzle",
        "drip",
    ),
    (
        "injector_seat_leak",
        "soot_or_chuff_at_injector",
        "injector_seat_look",
        "soot_or_chuff",
        "injector_seat",
        "leaking",
    ),
    (
        "injector_seat_leak",
        "return_bubbles_running",
        "return_hose_bubbles",
        "bubbles",
        "injector_seat",
        "leaking",
    ),
    (
        "pump_head_worn",
        "cooling_the_head_helps",
        "cool_pump_head",
        "helps",
        "pump_head",
        "worn",
    ),
    (
        "rings_stuck",
        "improves_after_hard_work",
        "hard_run",
        "better",
        "rings",
        "stuck",
    ),
    (
        "valve_leak",
        "puff_at_intake_or_exhaust",
        "puff_listen",
        "puffs",
        "barrel",
        "valve",
    ),
    (
        "head_gasket",
        "bubbles_in_header",
        "header_bubbles",
        "bubbles",
        "barrel",
        "gasket",
    ),
    (
        "head_gasket",
        "two_adjacent_low",
        "compression_pattern",
        "low_with_neighbour",
        "barrel",
        "gasket",
    ),
    (
        "thermostat_open",
        "slow_warm_up",
        "warm_up_time",
        "slow",
        "warm_up",
        "slow",
    ),
    (
        "routine",
        "good_start_when_done_right",
        "start_by_the_book",
        "good",
        "routine",
        "hurried",
    ),
];

/// Rows that are no check, and why.
const NO_CHECK: &[(&str, &str)] = &[
    (
        "all_cylinders_weak",
        "follows from the plugs of the cylinders",
    ),
    ("all_plugs_dead", "follows from the plugs as a set"),
    (
        "smooth_when_warm",
        "true of a sound engine too, says nothing by itself",
    ),
    ("hard_start", "the heat margin of a start carries it"),
    ("lamp_not_awaited", "a sign of its own, O01"),
];

/// Chance of a state with one variable in a state and all others healthy; what a link adds is
/// added.
fn chance(check: &Check, state: &str, variable: &str, is: &str) -> f64 {
    let at = check.states.iter().position(|s| s == state);
    let at = at.unwrap_or_else(|| panic!("no state {state}"));
    let row = check.row.iter().find(|r| {
        r.given
            .iter()
            .all(|(v, states)| v == variable && states.iter().any(|s| s == is))
    });
    let chances = row.and_then(|r| r.chance.as_ref()).expect("a row");
    let base = chances.get_ref()[at];
    let speaks = check
        .link
        .iter()
        .find(|l| l.var.get_ref() == variable && l.state.get_ref() == is)
        .map_or(0.0, |l| l.speaks * l.says.get_ref()[state]);
    base + speaks * (1.0 - base)
}

#[test]
fn what_is_looked_for_stands_with_the_figures_of_the_trade() {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in files");
    let checks: BTreeMap<&str, &Check> = knowledge
        .checks
        .iter()
        .map(|c| (c.id.get_ref().as_str(), c))
        .collect();
    let mut reader = csv::Reader::from_path("data/trade/signs.csv").expect("signs.csv");
    let mut found = 0;
    for record in reader.records() {
        let record = record.expect("record");
        let (fault, sign, figure, code) = (&record[0], &record[1], &record[3], &record[8]);
        // Rows without a figure say only that the sign exists.
        let Ok(figure) = figure.parse::<f64>() else {
            continue;
        };
        if !code.is_empty() || NO_CHECK.iter().any(|(s, _)| *s == sign) {
            continue;
        }
        let look = LOOKS.iter().find(|l| l.0 == fault && l.1 == sign);
        let (_, _, id, state, variable, is) =
            look.unwrap_or_else(|| panic!("{fault}: {sign} is no check and not excused"));
        let ours = chance(checks[id], state, variable, is);
        assert!(
            (ours - figure).abs() < 1e-3,
            "{fault}: {sign}: {ours} for {figure}"
        );
        found += 1;
    }
    assert_eq!(found, LOOKS.len());
}
