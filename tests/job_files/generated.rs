//! Jobs at random, as the reader would have made them.

use hardstart::job::*;
use hardstart::units::{Dimension, Quantity};
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

use crate::generated_entries::entry;

/// A quantity typed in one of the ways people do.
pub fn quantity(dimension: Dimension, typed: &'static [&'static str]) -> BoxedStrategy<Quantity> {
    select(typed)
        .prop_map(move |t| Quantity::parse(t, dimension, None).unwrap().quantity)
        .boxed()
}

pub fn temperature() -> BoxedStrategy<Quantity> {
    quantity(
        Dimension::Temperature,
        &["-6 degC", "21 °F", "3,5 C", "-60 °C", "~ 0 °C"],
    )
}

pub fn duration() -> BoxedStrategy<Quantity> {
    quantity(
        Dimension::Time,
        &["12 h", "8\"4", "2'30", "0 s", "1 min 30 s", "15,1 s"],
    )
}

/// Any text, quotes, backslashes and control characters included.
pub fn text() -> BoxedStrategy<String> {
    prop_oneof![any::<String>(), "[a-z \"'\\\\\n\t\r#=]{0,12}"].boxed()
}

fn kept() -> BoxedStrategy<Kept> {
    let leaf = prop_oneof![
        text().prop_map(Kept::Text),
        any::<i64>().prop_map(Kept::Whole),
        // A number with a decimal part: a whole one would come back as whole.
        (-1e6..1e6f64).prop_map(|n| Kept::Number(n.trunc() + 0.5)),
        any::<bool>().prop_map(Kept::Truth),
    ];
    leaf.prop_recursive(3, 12, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..3).prop_map(Kept::List),
            prop::collection::btree_map(text(), inner, 0..3).prop_map(Kept::Table),
        ]
    })
    .boxed()
}

/// Unknown keys; the first letter keeps them from being known ones.
pub fn extra() -> BoxedStrategy<Extra> {
    prop::collection::btree_map(text().prop_map(|t| format!("X{t}")), kept(), 0..3).boxed()
}

pub fn cylinder() -> BoxedStrategy<u8> {
    (1..=4u8).boxed()
}

pub fn minutes() -> BoxedStrategy<f64> {
    prop_oneof![Just(25.0), 0.0..1e6f64].boxed()
}

fn engine() -> BoxedStrategy<Engine> {
    let words = (
        select(Chamber::ALL),
        select(PreheatKind::ALL),
        select(Wiring::ALL),
        select(PumpKind::ALL),
        select(CylinderOne::ALL),
    );
    let numbers = (
        // Not 6 V: the supplies of the readings below would be suspect there.
        of(select(&[12.0, 24.0, 13.5][..])),
        of(quantity(Dimension::Length, &["250000 km", "120 mi"])),
        of(quantity(Dimension::Time, &["8000 h"])),
        of(1900..2000u16),
        of(text()),
        of(select(&[11.0, 10.5, 5.0][..])),
        of(0.01..10.0f64),
    );
    (words, numbers, extra())
        .prop_map(|(w, n, extra)| Engine {
            cylinders: Some(4),
            chamber: w.0,
            preheat: w.1,
            preheat_wiring: w.2,
            pump: w.3,
            cylinder_one: w.4,
            system_volts: n.0,
            distance: n.1,
            hours: n.2,
            built: n.3,
            used_in: n.4,
            plug_rated_volts: n.5,
            plug_rated_ohms: n.6,
            plug_rated_amps: None,
            extra,
        })
        .boxed()
}

fn bench() -> BoxedStrategy<Bench> {
    let tools = prop::sample::subsequence(vec!["test_lamp", "multimeter", "stopwatch"], 0..=3)
        .prop_map(|t| t.into_iter().map(str::to_owned).collect());
    let cannot = (text(), extra()).prop_map(|(why, extra)| Cannot {
        check: "compression".to_owned(),
        why,
        extra,
    });
    let cannot = prop::collection::vec(cannot, 0..2);
    (
        of(prop::sample::select(Arrived::ALL)),
        of(tools),
        of(1..5u8),
        cannot,
        of(minutes()),
        of(minutes()),
        extra(),
    )
        .prop_map(
            |(arrived, tools, people, cannot, rate, night, extra)| Bench {
                arrived,
                tools,
                people,
                cannot,
                minute_rate: rate,
                plug_price: rate,
                night_minutes: night,
                break_factor: night,
                come_back_minutes: night,
                hand_over_minutes: None,
                extra,
            },
        )
        .boxed()
}

/// A job with anything in it.
pub fn job() -> BoxedStrategy<Job> {
    let entries = prop::collection::vec(entry(), 0..5);
    (text(), text(), engine(), bench(), entries, extra())
        .prop_map(|(job, complaint, engine, bench, entries, extra)| Job {
            engine,
            bench,
            entries,
            extra,
            ..Job::new(&job, &complaint)
        })
        .boxed()
}
