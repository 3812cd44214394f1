//! Good entries: what is understood.

use crate::small::small;
use crate::{EXAMPLE, HEAD};
use hardstart::job::{
    Chamber, CylinderOne, EntryBody, Fact, Measured, PreheatKind, PumpKind, ReadingValue, Told,
    Wiring, read_toml,
};
use hardstart::units::{Cmp, Dimension};

#[test]
fn the_example_is_understood() {
    let parsed = read_toml(EXAMPLE, "qm-031.toml", small()).unwrap();
    assert_eq!(parsed.notes, []);
    let job = parsed.job;
    assert_eq!((job.job.as_str(), job.entries.len()), ("QM-031", 5));
    assert_eq!(job.engine.cylinders, Some(4));
    assert_eq!(job.engine.chamber, Chamber::Swirl);
    assert_eq!(job.engine.preheat, PreheatKind::Plugs);
    assert_eq!(job.engine.preheat_wiring, Wiring::Strip);
    assert_eq!(job.engine.pump, PumpKind::Rotary);
    assert_eq!(job.engine.system_volts, Some(12.0));
    assert_eq!(job.engine.cylinder_one, CylinderOne::PulleyEnd);
    assert_eq!(job.bench.people, Some(1));
    assert_eq!(job.bench.tools.unwrap().len(), 3);

    let EntryBody::Told(told) = &job.entries[0].body else {
        panic!("{:?}", job.entries[0])
    };
    let [Told::Sign(since)] = told.as_slice() else {
        panic!("{told:?}")
    };
    assert_eq!(
        (since.sign.as_str(), since.value.state()),
        ("since", Some("first_frost"))
    );

    let EntryBody::Start(start) = &job.entries[1].body else {
        panic!("{:?}", job.entries[1])
    };
    let cold = start.engine_temperature.as_ref().unwrap();
    assert_eq!((cold.value, cold.dimension), (-6.0, Dimension::Temperature));
    assert_eq!(start.soak.as_ref().unwrap().value, 12.0 * 3600.0);
    let signs: Vec<&str> = start.signs.iter().map(|s| s.sign.as_str()).collect();
    assert_eq!(signs, ["crank_time", "smoke_cranking", "miss"]);
    assert_eq!(start.signs[0].value.number().unwrap().quantity.value, 6.0);
    assert_eq!(start.signs[1].value.state(), Some("white"));

    let EntryBody::Reading(glow) = &job.entries[3].body else {
        panic!("{:?}", job.entries[3])
    };
    assert_eq!((glow.cylinder, glow.trial), (Some(3), Some(1)));
    assert_eq!(glow.value.number().unwrap().quantity.value, 15.1);
    assert_eq!(glow.typed, "15,1 s");
    assert_eq!(glow.supply.as_ref().unwrap().value, 12.2);

    let EntryBody::Work(work) = &job.entries[4].body else {
        panic!("{:?}", job.entries[4])
    };
    assert_eq!(
        (work.repair.as_str(), work.cylinder),
        ("replace_plug", Some(2))
    );
    assert_eq!(work.minutes, Some(25.0));
    assert_eq!(job.entries[4].position.unwrap().line, 32);
}

/// What each way of writing a result is read as: check, cylinder, typed, state, number.
#[test]
fn results_are_understood_as_typed() {
    let rows = [
        ("plug_glow_time", 1, "\"15,1 s\"", "measured", Some(15.1)),
        ("plug_glow_time", 1, "\"8\\\"4\"", "measured", Some(8.4)),
        ("plug_glow_time", 1, "\"> 60 s\"", "measured", Some(60.0)),
        ("plug_glow_time", 1, "\"no glow\"", "measured", None),
        ("plug_glow_time", 1, "\"OL\"", "measured", None),
        ("Glow time", 1, "\"9 s\"", "measured", Some(9.0)),
        ("plug_current_total", 0, "\"27 A\"", "measured", Some(27.0)),
        ("plug_current_total", 0, "\"OL\"", "no_reading", None),
        (
            "compression",
            2,
            "\"400 psi\"",
            "measured",
            Some(27.579029172673),
        ),
        ("compression", 2, "\"looked normal\"", "judged_normal", None),
        ("compression", 2, "\"ok\"", "judged_normal", None),
        ("compression", 2, "\"not tested\"", "not_tested", None),
        ("compression", 2, "\"NT\"", "not_tested", None),
        (
            "compression",
            2,
            "\"could_not_test\"",
            "could_not_test",
            None,
        ),
        ("compression", 2, "\"NR\"", "no_reading", None),
        ("compression", 2, "\"NA\"", "not_recorded", None),
        ("compression", 2, "\"unreadable\"", "unreadable", None),
        ("feed_lamp", 0, "\"Dim\"", "measured", None),
    ];
    let knowledge = small();
    for (check, cylinder, typed, state, number) in rows {
        let mut text =
            format!("{HEAD}[[entry]]\nreading.check = \"{check}\"\nreading.value = {typed}\n");
        if cylinder > 0 {
            text.push_str(&format!("reading.cylinder = {cylinder}\n"));
        }
        let parsed = read_toml(&text, "a.toml", knowledge).unwrap_or_else(|e| panic!("{e}"));
        let EntryBody::Reading(reading) = &parsed.job.entries[0].body else {
            panic!("{typed}")
        };
        assert_eq!(reading.value.state_id(), state, "{typed}");
        let value = reading.value.number().map(|n| n.quantity.value);
        match (value, number) {
            (Some(value), Some(number)) => assert!((value - number).abs() < 1e-9, "{typed}"),
            (value, number) => assert_eq!(value, number, "{typed}"),
        }
    }
}

