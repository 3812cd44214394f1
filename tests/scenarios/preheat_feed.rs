//! Jobs whose fault is in what feeds the plugs or heats the air: KL-14, KL-17, SM-07.

use hardstart::job::EntryBody;

use crate::shop::{answer, at, holds, of, of_part, of_system, place, stage, sum, whole};

#[test]
fn kl_14_the_dash_lamp_counts_for_almost_nothing() {
    let with = at("kl-14", "after the start");
    let mut job = stage("kl-14", "after the start");
    for entry in &mut job.entries {
        if let EntryBody::Start(start) = &mut entry.body {
            start.signs.retain(|s| s.sign != "lamp");
        }
    }
    let without = answer(&job);
    for cause in with.causes.iter().take(5) {
        let was = of(&without, &cause.cause);
        let moved = (100.0 * cause.chance - was).abs();
        holds!(with, moved, <, 6.0);
    }
}

#[test]
fn kl_14_a_dim_lamp_says_drop_in_the_feed() {
    let r = at("kl-14", "after the lamp");
    let feed = [
        "preheat_relay.burnt",
        "strip_joint.poor",
        "preheat_wiring.drop",
        "strip_fuse.open",
    ];
    holds!(r, sum(&r, &feed), >=, 80.0);
    // Nobody takes plugs out on this.
    for cylinder in 1..=4 {
        holds!(r, of(&r, &format!("plug.dead:{cylinder}")), <, 10.0);
    }
}

#[test]
fn kl_14_volts_lost_over_the_contacts_mean_the_relay() {
    let r = at("kl-14", "after the relay");
    holds!(r, of(&r, "preheat_relay.burnt"), >=, 90.0);
}

#[test]
fn kl_17_a_short_lamp_leads_to_sender_or_timer_before_plugs() {
    let r = at("kl-17", "after the start");
    assert_eq!(place(&r, "preheat_sender.reads_warm"), 1);
    assert_eq!(place(&r, "preheat_timer.short"), 2);
}

#[test]
fn kl_17_full_time_with_the_sender_off_means_the_sender() {
    let r = whole("kl-17");
    holds!(r, of(&r, "preheat_sender.reads_warm"), >=, 85.0);
}

#[test]
fn sm_07_with_preheat_unknown_every_kind_is_reckoned_with() {
    let r = whole("sm-07");
    let kinds = r.kinds.iter().map(|k| k.1.as_str()).collect::<Vec<_>>();
    assert!(
        kinds.contains(&"flame") && kinds.contains(&"plugs"),
        "{kinds:?}"
    );
    let all: f64 = r.kinds.iter().map(|k| k.2).sum();
    assert!((all - 1.0).abs() < 1e-9);
}

#[test]
fn sm_07_a_flame_heated_engine_has_no_plugs() {
    let r = whole("sm-07-flame");
    assert!(r.causes.iter().all(|c| c.part != "plug"));
    assert_eq!(place(&r, "flame_heater.dead"), 1);
}

#[test]
fn sm_07_with_a_flame_heater_it_is_the_heater() {
    let r = whole("sm-07-flame");
    holds!(r, of_part(&r, "flame_heater"), >=, 40.0);
    holds!(r, of_system(&r, "preheat"), >=, 40.0);
}
