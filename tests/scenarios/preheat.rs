//! Jobs whose fault is at the plugs: KL-11, KL-31, SM-15; and the clash of KL-44.

use crate::shop::{at, holds, of, of_part, of_system, place, sum, whole};

/// A tired or flat battery is let take the plug feed down as far as a bad joint does.
const BATTERY: &str = "the battery explains a weak feed, and so the low current, too well";

#[test]
fn kl_11_after_the_start_it_is_preheat() {
    let r = at("kl-11", "after the start");
    holds!(r, of_system(&r, "preheat"), >=, 50.0);
}

#[test]
fn kl_11_after_the_current_about_two_plugs_are_open() {
    expected_to_fail!(BATTERY, {
        let r = at("kl-11", "after the current");
        // 62 A of 90 A is 4.1 plugs of 6: the expected number of open ones is near two.
        let open = (of_part(&r, "plug_joint") + of_dead(&r)) / 100.0;
        holds!(r, open, >, 1.4);
        holds!(r, open, <, 2.6);
        holds!(r, of_system(&r, "engine"), <, 15.0);
        holds!(r, of_system(&r, "injectors"), <, 15.0);
    });
}

#[test]
fn kl_11_one_plug_found_open_still_leaves_a_second() {
    let r = at("kl-11", "one plug found open");
    holds!(r, of(&r, "plug.dead:4"), >, 90.0);
    let others = of_dead(&r) - of(&r, "plug.dead:4") + of_part(&r, "plug_joint");
    holds!(r, others, >, 60.0);
}

fn of_dead(r: &hardstart::diagnosis::Ranking) -> f64 {
    (1..=6).map(|c| of(r, &format!("plug.dead:{c}"))).sum()
}

#[test]
fn kl_31_the_whole_set_is_dead() {
    let r = at("kl-31", "after the lamp");
    for cylinder in 1..=4 {
        holds!(r, of(&r, &format!("plug.dead:{cylinder}")), >=, 95.0);
    }
}

#[test]
fn kl_31_swollen_tips_ask_why() {
    let r = at("kl-31", "after the look");
    let why = sum(&r, &["preheat_relay.stuck_on", "plug_set.wrong_kind"]);
    holds!(r, why, >=, 35.0);
}

#[test]
fn sm_15_current_through_the_lamp_says_joint_not_plug() {
    let r = whole("sm-15");
    let (joint, plug) = (of(&r, "plug_joint.loose:3"), of(&r, "plug.dead:3"));
    holds!(r, joint, >=, 4.0 * plug);
    assert_eq!(place(&r, "plug_joint.loose:3"), 1);
}

#[test]
fn kl_44_no_current_beside_a_bright_lamp_does_not_fit() {
    let r = whole("kl-44");
    let job = crate::shop::job("kl-44");
    assert!(r.misfit.bits >= 3.0, "{:?}", r.misfit);
    let named = r
        .misfit
        .entries
        .iter()
        .map(|e| match &job.entries[*e].body {
            hardstart::job::EntryBody::Reading(reading) => reading.check.as_str(),
            _ => "",
        })
        .collect::<Vec<_>>();
    assert!(named.contains(&"plug_current_total"), "{named:?}");
    assert!(named.contains(&"lamp_at_strip"), "{named:?}");
    // The clamp is set to nought and read again, or the lamp held again: three minutes or two.
    let repeat = r.misfit.repeat.as_ref().map(|(check, _)| check.as_str());
    assert!(
        matches!(repeat, Some("plug_current_total" | "lamp_at_strip")),
        "{repeat:?}"
    );
}
