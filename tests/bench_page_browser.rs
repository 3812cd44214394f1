//! A whole job in a real browser at 360 by 640, with script and without: opened, watched,
//! followed, mended, proven by a cold start, closed, printed.
//!
//! The browser is driven through its WebDriver. Where none is installed the test says so.

mod bench_page;
mod driver;

use std::io::Write as _;
use std::path::Path;

use bench_page::Page;
use driver::Browser;
use hardstart::job::book::{Access, Book};
use hardstart::job::{JobState, state};
use hardstart::web::Limits;
use serde_json::json;

fn whole_job(script: bool) {
    if !Path::new(driver::DRIVER).exists() {
        // Not through the harness, which keeps what a passing test says to itself.
        let _ = writeln!(
            std::io::stderr(),
            "SKIPPED, NOT PASSED: no browser driver at {}; install chromium and chromium-driver",
            driver::DRIVER
        );
        return;
    }
    let page = Page::new(Limits::default());
    let at = format!("http://{}", page.address());
    let browser = Browser::new(script);
    browser.go(&format!("{at}/"));
    browser.follow("a[href='/new']");
    browser.fill("#complaint", "hard to start after frost, white smoke");
    browser.click("summary");
    browser.pick("#cylinders", "4");
    browser.tap("chamber", "swirl");
    browser.tap("preheat", "plugs");
    browser.tap("pump", "rotary");
    browser.tap("system_volts", "12");
    browser.follow("button.main");

    // The first start, with a comma and the minus from the chip.
    browser.follow("a[href='/job/1/start']");
    let watch = browser.is_shown(".watch");
    assert_eq!(watch, script, "the stopwatch is the script's");
    browser.fill("#engine_temperature", "6");
    browser.tap("engine_temperature.below", "yes");
    browser.fill("#soak", "12");
    browser.fill("[id='sign.crank_time.seconds']", "6,5");
    browser.tap("sign.smoke_cranking", "white");
    browser.tap("sign.miss", "one");
    browser.follow("button.main");
    assert!(browser.text("main").contains("Saved: start"));

    // Follow the suggestion that is offered; then a reading of one's own.
    let offered = browser.text(".move");
    assert!(browser.text("#next").contains("Take care"), "{offered}");
    browser.fill("#next #value", "20,5");
    browser.follow("#next button.main");
    let text = browser.text("main");
    assert!(text.contains("20,5 A"), "offered {offered}: {text}");
    browser.go(&format!("{at}/job/1/reading?check=plug_ohms&cylinder=2"));
    browser.tap("result", "open");
    browser.follow("button.main");
    let text = browser.text("main");
    assert!(
        text.contains("What that did: dead plug, cylinder 2 up"),
        "{text}"
    );
    browser.go(&format!("{at}/job/1/reading?check=plug_ohms&cylinder=3"));
    browser.tap("state", "could_not_test");
    browser.follow("button.main");

    browser.go(&format!("{at}/job/1/work?repair=replace_plug"));
    browser.fill("#cylinder", "2");
    browser.fill("#minutes", "25");
    browser.follow("button.main");
    assert!(browser.text(".head").contains("waiting for a cold start"));
    browser.go(&format!("{at}/"));
    assert!(browser.text("main").contains("Waiting for a cold start"));

    browser.go(&format!("{at}/job/1/cold"));
    browser.tap("result", "right");
    browser.fill("#engine_temperature", "-7");
    browser.fill("#soak", "14");
    browser.follow("button.main");
    assert!(browser.text(".head").contains("done, proven"));

    browser.go(&format!("{at}/job/1/close"));
    browser.tap("state", "done");
    browser.fill("#note", "starts at once");
    browser.follow("button.main");
    let job = Book::open(&page.book, Access::Read).unwrap();
    let job = job.job("1", &page.knowledge).unwrap().job;
    assert_eq!(state(&job, &page.knowledge), JobState::DoneProven);
    assert_eq!(job.entries.len(), 7);

    // Nothing is wider than the phone, on any page.
    for path in [
        "/",
        "/new",
        "/job/1",
        "/job/1/start",
        "/job/1/reading?check=plug_ohms",
        "/job/1/told",
        "/job/1/work",
        "/job/1/close",
        "/job/1/plan",
        "/job/1/engine",
    ] {
        browser.go(&format!("{at}{path}"));
        assert!(browser.width() <= 360, "{path} is {} wide", browser.width());
        if let Ok(place) = std::env::var("HARDSTART_SCREENSHOTS") {
            let name = path.replace(['/', '?', '='], "_");
            browser.screenshot(&Path::new(&place).join(format!("{name}{script}.png")));
        }
    }
    browser.go(&format!("{at}/job/1/sheet"));
    let pdf = browser.pdf(&json!({ "page": { "width": 21.0, "height": 29.7 } }));
    assert!(pdf.starts_with(b"%PDF"));
    let text = String::from_utf8_lossy(&pdf);
    let pages = text.matches("/Type /Page\n").count() + text.matches("/Type /Page ").count();
    assert_eq!(pages, 1, "the sheet is one page");
}

#[test]
fn a_job_from_complaint_to_proof_with_script() {
    whole_job(true);
}

#[test]
fn a_job_from_complaint_to_proof_without_script() {
    whole_job(false);
}
