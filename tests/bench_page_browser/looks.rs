//! Every page as it looks: to a checker of accessibility, by day and in the dark, and to a ruler
//! on screens of three sizes. `HARDSTART_SCREENSHOTS=DIR` keeps pictures.

use std::path::{Path, PathBuf};

use hardstart::web::Limits;
use serde_json::json;

use crate::bench_page::Page;
use crate::driver::{Browser, PHONE, View};
use crate::{no_browser, skipped};

/// Screens: a narrow phone, a phone, an old laptop.
const SCREENS: [(u32, u32); 3] = [(320, 568), (360, 640), (1366, 768)];
/// Least height of what is pressed with gloves, in pixels of the page; own judgement.
const GLOVE: f64 = 56.0;
/// Most bytes a page may bring, everything that belongs to it included.
const PAGE_BYTES: f64 = 100_000.0;
/// Every page there is, and those that look different with something said in the address.
const PATHS: [&str; 23] = [
    "/",
    "/?state=open",
    "/new",
    "/join",
    "/nothing",
    "/job/1",
    "/job/1?all=yes",
    "/job/1?saved=2&seen=0",
    "/job/1/start",
    "/job/1/cold",
    "/job/1/told",
    "/job/1/reading",
    "/job/1/reading?check=plug_glow_time&cylinder=3",
    "/job/1/reading?check=plug_ohms",
    "/job/1/work?repair=replace_plug",
    "/job/1/close",
    "/job/1/engine",
    "/job/1/why?cause=plug.dead%3A2",
    "/job/1/plan",
    "/job/1/figures",
    "/job/1/change?entry=2",
    "/job/1/sheet",
    "/job/1/sheet?blank=yes",
];

/// A bench with one job that has something of everything, and one that is empty.
fn furnished() -> Page {
    let page = Page::new(Limits::default());
    let visitor = page.visitor();
    let job = [
        ("complaint", "hard to start after frost, white smoke"),
        ("cylinders", "4"),
        ("chamber", "swirl"),
        ("preheat", "plugs"),
        ("pump", "rotary"),
        ("system_volts", "12"),
    ];
    assert_eq!(visitor.post("/new", &job).status, 303);
    let add = |fields: &[(&str, &str)]| {
        let sent = visitor.post("/job/1/add", fields);
        assert_eq!(sent.status, 303, "{fields:?}: {}", sent.body);
    };
    add(&[
        ("what", "start"),
        ("engine_temperature", "-6 °C"),
        ("soak", "12 h"),
        ("sign.crank_time.seconds", "6,5 s"),
        ("sign.smoke_cranking", "white"),
        ("sign.miss", "one"),
    ]);
    for (cylinder, times) in [
        ("1", "8,1 8,4 8,2"),
        ("2", "8,0 8,3 8,1"),
        ("3", "8,2 15,1 8,3"),
        ("4", "8,5 8,2"),
    ] {
        for (trial, time) in times.split(' ').enumerate() {
            let trial = (trial + 1).to_string();
            let value = format!("{time} s");
            add(&[
                ("what", "reading"),
                ("check", "plug_glow_time"),
                ("cylinder", cylinder),
                ("trial", &trial),
                ("value", &value),
                ("supply", "12,2 V"),
                ("by", "JK"),
            ]);
        }
    }
    add(&[("what", "told"), ("told.since", "first_frost")]);
    add(&[("what", "aside"), ("entry", "9"), ("why", "clip slipped")]);
    add(&[("what", "later"), ("check", "compression")]);
    add(&[
        ("what", "cannot"),
        ("check", "leak_down"),
        ("reason", "no tool"),
    ]);
    add(&[
        ("what", "reading"),
        ("check", "plug_ohms"),
        ("cylinder", "2"),
        ("value", "open"),
        ("note", "meter touched twice"),
    ]);
    add(&[
        ("what", "work"),
        ("repair", "replace_plug"),
        ("cylinder", "2"),
        ("minutes", "25"),
    ]);
    let empty = [("complaint", "cranks long")];
    assert_eq!(visitor.post("/new", &empty).status, 303);
    page
}

fn picture(browser: &Browser, path: &str, view: View) {
    if let Ok(place) = std::env::var("HARDSTART_SCREENSHOTS") {
        let name = path.replace(|c: char| !c.is_ascii_alphanumeric(), "_");
        let dark = if view.dark { "_dark" } else { "" };
        let file = format!("{}{dark}{name}.png", view.width);
        browser.screenshot(&Path::new(&place).join(file));
    }
}

