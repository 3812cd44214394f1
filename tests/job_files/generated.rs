//! Jobs at random, as the reader would have made them.

use hardstart::job::*;
use hardstart::units::{Dimension, Quantity};
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

/// A quantity typed in one of the ways people do.
fn quantity(dimension: Dimension, typed: &'static [&'static str]) -> BoxedStrategy<Quantity> {
    select(typed)
        .prop_map(move |t| Quantity::parse(t, dimension, None).unwrap().quantity)
        .boxed()
}

fn temperature() -> BoxedStrategy<Quantity> {
    quantity(
        Dimension::Temperature,
        &["-6 degC", "21 °F", "3,5 C", "-60 °C", "~ 0 °C"],
    )
}

fn duration() -> BoxedStrategy<Quantity> {
    quantity(
        Dimension::Time,
        &["12 h", "8\"4", "2'30", "0 s", "1 min 30 s", "15,1 s"],
    )
}

/// Any text, quotes, backslashes and control characters included.
fn text() -> BoxedStrategy<String> {
    prop_oneof![any::<String>(), "[a-z \"'\\\\\n\t\r#=]{0,12}"].boxed()
}

fn measured(dimension: Dimension, typed: &str) -> ReadingValue {
    let number = Quantity::parse(typed, dimension, None).unwrap();
    ReadingValue::Measured(Measured::Number(number))
}

fn absent() -> BoxedStrategy<(ReadingValue, String)> {
    select(Absent::ALL)
        .prop_map(|a| (a.into(), a.id().to_owned()))
        .boxed()
}

fn state(states: &'static [&'static str]) -> BoxedStrategy<(ReadingValue, String)> {
    let value = |s: &str| ReadingValue::Measured(Measured::State(s.to_owned()));
    select(states)
        .prop_map(move |s| (value(s), s.to_owned()))
        .boxed()
}

fn number(
    dimension: Dimension,
    typed: &'static [&'static str],
) -> BoxedStrategy<(ReadingValue, String)> {
    select(typed)
        .prop_map(move |t| (measured(dimension, t), t.to_owned()))
        .boxed()
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
fn extra() -> BoxedStrategy<Extra> {
    prop::collection::btree_map(text().prop_map(|t| format!("X{t}")), kept(), 0..3).boxed()
}

fn cylinder() -> BoxedStrategy<u8> {
    (1..=4u8).boxed()
}

fn minutes() -> BoxedStrategy<f64> {
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
        of(select(&[6.0, 12.0, 24.0, 13.5][..])),
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
        of(tools),
        of(1..5u8),
        cannot,
        of(minutes()),
        of(minutes()),
        extra(),
    )
        .prop_map(|(tools, people, cannot, rate, night, extra)| Bench {
            tools,
            people,
            cannot,
            minute_rate: rate,
            plug_price: rate,
            night_minutes: night,
            come_back_minutes: night,
            hand_over_minutes: None,
            extra,
        })
        .boxed()
}

fn seen(id: &'static str, value: BoxedStrategy<(ReadingValue, String)>) -> BoxedStrategy<SeenSign> {
    prop_oneof![value, absent()]
        .prop_map(move |(value, typed)| SeenSign {
            sign: id.to_owned(),
            value,
            typed,
            suspect: None,
        })
        .boxed()
}

fn signs() -> BoxedStrategy<Vec<SeenSign>> {
    let seconds = number(Dimension::Time, &["6 s", "14,5 s", "> 30 s"]);
    let crank = prop_oneof![state(&["under_3", "no_start"]), seconds].boxed();
    (
        of(seen("crank_time", crank)),
        of(seen("smoke_cranking", state(&["none", "white"]))),
        of(seen("oil_use", state(&["normal", "high"]))),
    )
        .prop_map(|(a, b, c)| a.into_iter().chain(b).chain(c).collect())
        .boxed()
}

fn told() -> BoxedStrategy<EntryBody> {
    let fact = select(Fact::ALL).prop_map(|fact| {
        let state = fact.states()[0].to_owned();
        let typed = state.clone();
        Told::Fact { fact, state, typed }
    });
    (fact, signs())
        .prop_map(|(fact, signs)| {
            let signs = signs.into_iter().map(Told::Sign);
            EntryBody::Told(std::iter::once(fact).chain(signs).collect())
        })
        .boxed()
}

