//! Entries at random, as the reader would have made them.

use hardstart::job::*;
use hardstart::units::{Dimension, Quantity};
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

use crate::generated::{cylinder, duration, extra, minutes, quantity, temperature, text};

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
    (
        of(temperature()),
        of(temperature()),
        times,
        signs(),
        flags,
        judged,
    )
        .prop_map(|(engine, air, times, signs, flags, judged)| {
            EntryBody::Start(Start {
                engine_temperature: engine,
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
        of(select(
            &[
                Repeat::AsItIs,
                Repeat::ContactRemade,
                Repeat::OtherMeter,
                Repeat::Swapped,
            ][..],
        )),
    )
        .prop_map(
            |((check, value, cylinder), supply, rest, leads, tool, why_not, confirmed, repeat)| {
                EntryBody::Reading(Reading {
                    check: check.to_owned(),
                    cylinder,
                    trial: None,
                    repeat,
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
    let later = of(cylinder()).prop_map(|cylinder| {
        EntryBody::Later(Later {
            check: "compression".to_owned(),
            cylinder,
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
    prop_oneof![
        work,
        opinion,
        cannot,
        later,
        finding,
        mark,
        Just(EntryBody::Note)
    ]
    .boxed()
}

/// One entry of any kind.
pub fn entry() -> BoxedStrategy<Entry> {
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
                withdrawn: None,
                extra,
                position: None,
            }
        })
        .boxed()
}
