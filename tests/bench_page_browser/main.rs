//! The bench page in a real browser: a whole job at 360 by 640 with script, without script and
//! by the keyboard alone; how every page looks to a checker of accessibility and to a ruler.
//!
//! The browser is driven through its WebDriver. Where none is installed the tests say so.

#[path = "../bench_page/mod.rs"]
mod bench_page;
#[path = "../driver/mod.rs"]
mod driver;
mod hand;
mod looks;
mod paper;
mod story;

use std::io::Write as _;
use std::path::Path;

use bench_page::Page;
use driver::{Browser, PHONE, View};
use hand::Hand;
use hardstart::web::Limits;

/// Whether there is a browser to be driven. `HARDSTART_BROWSER=needed` makes its absence a fault.
fn no_browser() -> bool {
    let missing = !Path::new(driver::DRIVER).exists();
    if missing {
        skipped(&format!(
            "no browser driver at {}; install chromium and chromium-driver",
            driver::DRIVER
        ));
    }
    missing
}

/// Says past the harness, which keeps what a passing test says to itself, that nothing was shown.
fn skipped(why: &str) {
    let needed = std::env::var("HARDSTART_BROWSER").is_ok_and(|v| v == "needed");
    assert!(!needed, "{why}");
    let _ = writeln!(std::io::stderr(), "SKIPPED, NOT PASSED: {why}");
}

fn whole_job(script: bool, keyboard: bool) {
    if no_browser() {
        return;
    }
    let page = Page::new(Limits::default());
    let browser = Browser::new(View { script, ..PHONE });
    story::whole_job(&page, &Hand::new(&browser, keyboard), script);
}

#[test]
fn a_job_from_complaint_to_proof_with_script() {
    whole_job(true, false);
}

#[test]
fn a_job_from_complaint_to_proof_without_script() {
    whole_job(false, false);
}

#[test]
fn a_job_from_complaint_to_proof_by_the_keyboard_alone() {
    whole_job(true, true);
}

#[test]
fn every_page_passes_the_checker_of_accessibility_by_day() {
    looks::accessible(false);
}

#[test]
fn every_page_passes_the_checker_of_accessibility_in_the_dark() {
    looks::accessible(true);
}

#[test]
fn every_page_fits_a_narrow_phone_a_phone_and_a_laptop() {
    looks::fits();
}

#[test]
fn a_long_job_is_one_sheet_of_paper() {
    paper::one_page();
}