fn start() -> BoxedStrategy<EntryBody> {
    let times = (of(duration()), of(duration()));
    let flags = (any::<bool>(), any::<bool>(), of(any::<bool>()));
    let judged = (of(1..9u8), of(select(StartResult::ALL)));
    // A start with nothing at all would have no key to be written under.
    (
        temperature(),
        of(temperature()),
        times,
        signs(),
        flags,
        judged,
    )
        .prop_map(|(engine, air, times, signs, flags, judged)| {
            EntryBody::Start(Start {
                engine_temperature: Some(engine),
                air_temperature: air,
                soak: times.0,
                preheat: times.1,
                signs,
                primed: flags.0,
                heated: flags.1,
                after_work: flags.2,
                tries: judged.0,
                result: judged.1,
            })
        })
        .boxed()
}

fn reading() -> BoxedStrategy<EntryBody> {
    let off = ReadingValue::Measured(Measured::OffScale("no_glow".to_owned()));
    let glow = prop_oneof![
        number(
            Dimension::Time,
            &["15,1 s", "8\"4", "> 60 s", "< 3 s", "~ 8 s"]
        ),
        Just((off, "no_glow".to_owned())),
        absent(),
    ];
    let glow = (glow, of(cylinder()).prop_map(|c| c.or(Some(1))));
    let lamp = (state(&["bright", "dim", "off"]), Just(None));
    let what = prop_oneof![
        glow.prop_map(|(value, cylinder)| ("plug_glow_time", value, cylinder)),
        lamp.prop_map(|(value, cylinder)| ("feed_lamp", value, cylinder)),
    ];
    let supply = quantity(Dimension::Voltage, &["12.2 V", "11,9 V"]);
    let leads = quantity(Dimension::Resistance, &["0R2", "0,3 ohm"]);
    (
        what,
        of(supply),
        of(duration()),
        of(leads),
        of(text()),
        of(text()),
        any::<bool>(),
    )
        .prop_map(
            |((check, value, cylinder), supply, rest, leads, tool, why_not, confirmed)| {
                EntryBody::Reading(Reading {
                    check: check.to_owned(),
                    cylinder,
                    trial: None,
                    value: value.0,
                    typed: value.1,
                    supply,
                    rest,
                    leads,
                    tool,
                    why_not,
                    suspect: None,
                    confirmed,
                })
            },
        )
        .boxed()
}

fn others() -> BoxedStrategy<EntryBody> {
    let work = (cylinder(), of(minutes()), of(minutes())).prop_map(|(cylinder, minutes, cost)| {
        EntryBody::Work(Work {
            repair: "replace_plug".to_owned(),
            cylinder: Some(cylinder),
            minutes,
            parts_cost: cost,
        })
    });
    let opinion = (text(), any::<bool>()).prop_map(|(text, named)| {
        EntryBody::Opinion(Opinion {
            text: Some(text),
            fault: named.then(|| "plug.dead".to_owned()),
            cylinder: Some(2),
        })
    });
    let cannot = (of(cylinder()), text()).prop_map(|(cylinder, reason)| {
        EntryBody::CannotDo(CannotDo {
            check: "compression".to_owned(),
            cylinder,
            reason,
        })
    });
    let finding = (cylinder(), of(select(Proof::ALL))).prop_map(|(cylinder, proof)| {
        EntryBody::Finding(Finding {
            fault: "plug.dead".to_owned(),
            cylinder: Some(cylinder),
            proof,
        })
    });
    let mark = select(Mark::ALL).prop_map(EntryBody::Mark);
    prop_oneof![work, opinion, cannot, finding, mark, Just(EntryBody::Note)].boxed()
}

fn entry() -> BoxedStrategy<Entry> {
    let body = prop_oneof![told(), start(), reading(), others()];
    let at = select(&["2025-01-14T07:40:00+01:00", "2025-01-14T07:40:00"][..]);
    (
        body,
        of(at),
        of(text()),
        of(select(Sure::ALL)),
        text(),
        of(text()),
        extra(),
        extra(),
    )
        .prop_map(|(body, at, by, sure, note, set_aside, mut extra, within)| {
            // Signs and told things have no unknown keys: an unknown sign is a problem.
            let name = match &body {
                EntryBody::Reading(_) => Some("reading"),
                EntryBody::Work(_) => Some("work"),
                _ => None,
            };
            if let Some(name) = name.filter(|_| !within.is_empty()) {
                extra.insert(name.to_owned(), Kept::Table(within));
            }
            Entry {
                body,
                at: at.map(str::to_owned),
                by,
                sure,
                note: Some(note),
                set_aside,
                extra,
                position: None,
            }
        })
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
