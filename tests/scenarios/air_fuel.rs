//! Jobs of fuel and air in the fuel: SM-03, SM-18, and the dripping nozzle of KL-36.

use crate::shop::{at, holds, of, of_part, of_system, place, sum, whole};

const AIR: [&str; 3] = [
    "suction_line.draws_air",
    "fuel_column.drains_back",
    "injector_seat.leaking",
];

#[test]
fn sm_03_priming_that_cures_means_air_or_drain_back() {
    let r = whole("sm-03");
    holds!(r, sum(&r, &AIR), >=, 80.0);
    holds!(r, of_system(&r, "preheat"), <, 15.0);
}

#[test]
fn sm_03_no_smoke_in_forty_seconds_means_no_fuel() {
    let r = at("sm-03", "after the first start");
    assert_eq!(r.systems[0].system, "fuel_supply");
    holds!(r, sum(&r, &AIR), >=, 60.0);
    holds!(r, of_system(&r, "preheat"), <, 15.0);
}

#[test]
fn sm_03_standing_is_the_pattern_and_not_cold() {
    let before = at("sm-03", "after the first start");
    let after = at("sm-03", "after the second start");
    holds!(after, sum(&after, &AIR), >, sum(&before, &AIR) + 2.0);
    // Cold again and quick: whatever heats the cylinders is not what is wrong.
    holds!(after, of_system(&after, "preheat"), <, 15.0);
}

#[test]
fn sm_03_a_start_that_standing_explains_is_no_misfit() {
    let after = at("sm-03", "after the second start");
    assert!(after.misfit.bits < 3.0, "{:?}", after.misfit);
}

#[test]
fn sm_18_wax_before_water_before_filter() {
    let r = at("sm-18", "after the start");
    holds!(r, of(&r, "fuel.waxed"), >, of(&r, "fuel.water"));
    holds!(r, of(&r, "fuel.water"), >, of(&r, "fuel_filter.blocked"));
    assert_eq!(place(&r, "fuel.waxed"), 1);
}

#[test]
fn sm_18_a_clear_bowl_takes_wax_down_by_three() {
    let before = at("sm-18", "after the start");
    let after = at("sm-18", "after the bowl");
    holds!(before, of(&before, "fuel.waxed"), >, 10.0);
    holds!(after, of(&after, "fuel.waxed"), <=, of(&before, "fuel.waxed") / 3.0);
}

#[test]
fn kl_36_the_hole_that_eats_plugs_has_a_dripping_nozzle() {
    let r = whole("kl-36");
    holds!(r, of(&r, "nozzle.drip:2"), >=, 50.0);
    assert_eq!(place(&r, "nozzle.drip:2"), 1);
    holds!(r, of_part(&r, "plug"), <, 15.0);
}
