//! Jobs of cranking, timing, wear and routine: KL-22, KL-25, SM-12, KL-40.

use crate::shop::{at, holds, of, of_part, place, sum, whole};

#[test]
fn kl_22_good_volts_and_slow_turning_mean_the_starter() {
    let r = whole("kl-22");
    assert_eq!(place(&r, "starter.worn"), 1);
    holds!(r, of_part(&r, "battery"), <, 10.0);
    for cylinder in 1..=4 {
        holds!(r, of(&r, &format!("plug.dead:{cylinder}")), <, 15.0);
    }
}

#[test]
fn kl_22_the_starter_stands_clear() {
    let r = whole("kl-22");
    holds!(r, of(&r, "starter.worn"), >=, 70.0);
}

const TIMING: [&str; 2] = ["cam_drive.slipped", "static_timing.late"];

#[test]
fn kl_25_timing_stands_clear_before_anything_is_opened() {
    let r = at("kl-25", "before opening anything");
    holds!(r, sum(&r, &TIMING), >=, 70.0);
}

#[test]
fn kl_25_even_low_compression_leaves_it_with_the_timing() {
    let r = whole("kl-25");
    holds!(r, sum(&r, &TIMING), >=, 70.0);
    // No injector goes out: none of them is likelier than one in twenty.
    for cause in r.causes.iter().filter(|c| c.part == "nozzle") {
        holds!(r, 100.0 * cause.chance, <, 5.0);
    }
}

#[test]
fn sm_12_even_low_compression_on_a_worn_engine_means_rings_all_round() {
    let r = whole("sm-12");
    holds!(r, of_part(&r, "rings"), >=, 70.0);
}

#[test]
fn kl_40_a_good_start_by_the_book_means_the_routine() {
    let r = whole("kl-40");
    assert_eq!(place(&r, "routine.hurried"), 1);
}

#[test]
fn kl_40_nothing_but_the_routine_is_left() {
    let r = whole("kl-40");
    holds!(r, of(&r, "routine.hurried"), >=, 80.0);
}
