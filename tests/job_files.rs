//! Job files, good and bad: what is understood, and what is said where about what is not.

mod small_knowledge;

use hardstart::job::{
    Chamber, CylinderOne, EntryBody, Fact, Measured, PreheatKind, PumpKind, ReadingValue, Told,
    Wiring, read_toml,
};
use hardstart::units::{Cmp, Dimension};
use small_knowledge::small;

/// The example of the format, as people write it.
const EXAMPLE: &str = include_str!("../data/jobs/qm-031.toml");

/// Head of a job with four cylinders and twelve volts; entries begin on line 9.
const HEAD: &str = "schema = \"hardstart/job/1\"\njob = \"A\"\ncomplaint = \"c\"\n[engine]\n\
                    cylinders = 4\npreheat = \"plugs\"\nsystem_volts = 12\n\n";

#[test]
fn the_example_is_understood() {
    let parsed = read_toml(EXAMPLE, "qm-031.toml", &small()).unwrap();
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
        let parsed = read_toml(&text, "a.toml", &knowledge).unwrap_or_else(|e| panic!("{e}"));
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
        let job = read_toml(&text, "a.toml", &knowledge).unwrap().job;
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
    let job = read_toml(&text, "a.toml", &small()).unwrap().job;
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

/// Entries that are wrong: text, then line, column and words of the message and of the hint.
#[test]
fn every_bad_input_is_told_where_and_what_to_try() {
    let rows: &[(&str, usize, usize, &str, &str)] = &[
        (
            "reading.check = \"plug_glow_tme\"\nreading.cylinder = 1\nreading.value = \"8 s\"",
            10,
            17,
            "no check `plug_glow_tme`",
            "did you mean `plug_glow_time`?",
        ),
        (
            "reading.check = \"gearbox\"\nreading.value = \"8 s\"",
            10,
            17,
            "no check `gearbox`",
            "vocabulary",
        ),
        (
            "reading.check = \"plug_glow_time\"\nreading.cylinder = 1\nreading.value = \"8 V\"",
            12,
            20,
            "`V` measures voltage, but a time belongs here",
            "8.4 s",
        ),
        (
            "reading.check = \"plug_glow_time\"\nreading.cylinder = 1\nreading.value = 8",
            12,
            17,
            "the unit is missing",
            "write `8 s`",
        ),
        (
            "reading.check = \"plug_glow_time\"\nreading.cylinder = 1\nreading.value = \"bright\"",
            12,
            17,
            "`bright` is no result of `plug_glow_time`",
            "no_glow",
        ),
        (
            "reading.check = \"plug_glow_time\"\nreading.cylinder = 5\nreading.value = \"8 s\"",
            11,
            20,
            "cylinder 5 on an engine with 4",
            "from 1 to 4",
        ),
        (
            "reading.check = \"plug_glow_time\"\nreading.cylinder = 0\nreading.value = \"8 s\"",
            11,
            20,
            "cylinder 0",
            "from 1 to 4",
        ),
        (
            "reading.check = \"plug_glow_time\"\nreading.value = \"8 s\"",
            10,
            1,
            "`plug_glow_time` is for one cylinder",
            "reading.cylinder",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.cylinder = 2\nreading.value = \"dim\"",
            11,
            9,
            "`feed_lamp` is for the whole engine",
            "leave the cylinder out",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.value = \"drak\"",
            11,
            17,
            "`drak` is no state of `feed_lamp`",
            "one of: bright, dim, off",
        ),
        (
            "reading.check = \"feed_lamp\"",
            10,
            1,
            "`reading` has no `value`",
            "reading.value",
        ),
        (
            "reading.value = \"8 s\"",
            10,
            1,
            "`reading` has no `check`",
            "check",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.value = \"dim\"\nreading.trial = 0",
            12,
            17,
            "`trial` is 0",
            "from 1",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.value = \"dim\"\nreading.supply = \"> 12 V\"",
            12,
            18,
            "not a limit",
            "without",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.value = \"dim\"\nwork.repair = \"charge_battery\"",
            12,
            1,
            "`reading` and `work` in one entry",
            "new entry",
        ),
        (
            "start.engine_temperature = \"-80 degC\"",
            10,
            28,
            "outside -60 to 130",
            "°C or °F?",
        ),
        (
            "start.engine_temperature = \"-6\"",
            10,
            31,
            "the unit is missing",
            "-6 °C",
        ),
        (
            "start.air_temperature = -6",
            10,
            25,
            "a text with a unit belongs here",
            "-6 °C",
        ),
        ("start.soak = \"-2 h\"", 10, 14, "below nought", "minus"),
        (
            "start.smoke_cranking = \"purple\"",
            10,
            24,
            "`purple` is no state of `smoke_cranking`",
            "one of: none, thin, white",
        ),
        (
            "start.smoke_crankin = \"white\"",
            10,
            7,
            "no sign `smoke_crankin`",
            "did you mean `start.smoke_cranking`?",
        ),
        (
            "start.crank_time = \"6 V\"",
            10,
            23,
            "`V` measures voltage",
            "8.4 s",
        ),
        (
            "start.crank_time = \"soon\"",
            10,
            20,
            "`soon` is no state of `crank_time`",
            "a time such as `6 s`",
        ),
        (
            "start.crank_time = \"1,234 s\"",
            10,
            21,
            "can mean",
            "write",
        ),
        (
            "told.laid_up = \"perhaps\"",
            10,
            16,
            "`perhaps` is no state of `laid_up`",
            "one of: no, yes",
        ),
        (
            "told.recent_wrk = \"fuel\"",
            10,
            6,
            "no sign `recent_wrk`",
            "did you mean `told.recent_work`?",
        ),
        (
            "told.smoke = \"white\"\ntold.smoke_cranking = \"white\"",
            11,
            6,
            "`smoke_cranking` stands twice",
            "leave one",
        ),
        (
            "work.repair = \"replace_plgu\"\nwork.cylinder = 1",
            10,
            15,
            "no repair `replace_plgu`",
            "did you mean `replace_plug`?",
        ),
        (
            "work.repair = \"replace_plug\"",
            10,
            1,
            "`replace_plug` is for one cylinder",
            "work.cylinder",
        ),
        (
            "work.repair = \"charge_battery\"\nwork.minutes = -5",
            11,
            16,
            "`minutes` is -5",
            "from 0 up",
        ),
        (
            "finding.fault = \"plug.ded\"\nfinding.cylinder = 1",
            10,
            17,
            "no fault `plug.ded`",
            "did you mean `plug.dead`?",
        ),
        (
            "finding.fault = \"plug.dead:9\"",
            10,
            17,
            "`9` is no cylinder",
            "1 to 4",
        ),
        (
            "finding.fault = \"plug.dead\"\nfinding.cylinder = 1\nfinding.proof = \"sure\"",
            12,
            17,
            "`sure` is no state of `proof`",
            "shown, cured",
        ),
        (
            "cannot.check = \"compression\"",
            10,
            1,
            "`cannot` has no `reason`",
            "seized",
        ),
        (
            "mark.state = \"finished\"",
            10,
            14,
            "`finished` is no state of `state`",
            "done",
        ),
        (
            "opinion.cylinder = 1",
            10,
            1,
            "`opinion` has no `text`",
            "opinion.text",
        ),
        (
            "redaing.check = \"compression\"",
            10,
            1,
            "an entry cannot hold `redaing`",
            "did you mean `reading`?",
        ),
        (
            "by = \"b2\"",
            9,
            1,
            "the entry says nothing",
            "one of: told",
        ),
        (
            "note = \"n\"\nat = \"yesterday\"",
            11,
            6,
            "`yesterday` is no date",
            "2025-01-14",
        ),
        (
            "note = \"n\"\nsure = \"very\"",
            11,
            8,
            "`very` is no state of `sure`",
            "sure, fair, unsure",
        ),
    ];
    let knowledge = small();
    for (entry, line, column, what, try_) in rows {
        let text = format!("{HEAD}[[entry]]\n{entry}\n");
        let errors = read_toml(&text, "a.toml", &knowledge).expect_err(entry);
        assert_eq!(errors.problems.len(), 1, "{entry}\n{errors}");
        let p = &errors.problems[0];
        assert!(p.what.contains(what), "{entry}\n{errors}");
        assert!(p.try_.contains(try_), "{entry}\n{errors}");
        assert_eq!((p.line, p.column), (*line, *column), "{entry}\n{errors}");
    }
}
