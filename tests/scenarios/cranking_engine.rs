//! Jobs of cranking, timing, wear and routine: KL-22, KL-25, SM-12, KL-40.

use crate::shop::{at, holds, of, of_part, of_system, place, sum, whole};

const TOO_WIDE: &str = "the network of this job is too wide for exact work";

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
    expected_to_fail!(
        "57 of 100: thick oil keeps 20, and no reading of this job parts them",
        {
            let r = whole("kl-22");
            holds!(r, of(&r, "starter.worn"), >=, 70.0);
        }
    );
}

#[test]
fn kl_25_timing_stands_clear_before_anything_is_opened() {
    expected_to_fail!(TOO_WIDE, {
        let r = at("kl-25", "before opening anything");
        holds!(r, sum(&r, &["cam_drive.slipped", "static_timing.late"]), >=, 70.0);
    });
}

#[test]
fn kl_25_even_low_compression_points_to_the_cam_and_not_to_injectors() {
    expected_to_fail!(TOO_WIDE, {
        let r = whole("kl-25");
        holds!(r, sum(&r, &["cam_drive.slipped", "static_timing.late"]), >=, 70.0);
        holds!(r, of_system(&r, "injectors"), <, 15.0);
    });
}

#[test]
fn sm_12_even_low_compression_on_a_worn_engine_means_rings_all_round() {
    expected_to_fail!(TOO_WIDE, {
        let r = whole("sm-12");
        holds!(r, of_part(&r, "rings"), >=, 70.0);
    });
}

#[test]
fn kl_40_a_good_start_by_the_book_means_the_routine() {
    let r = whole("kl-40");
    assert_eq!(place(&r, "routine.hurried"), 1);
}

#[test]
fn kl_40_nothing_but_the_routine_is_left() {
    expected_to_fail!(
        "11 of 100: a good start by the book rules hardly any other fault out",
        {
            let r = whole("kl-40");
            holds!(r, of(&r, "routine.hurried"), >=, 80.0);
        }
    );
}
