//! Readings that could come to mean something else than was read: at another cylinder, with the leads of
//! the meter, of two batteries, of a start before the work.

mod bench_page;

use bench_page::Page;
use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::book::{Access, Book};
use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};

#[test]
fn the_leads_of_the_meter_go_on_to_the_next_cylinder_and_are_taken_off_in_words() {
    let page = Page::with_job(&[("cylinders", "4"), ("preheat", "plugs")]);
    let visitor = page.visitor();
    let ohms = [
        ("what", "reading"),
        ("check", "plug_ohms"),
        ("cylinder", "1"),
        ("value", "0,9"),
        ("value.unit", "ohm"),
        ("leads", "0,2"),
        ("leads.unit", "ohm"),
        ("by", "JK"),
        ("then", "next_cylinder"),
    ];
    let sent = visitor.post("/job/1/add", &ohms);
    let form = visitor.get(sent.header("location").unwrap()).body;
    assert!(form.contains("without the leads 0.7 ohm"), "{form}");
    let value = |name: &str| {
        let field = form.split(&format!("name=\"{name}\"")).nth(1).unwrap();
        field.split('>').next().unwrap().to_owned()
    };
    assert!(value("leads").contains("value=\"0,2\""), "{form}");
    assert!(value("by").contains("value=\"JK\""), "{form}");
    assert!(!value("value").contains("0,9"), "{form}");
    assert!(form.contains("taken off for you"), "{form}");
}

#[test]
fn what_two_batteries_show_together_is_kept_and_not_used() {
    let page = Page::with_job(&[("cylinders", "4"), ("system_volts", "24")]);
    let visitor = page.visitor();
    let volts = |v| {
        [
            ("check", "battery_rest_volts"),
            ("value", v),
            ("value.unit", "V"),
        ]
    };
    let shown = visitor.added("reading", &volts("24,6")).body;
    let says = "<b>Not used: </b>24.6 V is outside 0 to 16.2 V for a voltage; this asks for one 12 V battery, \
                so were both of a 24 V set read together?";
    assert!(shown.contains(says), "{shown}");
    assert!(shown.contains("not used: entry 1"), "{shown}");
    let shown = visitor.added("reading", &volts("12,3")).body;
    assert!(!shown.contains("Not used: "), "{shown}");
    assert!(shown.contains("Reckoned from 1 of 2 entries"), "{shown}");
}

/// A car that came warm could never be proven: nowhere could be written how cold it was when it had
/// started badly.
#[test]
fn a_car_that_came_warm_can_be_proven() {
    let page = Page::with_job(&[
        ("cylinders", "4"),
        ("preheat", "plugs"),
        ("arrived", "warm"),
    ]);
    let visitor = page.visitor();
    visitor.added("work", &[("repair", "replace_plug"), ("cylinder", "2")]);
    let cold = |more: &[(&'static str, &'static str)]| {
        [
            &[("engine_temperature", "-7 °C"), ("soak", "11 h")][..],
            more,
        ]
        .concat()
    };
    let shown = visitor.added("cold", &cold(&[("result", "right")])).body;
    assert!(
        shown.contains("how cold it was when it started badly"),
        "{shown}"
    );
    assert!(shown.contains("/job/1/start?before_work=yes"), "{shown}");
    let form = visitor.get("/job/1/start?before_work=yes").body;
    assert!(
        form.contains("name=\"before_work\" value=\"yes\" checked"),
        "{form}"
    );
    let before = cold(&[("before_work", "yes"), ("sign.crank_time", "s8_20")]);
    let shown = visitor.added("start", &before).body;
    assert!(!shown.contains("does not count"), "{shown}");
    assert!(shown.contains("done, proven"), "{shown}");
}

/// Turned round after readings were there, "cylinder 2" of four quietly became the third from the other
/// end. Expected: asked once, and nothing written until somebody answers.
#[test]
fn turning_the_engine_round_asks_before_a_number_means_another_cylinder() {
    let shape = [
        ("cylinders", "4"),
        ("preheat", "plugs"),
        ("cylinder_one", "pulley_end"),
    ];
    let page = Page::with_job(&shape);
    let visitor = page.visitor();
    let turn = |more: &[(&str, &str)]| {
        let turned = [
            ("cylinders", "4"),
            ("preheat", "plugs"),
            ("cylinder_one", "flywheel_end"),
        ];
        visitor.post("/job/1/engine", &[&turned[..], more].concat())
    };
    let one = |book: &Book| {
        book.job("1", &page.knowledge)
            .unwrap()
            .job
            .engine
            .cylinder_one
            .id()
    };
    let book = Book::open(&page.book, Access::Read).unwrap();
    // Nothing stands at a cylinder yet: nothing is asked.
    assert_eq!(turn(&[]).status, 303);
    assert_eq!(one(&book), "flywheel_end");
    let back = visitor.post("/job/1/engine", &shape);
    assert_eq!(back.status, 303);
    let dark = [
        ("check", "series_lamp_per_plug"),
        ("cylinder", "2"),
        ("result", "dark"),
    ];
    visitor.added("reading", &dark);
    let asked = turn(&[]);
    assert_eq!(asked.status, 422, "{}", asked.body);
    let says = "what is written down at cylinder 2 was counted from the pulley end";
    assert!(asked.body.contains(says), "{}", asked.body);
    assert!(
        asked.body.contains("name=\"numbers_stay\""),
        "{}",
        asked.body
    );
    assert_eq!(one(&book), "pulley_end", "nothing is written");
    assert_eq!(turn(&[("numbers_stay", "yes")]).status, 303);
    assert_eq!(one(&book), "flywheel_end");
    let slip = visitor.get("/job/1").body;
    assert!(
        slip.contains("cylinder 2: dark"),
        "the number stays: {slip}"
    );
    // Said again as it is, nothing is asked.
    assert_eq!(turn(&[]).status, 303);
}

/// Expected: the same chances as where the start was written down when it was seen.
#[test]
fn a_start_written_down_after_the_work_shows_the_engine_before_it() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let head = "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"y\"\n\
                engine = { cylinders = 4, chamber = \"swirl\", preheat = \"plugs\" }\n";
    let start = |more: &str| {
        format!(
            "[[entry]]\nstart = {{ engine_temperature = \"-6 degC\", soak = \"12 h\", \
             crank_time = \"24 s\", miss = \"one\"{more} }}\n"
        )
    };
    let work = "[[entry]]\nwork = { repair = \"replace_plug\", cylinder = 2 }\n";
    let chances = |entries: &str| -> Vec<(String, f64)> {
        let job = read_toml(&format!("{head}{entries}"), "x", &knowledge);
        let job = job.unwrap().job;
        let ranking = causes(&gather(&knowledge, &job).unwrap(), &job).unwrap();
        let mut all: Vec<(String, f64)> = ranking
            .causes
            .iter()
            .map(|c| (c.cause.clone(), c.chance))
            .collect();
        all.sort_by(|a, b| a.0.cmp(&b.0));
        all
    };
    let then = chances(&format!("{}{work}", start("")));
    let late = chances(&format!("{work}{}", start(", after_work = false")));
    let after = chances(&format!("{work}{}", start("")));
    for ((cause, then), (_, late)) in then.iter().zip(&late) {
        assert!((then - late).abs() < 1e-9, "{cause}: {then} {late}");
    }
    let far = |(a, b): (&(String, f64), &(String, f64))| (a.1 - b.1).abs() > 0.01;
    assert!(
        then.iter().zip(&after).any(far),
        "a start after the work says something else"
    );
}