#[test]
fn off_scale_limits_and_bands_stay_apart() {
    let knowledge = small();
    let value = |text: &str| {
        let text = format!(
            "{HEAD}[[entry]]\nreading = {{ check = \"plug_glow_time\", cylinder = 1, value = \"{text}\" }}\n"
        );
        let job = read_toml(&text, "a.toml", knowledge).unwrap().job;
        match &job.entries[0].body {
            EntryBody::Reading(r) => r.value.clone(),
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(
        value("no glow"),
        ReadingValue::Measured(Measured::OffScale("no_glow".to_owned()))
    );
    assert_eq!(value("> 60 s").number().unwrap().cmp, Cmp::Above);
    assert_eq!(value("< 3 s").number().unwrap().cmp, Cmp::Below);
    assert_eq!(value("~ 8 s").number().unwrap().cmp, Cmp::About);
}

#[test]
fn facts_and_signs_are_told_in_one_entry() {
    let text = format!(
        "{HEAD}[[entry]]\ntold.recent_work = \"fuel\"\ntold.plugs_renewed = true\ntold.oil_use = \"high\"\n\
         told.crank_time = \"14,5 s\"\n"
    );
    let job = read_toml(&text, "a.toml", small()).unwrap().job;
    let EntryBody::Told(told) = &job.entries[0].body else {
        panic!()
    };
    assert_eq!(told.len(), 4);
    assert!(
        matches!(&told[0], Told::Fact { fact: Fact::RecentWork, state, .. } if state == "fuel")
    );
    assert!(
        matches!(&told[1], Told::Fact { fact: Fact::PlugsRenewed, state, .. } if state == "yes")
    );
    assert!(matches!(&told[3], Told::Sign(s) if s.value.number().unwrap().quantity.value == 14.5));
}

#[test]
fn the_example_is_understood_with_the_knowledge_that_is_built_in() {
    let files = hardstart::knowledge::KnowledgeFiles::built_in();
    let knowledge = hardstart::knowledge::load(&files).unwrap_or_else(|e| panic!("{e}"));
    let parsed = read_toml(EXAMPLE, "qm-031.toml", &knowledge).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(parsed.notes, []);
    assert_eq!(parsed.job.entries.len(), 5);
}

/// A sound set read as unfed with the clamp the wrong way round; volts, leads and seconds of nought
/// were used without a word; a fault of two cylinders was thrown out with an absurd hint.
#[test]
fn readings_that_cannot_be_are_kept_and_not_used() {
    let suspect = |entry: &str| {
        let text = format!(
            "schema = \"hardstart/job/1\"\njob = \"a\"\ncomplaint = \"c\"\nengine = {{ cylinders = 4, system_volts = 12 }}\n\
             [[entry]]\nreading = {{ {entry} }}\n"
        );
        let knowledge = built_in();
        let job = read_toml(&text, "a", &knowledge)
            .unwrap_or_else(|e| panic!("{e}"))
            .job;
        let EntryBody::Reading(reading) = &job.entries[0].body else {
            panic!("no reading")
        };
        reading.suspect.clone().unwrap_or_default()
    };
    let plug = "check = \"plug_current\", cylinder = 1";
    let turned = suspect(&format!("{plug}, value = \"-12.4 A\""));
    assert!(turned.contains("the other way round"), "{turned}");
    assert_eq!(suspect(&format!("{plug}, value = \"12.4 A\"")), "");
    let ohms = "check = \"plug_ohms\", cylinder = 1, value = \"0.5 ohm\"";
    assert!(suspect(&format!("{ohms}, leads = \"0.6 ohm\"")).contains("less than the leads"));
    assert_eq!(suspect(&format!("{ohms}, leads = \"0.2 ohm\"")), "");
    let timed = "check = \"plug_glow_time\", cylinder = 1";
    assert_ne!(suspect(&format!("{timed}, value = \"0 s\"")), "");
    assert_ne!(
        suspect(&format!("{timed}, value = \"9 s\", supply = \"0 V\"")),
        ""
    );
    assert_eq!(
        suspect(&format!("{timed}, value = \"9 s\", supply = \"11.8 V\"")),
        ""
    );
}

#[test]
fn a_fault_names_its_cylinder_once() {
    let read = |finding: &str| {
        let text = format!(
            "schema = \"hardstart/job/1\"\njob = \"a\"\ncomplaint = \"c\"\n[[entry]]\nfinding = {{ {finding} }}\n"
        );
        read_toml(&text, "a", &built_in()).map(|p| p.notes.len())
    };
    assert_eq!(read("fault = \"plug.dead:2\""), Ok(0));
    assert_eq!(read("fault = \"plug.dead\", cylinder = 2"), Ok(0));
    assert_eq!(read("fault = \"plug.dead:2\", cylinder = 2"), Ok(0));
    let errors = read("fault = \"plug.dead:1\", cylinder = 2").unwrap_err();
    assert!(
        errors.summary().contains("names cylinder 1"),
        "{}",
        errors.summary()
    );
}

fn built_in() -> hardstart::knowledge::Knowledge {
    use hardstart::knowledge::{KnowledgeFiles, load};
    load(&KnowledgeFiles::built_in()).expect("the built-in files pass")
}
