//! What forms of the bench page take and what the pages after them say, as a mechanic meets them.

mod bench_page;

use bench_page::{Answer, Page, Visitor};
use hardstart::job::book::{Access, Book};

/// Sends a form of job 1.
fn add(visitor: &Visitor<'_>, what: &str, more: &[(&str, &str)]) -> Answer {
    visitor.post("/job/1/add", &[&[("what", what)], more].concat())
}

#[test]
fn an_engine_field_left_empty_is_not_known_and_saves() {
    let page = Page::with_job(&[]);
    let visitor = page.visitor();
    let empty = [
        "cylinders",
        "chamber",
        "preheat",
        "preheat_wiring",
        "pump",
        "system_volts",
        "cylinder_one",
        "use",
        "hours",
        "distance",
        "arrived",
        "people",
    ];
    let fields = empty.map(|name| (name, ""));
    for fields in [
        &fields[..],
        &[("cylinders", "4"), ("use", ""), ("distance", "")],
    ] {
        let sent = visitor.post("/job/1/engine", fields);
        assert_eq!(sent.status, 303, "{}", sent.body);
    }
    let book = Book::open(&page.book, Access::Read).unwrap();
    let engine = book.job("1", &page.knowledge).unwrap().job.engine;
    assert_eq!((engine.cylinders, engine.used_in), (Some(4), None));
    // What was known is forgotten when it is emptied.
    assert_eq!(visitor.post("/job/1/engine", &fields).status, 303);
    let engine = book.job("1", &page.knowledge).unwrap().job.engine;
    assert_eq!(engine.cylinders, None);
}

#[test]
fn no_repair_is_chosen_before_somebody_chooses() {
    let page = Page::with_job(&[("cylinders", "4")]);
    let visitor = page.visitor();
    let form = visitor.get("/job/1/work").body;
    let list = form
        .split("<select")
        .nth(1)
        .unwrap()
        .split("</select>")
        .next()
        .unwrap();
    assert!(!list.contains("selected"), "{list}");
    assert!(list.contains("<option value=\"\">tap to choose"), "{list}");
    let sent = add(
        &visitor,
        "work",
        &[("repair", ""), ("minutes", "25"), ("note", "as typed")],
    );
    assert_eq!(sent.status, 422);
    assert!(
        sent.body.contains("what was done is not chosen"),
        "{}",
        sent.body
    );
    assert!(sent.body.contains("value=\"25\"") && sent.body.contains("as typed"));
    assert_eq!(page.entries("1"), 0);
    // A link that names the repair has it chosen, once.
    let form = visitor.get("/job/1/work?repair=replace_plug").body;
    assert_eq!(form.matches(" selected").count(), 1, "{form}");
}

/// A job that started badly at -6 °C, with work done since.
fn mended() -> Page {
    let page = Page::with_job(&[("cylinders", "4"), ("arrived", "cold")]);
    let visitor = page.visitor();
    let opened = visitor.get("/job/1").body;
    assert!(opened.contains("cold, not started that day"), "{opened}");
    let start = [
        ("engine_temperature", "6"),
        ("engine_temperature.unit", "°C"),
        ("engine_temperature.below", "yes"),
        ("soak", "12"),
        ("soak.unit", "h"),
        ("preheat", "8"),
        ("preheat.unit", "s"),
        ("tries", "3"),
        ("sign.crank_time", "s8_20"),
    ];
    let saved = visitor.added("start", &start).body;
    let line = "start: engine at −6 °C; stood 12 h; preheated 8 s; 3 tries; ";
    assert_eq!(saved.matches(line).count(), 2, "said and listed: {saved}");
    assert!(saved.contains(": 8 to 20 s"), "{saved}");
    let work = [
        ("repair", "replace_plug"),
        ("cylinder", "2"),
        ("minutes", "25"),
        ("parts_cost", "12,50"),
    ];
    let saved = visitor.added("work", &work).body;
    assert!(saved.contains("cylinder 2; 25 min; parts 12.5"), "{saved}");
    page
}

