//! The one-page job sheet: the same parts in all forms, escaped, short enough for a page.

use std::sync::OnceLock;

use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::{Entry, EntryBody, Job, read_toml};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::report::page::{Layout, Symbols};
use hardstart::report::sheet::{Content, Sheet, blank, filled, in_words};
use hardstart::report::{chance, sheet_html, sheet_text};

/// Lines of 10 pt at 1.25 that a Letter page holds between margins of 12 mm:
/// (279.4 - 24) mm / (12.5 pt * 0.3528 mm).
const PAGE_LINES: usize = 57;

fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: OnceLock<Knowledge> = OnceLock::new();
    KNOWLEDGE.get_or_init(|| load(&KnowledgeFiles::built_in()).unwrap_or_else(|e| panic!("{e}")))
}

fn job() -> Job {
    let text = include_str!("../tests/jobs/trials.toml");
    read_toml(text, "trials", knowledge()).unwrap().job
}

fn sheet(job: &Job) -> Sheet {
    let evidence = gather(knowledge(), job).unwrap();
    filled(job, knowledge(), &causes(&evidence, job).unwrap(), &[])
}

fn text(sheet: &Sheet) -> String {
    sheet_text::text(sheet, Layout::new(100, Symbols::Ascii))
}

#[test]
fn filled_and_blank_have_the_same_order() {
    let headings = |s: &Sheet| s.parts.iter().map(|p| p.heading).collect::<Vec<_>>();
    let full = sheet(&job());
    let mut with = headings(&full);
    // The strip stands where the readings are; a pen draws none.
    with.retain(|h| *h != "Timing trials");
    assert_eq!(with, headings(&blank(&job())));
    assert!(text(&blank(&job())).contains("......"), "lines for the pen");
}

#[test]
fn drawings_have_a_text_twin() {
    let sheet = sheet(&job());
    assert!(
        sheet
            .parts
            .iter()
            .any(|p| matches!(p.content, Content::Strip(_)))
    );
    let html = sheet_html::page(&sheet);
    assert!(html.contains("sound plug"), "the strip as text");
    // Word and number together, never the word alone.
    let causes = sheet.parts.iter().find_map(|p| match &p.content {
        Content::Causes(c) => Some(c),
        _ => None,
    });
    let causes = causes.unwrap();
    // One drawing for the strip, and one beside the words of each cause.
    assert_eq!(html.matches("<svg").count(), 1 + causes.len());
    for cause in causes {
        assert!(html.contains(&cause.name), "{}", cause.name);
        // The standing rate stands beside the chance.
        let usually = format!("usually {}", chance::count(cause.base));
        assert!(in_words(cause).ends_with(&usually), "{}", in_words(cause));
        assert!(html.contains(&in_words(cause)) && text(&sheet).contains(&cause.name));
    }
    assert!(html.contains("of 100); usually "));
}

#[test]
fn nothing_typed_becomes_markup_and_nothing_is_fetched() {
    let mut job = job();
    let evil = "<script>alert(1)</script>\"'&";
    job.job = evil.to_owned();
    job.complaint = evil.to_owned();
    let mut note = Entry::new(EntryBody::Note);
    note.note = Some(evil.to_owned());
    job.entries.push(note);
    let html = sheet_html::page(&sheet(&job));
    assert!(!html.contains("<script"), "{html}");
    assert!(html.contains("&lt;script&gt;"));
    let addresses = html.replace("http://www.w3.org/2000/svg", "");
    assert!(!addresses.contains("http") && !addresses.contains("url("));
}

#[test]
fn a_long_job_stays_one_page() {
    let mut job = job();
    let reading = r#"schema = "hardstart/job/1"
job = "x"
complaint = "c"
entry = [{ reading = { check = "lamp_at_strip", value = "bright" } }]"#;
    let more = read_toml(reading, "x", knowledge()).unwrap().job.entries;
    let sheet = {
        let short = sheet(&job);
        job.entries.extend(std::iter::repeat_n(more, 60).flatten());
        job.complaint = "long ".repeat(200);
        let evidence = gather(knowledge(), &self::job()).unwrap();
        let ranking = causes(&evidence, &self::job()).unwrap();
        assert!(text(&short).lines().count() <= PAGE_LINES);
        filled(&job, knowledge(), &ranking, &[])
    };
    let text = text(&sheet);
    let more = text.split(" more in the job").next().unwrap();
    let more: usize = more.rsplit("and ").next().unwrap().parse().unwrap();
    assert!((48..60).contains(&more), "{text}");
    assert!(
        text.lines().count() <= PAGE_LINES,
        "{}",
        text.lines().count()
    );
}

