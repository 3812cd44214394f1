//! Minutes and cost of repairs are the middle of what the trade takes.
//!
//! `data/trade_faults.csv` gives a span of minutes and of the parts index for each fault code.
//! Minutes of a repair and of the access it names, together, are the middle of that span.

use std::collections::{BTreeMap, BTreeSet};

use toml::Value;

/// Fault code = the repair that is the trade's own remedy.
const REMEDY: &[(&str, &str)] = &[
    ("P01", "replace_plug"),
    ("P02", "replace_plug"),
    ("P03", "replace_plug_set"),
    ("P04", "ream_plug_hole"),
    ("P05", "clean_plug_joint"),
    ("P05", "clean_strip_joint"),
    ("P06", "replace_preheat_relay"),
    ("P07", "replace_preheat_timer"),
    ("P08", "replace_preheat_sender"),
    ("P09", "replace_strip_fuse"),
    ("P10", "renew_preheat_wiring"),
    ("P12", "replace_stuck_relay"),
    ("P13", "mend_series_chain"),
    ("P14", "mend_intake_grid"),
    ("P15", "mend_flame_heater"),
    ("P16", "mend_start_feed"),
    ("C01", "charge_battery"),
    ("C02", "replace_battery"),
    ("C03", "renew_crank_lead"),
    ("C04", "renew_engine_earth"),
    ("C05", "replace_starter"),
    ("C06", "change_oil"),
    ("L01", "mend_suction_leak"),
    ("L02", "mend_drain_back"),
    ("L03", "replace_fuel_filter"),
    ("L04", "warm_and_thin_fuel"),
    ("L05", "drain_water"),
    ("L06", "replace_feed_pump"),
    ("L07", "mend_stop_control"),
    ("L08", "clear_tank_pickup"),
    ("L09", "change_fuel"),
    ("L10", "clear_fuel_return"),
    ("N01", "exchange_injector"),
    ("N02", "reset_opening_pressure"),
    ("N03", "replace_nozzle"),
    ("N05", "renew_injector_seats"),
    ("N06", "renew_injector_bodies"),
    ("N07", "replace_injector_line"),
    ("I01", "set_injection_timing"),
    ("I02", "set_injection_timing"),
    ("I03", "mend_cold_advance"),
    ("I05", "exchange_injection_pump"),
    ("I06", "replace_delivery_valve"),
    ("I07", "free_rack"),
    ("M01", "overhaul_engine"),
    ("M02", "free_stuck_rings"),
    ("M03", "overhaul_one_cylinder"),
    ("M04", "grind_valves"),
    ("M05", "adjust_valves"),
    ("M06", "renew_head_gasket"),
    ("M07", "reset_cam_drive"),
    ("A01", "clean_air_filter"),
    ("A02", "free_intake_flap"),
    ("A03", "mend_exhaust_return"),
    ("A04", "clear_exhaust"),
    ("A05", "mend_boost_hoses"),
    ("A06", "mend_warm_up"),
    ("O01", "show_routine"),
];

/// Codes without a remedy of their own, and why.
const NO_REMEDY: &[(&str, &str)] = &[
    ("P11", "one part with C04"),
    ("N04", "an exchange injector, as for N01"),
    ("I04", "the trade states no minutes, only bench work"),
];

fn file(name: &str) -> Value {
    let text = std::fs::read_to_string(format!("priors/{name}")).expect(name);
    toml::from_str(&text).expect("TOML")
}

fn by_id(list: &Value) -> BTreeMap<&str, &Value> {
    let list = list.as_array().expect("list");
    list.iter()
        .filter_map(|v| Some((v["id"].as_str()?, v)))
        .collect()
}

/// Everything that must be open for this group, itself included.
fn open<'a>(id: &'a str, access: &BTreeMap<&'a str, &'a Value>, into: &mut BTreeSet<&'a str>) {
    if into.insert(id) {
        let after = access[id].get("after").and_then(Value::as_array);
        for before in after.into_iter().flatten().filter_map(Value::as_str) {
            open(before, access, into);
        }
    }
}

#[test]
fn minutes_and_cost_are_the_middle_of_the_trade() {
    let (checks, repairs) = (file("checks.toml"), file("repairs.toml"));
    let access = by_id(&checks["access"]);
    let repairs = by_id(&repairs["repair"]);
    let mut reader = csv::Reader::from_path("data/trade_faults.csv").expect("trade_faults.csv");
    let mut codes = BTreeSet::new();
    for record in reader.records() {
        let record = record.expect("record");
        let number = |i: usize| record[i].parse::<f64>().ok();
        let code = record[1].to_owned();
        for (_, id) in REMEDY.iter().filter(|(c, _)| *c == code) {
            let repair = repairs.get(id).unwrap_or_else(|| panic!("no repair {id}"));
            let mut opened = BTreeSet::new();
            let own = repair.get("access").and_then(Value::as_array);
            for group in own.into_iter().flatten().filter_map(Value::as_str) {
                open(group, &access, &mut opened);
            }
            let minutes = |v: &Value| v["minutes"].as_float().expect("minutes");
            let total: f64 =
                minutes(repair) + opened.iter().map(|g| minutes(access[g])).sum::<f64>();
            let (low, high) = (number(7).expect("low"), number(8).expect("high"));
            assert!(
                (total - (low + high) / 2.0).abs() < 1e-9,
                "{code} {id}: {total}"
            );
            let (low, high) = (number(9).expect("low"), number(10).expect("high"));
            let cost = repair["parts_cost"].as_float().expect("cost");
            assert!(
                (cost - (low + high) / 2.0).abs() < 1e-9,
                "{code} {id}: {cost}"
            );
        }
        codes.insert(code);
    }
    for code in &codes {
        let known =
            REMEDY.iter().any(|(c, _)| c == code) || NO_REMEDY.iter().any(|(c, _)| c == code);
        assert!(known, "{code} has no remedy");
    }
    assert_eq!(codes.len(), 60, "the trade lists sixty faults");
}

#[test]
fn heavy_repairs_want_two_agreeing_checks() {
    // The trade asks two agreeing checks for repairs over 300 minutes, and before any pump.
    let repairs = file("repairs.toml");
    for (id, repair) in by_id(&repairs["repair"]) {
        let minutes = repair["minutes"].as_float().expect("minutes");
        let wanted = repair.get("wants_checks").and_then(Value::as_integer);
        if minutes > 300.0 || id == "exchange_injection_pump" {
            assert_eq!(wanted, Some(2), "{id}");
        }
    }
}