#[test]
fn a_start_that_proves_nothing_is_said_not_to_count() {
    let page = mended();
    let visitor = page.visitor();
    let of = |degrees, hours| {
        [
            ("result", "right"),
            ("engine_temperature", degrees),
            ("engine_temperature.unit", "°C"),
            ("soak", hours),
            ("soak.unit", "h"),
        ]
    };
    let shown = visitor.added("cold", &of("5", "12")).body;
    let says = "This start does not count as the cold start: at 5 °C it was warmer than −3 °C";
    assert!(shown.contains(says), "{shown}");
    assert!(shown.contains("at −3 °C or colder"), "{shown}");
    assert!(shown.contains("Did you mean below zero?"), "{shown}");
    assert!(shown.contains("/job/1/change?entry=3"), "{shown}");
    assert!(
        shown.contains("start: right; engine at 5 °C; stood 12 h"),
        "{shown}"
    );
    // It is still said when the job is opened again.
    assert!(visitor.get("/job/1").body.contains(says));
    // The limit is 8 h of standing, and 3 K warmer than the complaint's -6 °C.
    let shown = visitor.added("cold", &of("-6", "3")).body;
    assert!(shown.contains("the engine had stood 3 h"), "{shown}");
    assert!(!shown.contains("below zero?"), "{shown}");
    let shown = visitor.added("cold", &of("-6", "12")).body;
    assert!(!shown.contains("does not count"), "{shown}");
    assert!(shown.contains("done, proven"), "{shown}");
}

#[test]
fn better_and_not_right_is_said_beside_the_state() {
    let page = mended();
    let visitor = page.visitor();
    let start = [
        ("result", "better"),
        ("engine_temperature", "-6 °C"),
        ("soak", "12 h"),
    ];
    let shown = visitor.added("cold", &start).body;
    let head = shown.split("</header>").next().unwrap();
    assert!(head.contains("<dd>open</dd>"), "{head}");
    assert!(head.contains("Better, not right: about "), "{head}");
    assert!(head.contains("The job goes on."), "{head}");
    let said = head
        .split("Better, not right")
        .nth(1)
        .unwrap()
        .split('.')
        .next()
        .unwrap();
    let close = visitor.get("/job/1/close").body;
    assert!(
        close.contains(said),
        "the page that finishes it says the same: {said}"
    );
}

#[test]
fn what_is_wrong_is_said_in_the_words_of_the_form() {
    let page = Page::with_job(&[("cylinders", "4")]);
    let visitor = page.visitor();
    let wrong = [
        add(&visitor, "start", &[("tries", "a few")]),
        add(&visitor, "start", &[("soak", "long")]),
        add(&visitor, "start", &[("soak", "12")]),
        add(
            &visitor,
            "work",
            &[("repair", "replace_plug"), ("cylinder", "x")],
        ),
        add(
            &visitor,
            "work",
            &[("repair", "replace_plug"), ("minutes", "soon")],
        ),
        add(
            &visitor,
            "reading",
            &[("check", "plug_ohms"), ("value", "12 V"), ("cylinder", "1")],
        ),
        add(
            &visitor,
            "reading",
            &[("check", "plug_ohms"), ("value", "1 ohm"), ("trial", "x")],
        ),
        add(&visitor, "mark", &[("state", "fine")]),
        visitor.post("/job/1/engine", &[("hours", "many")]),
        visitor.post("/new", &[("complaint", "x"), ("hours", "-5")]),
    ];
    for answer in &wrong {
        assert_eq!(answer.status, 422);
        let from = answer.body.split("Not saved yet").nth(1).unwrap();
        let said = from.split("</ul>").next().unwrap();
        for mark in ["`", " = ", "a text", "null", "job file", "byte"] {
            assert!(!said.contains(mark), "{mark}: {said}");
        }
    }
    assert!(
        wrong[0]
            .body
            .contains("Tries: this cannot be read: type a whole number, such as 2")
    );
    assert!(
        wrong[2]
            .body
            .contains("Stood for: the unit is missing: type the hours, such as 12 h")
    );
    assert_eq!(page.entries("1"), 0);
    // Hours without a unit are hours.
    assert_eq!(
        visitor.post("/job/1/engine", &[("hours", "1000")]).status,
        303
    );
    let book = Book::open(&page.book, Access::Read).unwrap();
    let hours = book
        .job("1", &page.knowledge)
        .unwrap()
        .job
        .engine
        .hours
        .unwrap();
    assert!((hours.value - 1000.0 * 3600.0).abs() < 1e-6, "{hours}");
}

