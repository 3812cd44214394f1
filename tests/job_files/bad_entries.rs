//! Bad entries: what is said about them, and where.

use hardstart::job::read_toml;

use crate::HEAD;
use crate::small::small;

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
        let errors = read_toml(&text, "a.toml", knowledge).expect_err(entry);
        assert_eq!(errors.problems.len(), 1, "{entry}\n{errors}");
        let p = &errors.problems[0];
        assert!(p.what.contains(what), "{entry}\n{errors}");
        assert!(p.try_.contains(try_), "{entry}\n{errors}");
        assert_eq!((p.line, p.column), (*line, *column), "{entry}\n{errors}");
    }
}
