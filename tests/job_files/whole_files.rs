//! Whole files: what is missing or wrong outside the entries, several problems at once,
//! and notes.

use hardstart::job::read_toml;

use crate::small::small;
use crate::{EXAMPLE, HEAD};

/// Files that are wrong: text, then line, column, path and words of message and hint.
#[test]
fn every_bad_file_is_told_where_and_what_to_try() {
    const START: &str = "schema = \"hardstart/job/1\"\njob = \"A\"\ncomplaint = \"c\"\n";
    let rows: &[(&str, usize, usize, &str, &str, &str)] = &[
        (
            "[engine]\ncylinders = 13",
            5,
            13,
            "engine.cylinders",
            "`cylinders` is 13",
            "1 to 12",
        ),
        (
            "[engine]\ncylinders = \"four\"",
            5,
            13,
            "engine.cylinders",
            "is a text",
            "1",
        ),
        (
            "[engine]\nchamber = \"swril\"",
            5,
            11,
            "engine.chamber",
            "`swril`",
            "did you mean `swirl`?",
        ),
        (
            "[engine]\nsystem_volts = 1200",
            5,
            16,
            "engine.system_volts",
            "1200 V",
            "6, 12 or 24",
        ),
        (
            "[engine]\ndistance = \"300\"",
            5,
            16,
            "engine.distance",
            "unit is missing",
            "300 mm",
        ),
        (
            "[engine]\nplug_rated_volts = 0",
            5,
            20,
            "engine.plug_rated_volts",
            "is 0",
            "above 0",
        ),
        (
            "[engine]\nbuilt = 12",
            5,
            9,
            "engine.built",
            "`built` is 12",
            "1890 to 2100",
        ),
        (
            "[bench]\ntools = [\"stopwach\"]",
            5,
            10,
            "bench.tools[0]",
            "no tool `stopwach`",
            "`stopwatch`?",
        ),
        (
            "[bench]\ntools = \"stopwatch\"",
            5,
            9,
            "bench.tools",
            "a list belongs here",
            "[...]",
        ),
        (
            "[bench]\npeople = 0",
            5,
            10,
            "bench.people",
            "`people` is 0",
            "from 1",
        ),
        (
            "[bench]\ncannot = [{ check = \"compression\" }]",
            5,
            11,
            "bench.cannot[0]",
            "no `why`",
            "no tool",
        ),
        (
            "[bench]\nnight_minutes = \"long\"",
            5,
            17,
            "bench.night_minutes",
            "is a text",
            "12",
        ),
        ("entry = 3", 4, 9, "entry", "a list belongs here", "[...]"),
        (
            "[engine\ncylinders = 4",
            4,
            8,
            "",
            "",
            "format of job files",
        ),
    ];
    let knowledge = small();
    for (rest, line, column, path, what, try_) in rows {
        let errors = read_toml(&format!("{START}{rest}\n"), "a.toml", knowledge).expect_err(rest);
        let p = &errors.problems[0];
        assert!(p.what.contains(what), "{rest}\n{errors}");
        assert!(p.try_.contains(try_), "{rest}\n{errors}");
        assert_eq!((p.line, p.column), (*line, *column), "{rest}\n{errors}");
        assert!(p.path.starts_with(path), "{rest}\n{}", p.path);
    }
}

#[test]
fn what_every_job_needs_is_asked_for() {
    let errors = read_toml("", "a.toml", small()).unwrap_err();
    let whats: Vec<&str> = errors.problems.iter().map(|p| p.what.as_str()).collect();
    assert_eq!(
        whats,
        [
            "`schema` is missing",
            "`job` is missing",
            "`complaint` is missing"
        ]
    );
    let text = EXAMPLE.replace("job/1", "job/9");
    let errors = read_toml(&text, "a.toml", small()).unwrap_err();
    assert_eq!(
        errors.problems[0].what,
        "schema `hardstart/job/9` is not known"
    );
}

#[test]
fn all_problems_are_told_at_once_in_the_order_of_the_file() {
    let text = format!(
        "{HEAD}[[entry]]\nwork.repair = \"nothing\"\n[[entry]]\nreading.check = \"compression\"\n\
         reading.cylinder = 9\nreading.value = \"28 V\"\nreading.supply = \"12\"\n"
    );
    let errors = read_toml(&text, "a.toml", small()).unwrap_err();
    let lines: Vec<usize> = errors.problems.iter().map(|p| p.line).collect();
    assert_eq!(lines, [10, 13, 14, 15], "{errors}");
    let drawn = errors.render(&text);
    assert!(drawn.contains("a.toml:13:20"), "{drawn}");
    assert!(
        drawn.contains("help: write a cylinder from 1 to 4"),
        "{drawn}"
    );
}