#[test]
fn cautions_are_folded_after_the_first_cylinder() {
    let page = Page::with_job(&[("cylinders", "4")]);
    let visitor = page.visitor();
    let check = page
        .knowledge
        .checks
        .iter()
        .find(|c| c.id.get_ref() == "plug_glow_time")
        .unwrap();
    assert!(!check.hazards.is_empty(), "this check has cautions");
    let full = visitor
        .get("/job/1/reading?check=plug_glow_time&cylinder=1")
        .body;
    assert!(
        full.contains("<div class=\"care\"><h3>Take care</h3>"),
        "{full}"
    );
    let next = [
        ("check", "plug_glow_time"),
        ("cylinder", "1"),
        ("value", "8,2 s"),
        ("then", "next_cylinder"),
    ];
    let shown = visitor.added("reading", &next).body;
    let care = shown
        .find("<details class=\"care\"><summary>Take care")
        .expect("a reminder");
    assert!(!shown.contains("<div class=\"care\">"), "{shown}");
    assert!(
        care < shown.find("How</summary>").unwrap(),
        "before the steps"
    );
    // Whoever takes the job over on another phone has not read them: once they stayed folded there.
    let taken_over = page
        .visitor()
        .get("/job/1/reading?check=plug_glow_time")
        .body;
    assert!(
        taken_over.contains("<div class=\"care\"><h3>Take care</h3>"),
        "{taken_over}"
    );
    assert!(!taken_over.contains("as before"), "{taken_over}");
    // Nothing is left out of it.
    for id in &check.hazards {
        let is = |h: &&hardstart::knowledge::Hazard| h.id.get_ref() == id.get_ref();
        let known = page.knowledge.hazards.iter().find(is);
        let known = known.unwrap_or_else(|| panic!("{} has no text", id.get_ref()));
        let start: String = known
            .text
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == ' ')
            .collect();
        let start = start.replace("degC", "°C");
        assert!(shown[care..].contains(&start), "{start}");
    }
}

#[test]
fn what_is_asked_on_the_phone_is_asked_in_words_and_the_cold_start_has_its_cautions() {
    let page = Page::with_job(&[("cylinders", "4"), ("arrived", "cold")]);
    let visitor = page.visitor();
    let told = visitor.get("/job/1/told").body;
    for asked in [
        "How cold must it be before it starts badly?",
        "Does it start better if you preheat twice or three times?",
        "when fuel was bought",
    ] {
        assert!(told.contains(asked), "{asked}: {told}");
    }
    for looked in [
        "wait until the relay lets go",
        "header tank",
        "ear at warm idle",
    ] {
        assert!(!told.contains(looked), "{looked}: {told}");
    }
    let slip = visitor.get("/job/1").body;
    assert!(!slip.contains("booked, nothing looked at yet"), "{slip}");
    assert!(slip.contains("here, nothing looked at yet"), "{slip}");
    let cold = visitor.get("/job/1/cold").body;
    assert!(cold.contains("then rest two minutes"), "{cold}");
    assert!(cold.contains("class=\"watch\""), "{cold}");
    // A word of the list is said as people say it.
    let gone = [("check", "clear_hose"), ("result", "column_gone")];
    let strokes = [("check", "primer_morning"), ("result", "strokes_5_20")];
    for reading in [gone, strokes] {
        let sent = visitor.post(
            "/job/1/add",
            &[&[("what", "reading")], &reading[..]].concat(),
        );
        assert_eq!(sent.status, 303, "{}", sent.body);
    }
    let slip = visitor.get("/job/1").body;
    assert!(slip.contains("column gone"), "{slip}");
    assert!(slip.contains("5 to 20 strokes"), "{slip}");
    assert!(!slip.contains("column_gone"), "{slip}");
}

#[test]
fn a_counter_with_gaps_is_a_number() {
    let page = Page::with_job(&[("hours", "9 400")]);
    let book = Book::open(&page.book, Access::Read).unwrap();
    let job = book.job("1", &page.knowledge).unwrap().job;
    let hours = job.engine.hours.expect("hours");
    assert!((hours.value / 3600.0 - 9400.0).abs() < 1e-9, "{hours}");
}
