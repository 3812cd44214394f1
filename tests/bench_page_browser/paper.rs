//! A long job on paper: filled and blank, A4 and Letter, each one page as the browser prints it.

use hardstart::job::Job;
use hardstart::job::book::{Access, Book};
use serde_json::{Value, json};

use crate::bench_page::Page;
use crate::driver::{Browser, PHONE, View};
use crate::no_browser;

/// A job with more of everything than a sheet holds.
fn long_job(page: &Page) {
    let mut book = Book::open(&page.book, Access::Create).unwrap();
    let mut job = Job::new(
        "1",
        &"will not start in the mornings, smokes white when it does; ".repeat(6),
    );
    job.engine.cylinders = Some(4);
    book.open_job(&job, &page.knowledge).unwrap();
    let at = "2025-01-14T07:40:00+01:00";
    let cold = json!({ "engine_temperature": "-6 degC", "soak": "12 h", "preheat": "8 s", "tries": 3,
                       "crank_time": "24 s", "smoke_cranking": "white", "smoke_after": "white",
                       "miss": "one", "crank_sound": "normal", "time_to_even": "over_60" });
    let mut entries: Vec<Value> = Vec::new();
    entries.push(json!({ "start": cold, "at": at, "by": "JK" }));
    for cylinder in 1..=4 {
        for value in ["0.9 ohm", "0.8 ohm"] {
            entries.push(json!({ "reading": { "check": "plug_ohms", "cylinder": cylinder, "value": value,
                "leads": "0.2 ohm", "tool": "the old multimeter of the second bench" }, "at": at, "by": "JK" }));
        }
        for (trial, value) in [(1, "8.1 s"), (2, "8.3 s")] {
            entries.push(
                json!({ "reading": { "check": "plug_glow_time", "cylinder": cylinder,
                "trial": trial, "value": value, "supply": "11.8 V" }, "at": at }),
            );
        }
    }
    for _ in 0..3 {
        entries.push(
            json!({ "work": { "repair": "replace_plug", "cylinder": 3, "minutes": 40,
                                       "parts_cost": 12.5 }, "at": at }),
        );
        entries.push(
            json!({ "start": { "engine_temperature": "-6 degC", "soak": "12 h",
                                        "result": "better" }, "at": at }),
        );
    }
    book.add("1", &entries, &page.knowledge).unwrap();
}

/// Chrome's own margins are 1 cm. Expected: one page, as a job sheet is.
pub fn one_page() {
    if no_browser() {
        return;
    }
    let page = Page::new(hardstart::web::Limits::default());
    long_job(&page);
    let browser = Browser::new(View {
        width: 1366,
        height: 768,
        ..PHONE
    });
    for sheet in ["sheet", "sheet?blank=yes"] {
        browser.go(&format!("http://{}/job/1/{sheet}", page.address()));
        for (width, height) in [(21.0, 29.7), (21.59, 27.94)] {
            let paper = json!({ "page": { "width": width, "height": height } });
            let pdf = browser.pdf(&paper);
            let text = String::from_utf8_lossy(&pdf);
            let pages =
                text.matches("/Type /Page\n").count() + text.matches("/Type /Page ").count();
            assert_eq!(pages, 1, "{sheet} on {width} by {height}");
        }
    }
}
