//! One job from the complaint to the printed sheet, by links and buttons only.

use hardstart::job::book::{Access, Book};
use hardstart::job::{Entry, EntryBody, JobState, Withdrawn, state};
use hardstart::knowledge::{CheckKind, Per};
use serde_json::json;

use crate::bench_page::Page;
use crate::hand::Hand;

/// Suggestions that are followed.
const FOLLOWED: usize = 2;

pub fn whole_job(page: &Page, hand: &Hand<'_>, script: bool) {
    let at = format!("http://{}/", page.address());
    hand.browser.go(&at);
    open(hand);
    first_start(hand, script);
    for _ in 0..FOLLOWED {
        let says = follow_suggestion(page, hand);
        let text = hand.browser.text("main");
        assert!(
            text.contains("Saved: ") && text.contains(&says),
            "{says}: {text}"
        );
    }
    put_off_and_back(hand);
    trials(hand);
    own_readings(hand);
    work_and_proof(hand);
    finish(page, hand);
    print(hand);
}

fn open(hand: &Hand<'_>) {
    hand.follow("a[href='/new']");
    hand.fill("#complaint", "hard to start after frost, white smoke");
    hand.unfold("summary");
    hand.pick("#cylinders", "4");
    hand.tap("chamber", "swirl");
    hand.tap("preheat", "plugs");
    hand.tap("pump", "rotary");
    hand.tap("system_volts", "12");
    hand.follow("button.main");
}

/// With a comma, and the minus from the chip.
fn first_start(hand: &Hand<'_>, script: bool) {
    hand.follow("a[href='/job/1/start']");
    let watch = hand.browser.is_shown(".watch");
    assert_eq!(watch, script, "the stopwatch is the script's");
    if script {
        stopwatch(hand);
    }
    hand.fill("#engine_temperature", "6");
    hand.tap("engine_temperature.below", "yes");
    hand.fill("#soak", "12");
    hand.fill("[id='sign.crank_time.seconds']", "6,5");
    hand.tap("sign.smoke_cranking", "white");
    hand.tap("sign.miss", "one");
    hand.follow("button.main");
    assert!(hand.browser.text("main").contains("Saved: start"));
}

/// Cranks, fires, runs, runs even: a second of cranking is no part of the time until it runs even.
fn stopwatch(hand: &Hand<'_>) {
    let times = hand.browser.script(
        "const press = document.querySelector('.watch button');
         const real = performance.now;
         let now = 1000;
         performance.now = () => now;
         for (const at of [1000, 13600, 22800, 26800]) { now = at; press.click(); }
         performance.now = real;
         const of = (name) => {
           const field = document.getElementById('sign.' + name + '.seconds');
           const shown = field.value;
           field.value = '';
           field.dispatchEvent(new Event('input'));
           return shown;
         };
         return of('crank_time') + ' ' + of('time_to_even');",
        &json!([]),
    );
    assert_eq!(times, json!("21.8 4.0"));
}

/// Does the check that is offered and types a believable result. Gives what was typed.
fn follow_suggestion(page: &Page, hand: &Hand<'_>) -> String {
    let offered = hand.browser.text("#next .move");
    let id = hand.browser.attribute("#next input[name='check']", "value");
    let id = id.unwrap_or_else(|| panic!("no check is offered but: {offered}"));
    let check = page.knowledge.checks.iter().find(|c| *c.id.get_ref() == id);
    let check = check.unwrap();
    if !check.hazards.is_empty() {
        // Cautions stand before the steps.
        let text = hand.browser.text("#next");
        let care = text.find("Take care").expect("no caution");
        assert!(text.find("How").is_none_or(|how| care < how), "{text}");
    }
    if check.per == Per::Cylinder {
        hand.tap("cylinder", "1");
    }
    let result = match check.kind {
        CheckKind::States => check.states[0].clone(),
        CheckKind::Number => {
            let quantity = check.quantity.as_ref().unwrap();
            let typed = match quantity.get_ref().as_str() {
                "current" => "20,5",
                "voltage" => "12,4",
                "resistance" => "0,8",
                "pressure" => "26",
                "rotational_speed" => "180",
                _ => "8,4",
            };
            hand.fill("#next #value", typed);
            hand.follow("#next button.main");
            return typed.to_owned();
        }
    };
    hand.tap("result", &result);
    hand.follow("#next button.main");
    result.replace('_', " ")
}

/// A check may wait; it is not forgotten.
fn put_off_and_back(hand: &Hand<'_>) {
    let offered = hand.browser.text("#next .move");
    hand.follow("#next form[data-draft$='/later'] button");
    assert!(hand.browser.text("main").contains("Saved: put off"));
    assert_ne!(hand.browser.text("#next .move"), offered);
    assert!(hand.browser.text("#next").contains("Put off"));
    hand.follow("#next form[data-draft$='/undo'] button");
    assert_eq!(hand.browser.text("#next .move"), offered);
}