/// "Better, not right" stood on the sheet alone, and the customer read it as mended.
#[test]
fn better_and_not_right_says_what_remains_and_right_does_not() {
    let of = |result: &str| {
        let written = format!(
            r#"schema = "hardstart/job/1"
job = "x"
complaint = "white smoke"
[engine]
cylinders = 4
chamber = "swirl"
preheat = "plugs"
[[entry]]
[entry.start]
engine_temperature = "-6 degC"
soak = "12 h"
smoke_cranking = "white"
[[entry]]
[entry.work]
repair = "replace_plug"
cylinder = 3
[[entry]]
[entry.start]
engine_temperature = "-7 degC"
soak = "14 h"
result = "{result}""#
        );
        let job = read_toml(&written, "x", knowledge()).unwrap().job;
        text(&sheet(&job))
    };
    let better = of("better");
    assert!(better.contains("What remains"), "{better}");
    assert!(better.contains("Better, not right: about "), "{better}");
    assert!(!of("right").contains("What remains"));
}

/// After "better, not right" a right start of the next day stood under "Second, another day", as if two
/// right starts were there. Expected: by hand, from the order of the entries.
#[test]
fn a_start_that_was_not_right_is_no_first_of_two() {
    let of = |entries: &[&str]| -> Vec<(String, String)> {
        let mut written = String::from(
            "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"y\"\n\
             engine = { cylinders = 4 }\n",
        );
        for (day, entry) in (14..).zip(entries) {
            let at = format!("at = \"2025-01-{day}T07:40:00Z\"");
            let start = "engine_temperature = \"-6 degC\", soak = \"12 h\"";
            let body = match *entry {
                "work" => "work = { repair = \"replace_plug\", cylinder = 2 }".to_owned(),
                "bad" => format!("start = {{ {start}, crank_time = \"24 s\" }}"),
                result => format!("start = {{ {start}, result = \"{result}\" }}"),
            };
            written.push_str(&format!("[[entry]]\n{body}\n{at}\n"));
        }
        let job = read_toml(&written, "x", knowledge()).unwrap().job;
        let proof = sheet(&job).parts.pop().unwrap();
        let Content::Fields(fields) = proof.content else {
            panic!("fields");
        };
        let starts = ["Before it", "First cold start", "Second, another day"];
        let wanted = |f: &(&str, String)| starts.contains(&f.0);
        let fields = fields.into_iter().filter(wanted);
        fields.map(|(n, v)| (n.to_owned(), v)).collect()
    };
    let field = |n: &str, v: &str| (n.to_owned(), v.to_owned());
    let (not_yet, first, second) = ("Before it", "First cold start", "Second, another day");
    let better = "better, not right at -6 degC, stood 12 h, 2025-01-16";
    assert_eq!(
        of(&["bad", "work", "better", "right"]),
        [
            field(not_yet, better),
            field(first, "right at -6 degC, stood 12 h, 2025-01-17"),
            field(second, "")
        ]
    );
    assert_eq!(
        of(&["bad", "work", "better", "work", "right", "right"]),
        [
            field(not_yet, better),
            field(first, "right at -6 degC, stood 12 h, 2025-01-18"),
            field(second, "right at -6 degC, stood 12 h, 2025-01-19")
        ]
    );
    assert_eq!(
        of(&["bad", "work", "right", "right"]),
        [
            field(first, "right at -6 degC, stood 12 h, 2025-01-16"),
            field(second, "right at -6 degC, stood 12 h, 2025-01-17")
        ]
    );
    // It came back: the last word is not right, whatever was right before.
    assert_eq!(
        of(&["bad", "work", "right", "same"]),
        [
            field(not_yet, "right at -6 degC, stood 12 h, 2025-01-16"),
            field(first, "as before at -6 degC, stood 12 h, 2025-01-17"),
            field(second, "")
        ]
    );
}