#[test]
fn a_trial_number_stands_once_in_a_series() {
    let trial = |n: u8| {
        format!(
            "[[entry]]\nreading = {{ check = \"plug_glow_time\", cylinder = 1, trial = {n}, value = \"8 s\" }}\n"
        )
    };
    let knowledge = small();
    let twice = format!("{HEAD}{}{}", trial(1), trial(1));
    let errors = read_toml(&twice, "a.toml", knowledge).unwrap_err();
    assert_eq!(errors.problems.len(), 1);
    assert!(
        errors.problems[0].what.contains("first on line 9"),
        "{errors}"
    );
    assert_eq!(errors.problems[0].path, "entry[1].reading.trial");
    let work = "[[entry]]\nwork = { repair = \"replace_plug\", cylinder = 1 }\n";
    let renewed = format!("{HEAD}{}{work}{}", trial(1), trial(1));
    assert!(read_toml(&renewed, "a.toml", knowledge).is_ok());
    assert!(
        read_toml(
            &format!("{HEAD}{}{}", trial(1), trial(2)),
            "a.toml",
            knowledge
        )
        .is_ok()
    );
}

/// Text of an entry, code of the note and words of it.
#[test]
fn what_was_assumed_is_noted_beside_the_job() {
    let rows = [
        (
            "colour = 3\nnote = \"n\"",
            "UNKNOWN_KEY",
            "`colour` in `entry` is not known",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.value = \"dim\"\nreading.trail = 1",
            "UNKNOWN_KEY",
            "did you mean `trial`?",
        ),
        (
            "reading.check = \"battery_rest_volts\"\nreading.value = \"126 V\"",
            "OUT_OF_WINDOW",
            "126 V is outside 0 to 16.2 V",
        ),
        (
            "reading.check = \"feed_lamp\"\nreading.value = \"dim\"\nreading.supply = \"122 V\"",
            "OUT_OF_WINDOW",
            "122 V is outside 3 to 16.2 V",
        ),
        (
            "start.crank_time = \"3 h\"",
            "OUT_OF_WINDOW",
            "3 h is outside",
        ),
        (
            "start.smoke = \"thin\"",
            "WORD_READ_AS",
            "`smoke` is read as `smoke_cranking`",
        ),
        (
            "start.smoke_cranking = \"Weiß\"",
            "WORD_READ_AS",
            "`Weiß` is read as `white`",
        ),
        (
            "reading.check = \"plug_current_total\"\nreading.value = \"OL\"",
            "NO_RESULT_OFF_SCALE",
            "read as no reading",
        ),
    ];
    let knowledge = small();
    for (entry, code, words) in rows {
        let text = format!("{HEAD}[[entry]]\n{entry}\n");
        let parsed = read_toml(&text, "a.toml", knowledge).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(parsed.notes.len(), 1, "{entry}");
        assert_eq!(parsed.notes[0].code, code, "{entry}");
        assert!(
            parsed.notes[0].what.contains(words),
            "{}",
            parsed.notes[0].what
        );
    }
    let text = HEAD.replace("\"plugs\"", "\"flame\"")
        + "[[entry]]\nreading = { check = \"plug_current_total\", value = \"27 A\" }\n";
    let parsed = read_toml(&text, "a.toml", knowledge).unwrap();
    assert_eq!(parsed.notes[0].code, "NOT_ON_THIS_ENGINE");
}

#[test]
fn a_suspect_number_is_kept_and_marked_until_confirmed() {
    let text = format!(
        "{HEAD}[[entry]]\nreading = {{ check = \"battery_rest_volts\", value = \"126 V\" }}\n\
         [[entry]]\nreading = {{ check = \"battery_rest_volts\", value = \"126 V\", confirmed = true }}\n"
    );
    let job = read_toml(&text, "a.toml", small()).unwrap().job;
    let suspect = |i: usize| match &job.entries[i].body {
        hardstart::job::EntryBody::Reading(r) => (r.suspect.is_some(), r.typed.clone()),
        other => panic!("{other:?}"),
    };
    assert_eq!(suspect(0), (true, "126 V".to_owned()));
    assert_eq!(suspect(1), (false, "126 V".to_owned()));
}