/// Three timings of one plug; the odd one is set aside with a reason.
fn trials(hand: &Hand<'_>) {
    for seconds in ["8,2", "15,1", "8,3"] {
        hand.follow("a[href='/job/1/reading']");
        hand.follow("a[href='/job/1/reading?check=plug_glow_time']");
        hand.tap("cylinder", "3");
        hand.fill("#value", seconds);
        hand.follow("button.main");
    }
    assert!(
        hand.browser
            .text("main")
            .contains("3 recorded = 3 kept + 0 set aside")
    );
    // Entries: start, two suggestions, put off, put back, then the timings.
    let odd = FOLLOWED + 3 + 2;
    hand.follow(&format!("a[href='/job/1/change?entry={odd}']"));
    assert!(hand.browser.text("main").contains("15,1 s"));
    hand.fill("#why", "clip slipped");
    hand.follow("form[data-draft$='/aside'] button");
    let text = hand.browser.text("main");
    assert!(text.contains("3 recorded = 2 kept + 1 set aside"), "{text}");
    assert!(text.contains("(set aside: clip slipped)"), "{text}");
}

fn own_readings(hand: &Hand<'_>) {
    for (cylinder, field, value) in [("2", "result", "open"), ("3", "state", "could_not_test")] {
        hand.follow("a[href='/job/1/reading']");
        hand.follow("a[href='/job/1/reading?check=plug_ohms']");
        hand.tap("cylinder", cylinder);
        if field == "state" {
            hand.unfold("details.none summary");
        }
        hand.tap(field, value);
        hand.follow("button.main");
        let text = hand.browser.text("main");
        assert!(text.contains("Saved: "), "{text}");
        if value == "open" {
            assert!(
                text.contains("What that did: dead plug, cylinder 2 up"),
                "{text}"
            );
        }
    }
}

fn work_and_proof(hand: &Hand<'_>) {
    hand.follow("a[href='/job/1/work']");
    hand.pick("#repair", "replace_plug");
    hand.fill("#cylinder", "2");
    hand.fill("#minutes", "25");
    hand.follow("button.main");
    let head = hand.browser.text(".head");
    assert!(head.contains("waiting for a cold start"), "{head}");
    hand.follow(".keys a[href='/']");
    assert!(
        hand.browser
            .text("main")
            .contains("Waiting for a cold start")
    );
    hand.follow("a[href='/job/1/cold']");
    hand.tap("result", "right");
    hand.fill("#engine_temperature", "-7");
    hand.fill("#soak", "14");
    hand.follow("button.main");
    assert!(hand.browser.text(".head").contains("done, proven"));
}

fn finish(page: &Page, hand: &Hand<'_>) {
    hand.follow("a[href='/job/1/close']");
    hand.tap("state", "done");
    hand.fill("#note", "starts at once");
    hand.follow("button.main");
    let book = Book::open(&page.book, Access::Read).unwrap();
    let job = book.job("1", &page.knowledge).unwrap().job;
    assert_eq!(state(&job, &page.knowledge), JobState::DoneProven);
    let aside = |e: &&Entry| matches!(e.withdrawn, Some(Withdrawn::Aside { .. }));
    assert_eq!(job.entries.iter().filter(aside).count(), 1);
    assert!(
        job.entries
            .iter()
            .any(|e| matches!(e.body, EntryBody::Later(_)))
    );
    // Start, suggestions, put off and back, three timings, set aside, two readings, work, cold
    // start, done.
    assert_eq!(job.entries.len(), 1 + FOLLOWED + 2 + 3 + 1 + 2 + 3);
    // What was said on the way is kept, with what it was said of.
    let said = book.said("1").unwrap();
    assert!(said.iter().any(|s| s.kind == "shown" && s.after == 1));
}

/// A4 and Letter, in cm.
fn print(hand: &Hand<'_>) {
    hand.follow("a[href='/job/1/sheet']");
    assert!(hand.browser.text("main").contains("Timing trials"));
    for (width, height) in [(21.0, 29.7), (21.59, 27.94)] {
        let paper = json!({ "page": { "width": width, "height": height } });
        let pdf = hand.browser.pdf(&paper);
        assert!(pdf.starts_with(b"%PDF"));
        let text = String::from_utf8_lossy(&pdf);
        let pages = text.matches("/Type /Page\n").count() + text.matches("/Type /Page ").count();
        assert_eq!(pages, 1, "the sheet is one page of {width} by {height}");
    }
}