/// The checker, a package that the continuous run installs (`tests/accessibility`).
fn checker() -> Option<String> {
    let place = std::env::var_os("HARDSTART_AXE").map_or_else(
        || {
            let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/accessibility");
            own.join("node_modules/axe-core/axe.min.js")
        },
        PathBuf::from,
    );
    let source = std::fs::read_to_string(&place).ok();
    if source.is_none() {
        skipped(&format!(
            "no checker of accessibility at {}; npm ci in tests/accessibility",
            place.display()
        ));
    }
    source
}

/// Runs it on the whole page; text contrast is held to 7 to 1.
const RUN: &str = "
    const done = arguments[0];
    axe.run(document, { rules: { 'color-contrast-enhanced': { enabled: true } },
                        resultTypes: ['violations'] })
       .then(r => done(r.violations.map(v => ({ rule: v.id, impact: v.impact,
             at: v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + ' ' + n.failureSummary) }))),
             e => done([{ rule: String(e), impact: 'critical', at: [] }]));";

/// No page has a serious or critical fault.
pub fn accessible(dark: bool) {
    if no_browser() {
        return;
    }
    let Some(source) = checker() else {
        return;
    };
    let page = furnished();
    let view = View { dark, ..PHONE };
    let browser = Browser::new(view);
    let mut faults = Vec::new();
    for path in PATHS {
        browser.go(&format!("http://{}{path}", page.address()));
        // What is folded is looked at too.
        browser.script(
            "document.querySelectorAll('details').forEach(d => d.open = true)",
            &json!([]),
        );
        let found = browser.script_later(&format!("{source}\n{RUN}"), &json!([]));
        let list = found
            .as_array()
            .unwrap_or_else(|| panic!("{path}: {found}"));
        let bad = list
            .iter()
            .filter(|v| matches!(v["impact"].as_str(), Some("serious" | "critical")));
        faults.extend(bad.map(|v| format!("{path}: {v:#}")));
        picture(&browser, path, view);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// What is wider than the page, lower than a glove needs, or fetched from elsewhere.
const RULER: &str = "
    const wide = document.documentElement.clientWidth, glove = arguments[0];
    const shown = e => e.getClientRects().length > 0;
    const box = e => e.getBoundingClientRect();
    const say = e => e.outerHTML.slice(0, 120);
    const all = [...document.querySelectorAll('body *')].filter(shown);
    const out = all.filter(e => box(e).width > 1 && (box(e).right > wide + 1 || box(e).left < -1));
    const pressed = 'button, a.key, a.main, select, input[type=text], textarea, label.chip, summary';
    const low = [...document.querySelectorAll(pressed)].filter(shown)
        .filter(e => box(e).height < glove - 0.5);
    // A bare link is at least as high as a finger.
    const thin = [...document.querySelectorAll('main a, nav a')].filter(shown)
        .filter(e => box(e).height < 43.5 && box(e).width > 1);
    const files = performance.getEntriesByType('resource');
    return { scroll: document.documentElement.scrollWidth - wide,
             out: out.map(say), low: low.map(say), thin: thin.map(say),
             away: files.map(f => f.name).filter(n => !n.startsWith(location.origin)),
             bytes: document.documentElement.outerHTML.length
                    + files.reduce((sum, f) => sum + f.decodedBodySize, 0) };";

/// Nothing scrolls sideways, is too low to press, too big to bring, or fetched from elsewhere.
pub fn fits() {
    if no_browser() {
        return;
    }
    let page = furnished();
    for (width, height) in SCREENS {
        let view = View {
            width,
            height,
            ..PHONE
        };
        let browser = Browser::new(view);
        for path in PATHS {
            browser.go(&format!("http://{}{path}", page.address()));
            let found = browser.script(RULER, &json!([GLOVE]));
            let none = |key: &str| found[key].as_array().is_some_and(Vec::is_empty);
            let right =
                found["scroll"] == 0 && ["out", "low", "thin", "away"].iter().all(|k| none(k));
            assert!(right, "{path} at {width}: {found:#}");
            let bytes = found["bytes"].as_f64().unwrap();
            assert!(bytes < PAGE_BYTES, "{path} brings {bytes} bytes");
            picture(&browser, path, view);
        }
    }
    assert_ne!(page.entries("1"), 0);
}
