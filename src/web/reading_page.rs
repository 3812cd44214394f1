//! Readings: the list of checks, and the form of one with all its states.
//!
//! Must not judge a reading.

use maud::{Markup, html};

use super::bench::Bench;
use super::cautions_card::care_of;
use super::fields::{Fields, coded};
use super::forms::{form, of_which, who};
use super::frame::{bar_of_job, of_job, page};
use super::inputs::{choice, number, problems, text};
use super::routes::{Ask, Refusal, Reply};
use crate::evidence::timed::TIMED;
use crate::job::{Absent, CylinderOne, EntryBody, Job, Repeat};
use crate::knowledge::{Check, CheckKind, Per};
use crate::report::page::typeset;
use crate::report::{entry_words, moves, names};

/// Cylinders offered when nobody said how many there are.
const CYLINDERS: u8 = 4;

/// The list of checks, or the form of the one that is asked for.
///
/// # Errors
/// When there is no such job or check.
pub fn reading(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    if ask.query.some("check").is_some() {
        return one(bench, ask, &ask.query, &[]).map(Reply::Page);
    }
    let knowledge = bench.knowledge();
    let job = bench.book()?.job(&ask.job, knowledge)?.job;
    let mut systems: Vec<&str> = Vec::new();
    let fits: Vec<&Check> = knowledge
        .checks
        .iter()
        .filter(|c| job.engine.may_have(&c.needs))
        .collect();
    for check in &fits {
        if !systems.contains(&check.system.as_str()) {
            systems.push(&check.system);
        }
    }
    let content = html! {
        h1 { "Add reading" }
        (of_which(&job))
        nav.states aria-label="By system" {
            @for system in &systems { a href=(format!("#{}", coded(system))) { (names::plain(system)) } }
            a href="#seen" { "seen or told" }
        }
        @for system in systems {
            section.card {
                h2 id=(system) { (names::plain(system)) }
                ul.plain {
                    @for check in fits.iter().filter(|c| c.system == system) {
                        li { a.row href=(address(&ask.job, check.id.get_ref(), None)) { (check.label) } }
                    }
                }
            }
        }
        section.card #seen {
            ul.plain {
                li { a.row href=(of_job(&ask.job, "start")) { "Something seen at a start" } }
                li { a.row href=(of_job(&ask.job, "told")) { "Something told by the customer" } }
            }
        }
    };
    Ok(Reply::Page(page(
        "Add reading",
        &bar_of_job(&ask.job),
        &content,
    )))
}

/// Address of the form of a check.
#[must_use]
pub fn address(job: &str, check: &str, cylinder: Option<u8>) -> String {
    let cylinder = cylinder.map_or(String::new(), |c| format!("&cylinder={c}"));
    format!(
        "{}?check={}{cylinder}",
        of_job(job, "reading"),
        coded(check)
    )
}

/// The form of a check with what was typed.
///
/// # Errors
/// When there is no such job or check.
pub fn one(
    bench: &Bench,
    ask: &Ask,
    typed: &Fields,
    wrong: &[(String, String)],
) -> Result<Markup, Refusal> {
    let knowledge = bench.knowledge();
    let job = bench.book()?.job(&ask.job, knowledge)?.job;
    let id = typed.get("check");
    let Some(check) = knowledge.checks.iter().find(|c| c.id.get_ref() == id) else {
        return Err(Refusal::Missing("There is no such check.".to_owned()));
    };
    let saved = typed.some("saved").and_then(|s| s.parse::<usize>().ok());
    let read_before = job
        .entries
        .iter()
        .any(|e| matches!(&e.body, EntryBody::Reading(r) if r.check == id));
    let content = html! {
        h1 { (check.label) }
        (of_which(&job))
        @if let Some(saved) = saved.filter(|s| *s > 0 && *s <= job.entries.len()) {
            p.saved role="status" { "Saved: " (entry_words::in_full(knowledge, &job, saved - 1)) }
        }
        (problems(wrong))
        section.card {
            (care_of(bench, ask, check.hazards.iter().map(|h| h.get_ref().as_str())))
            @if !check.how.is_empty() {
                details open[!read_before] { summary { "How" } ol { @for step in &check.how { li { (typeset(step)) } } } }
            }
            (pad(ask, &job, check, typed))
        }
    };
    Ok(page(&check.label, &bar_of_job(&ask.job), &content))
}

/// Where a reading is typed: cylinder, result, why there is none, and what belongs to it.
#[must_use]
pub fn pad(ask: &Ask, job: &Job, check: &Check, typed: &Fields) -> Markup {
    let is_timed = check.id.get_ref() == TIMED;
    let is_ohms = check
        .quantity
        .as_ref()
        .is_some_and(|q| q.get_ref() == "resistance");
    let before = |e: &crate::job::Entry| {
        matches!(&e.body, EntryBody::Reading(r)
            if r.check == *check.id.get_ref()
            && r.cylinder.map(|c| c.to_string()).as_deref() == typed.some("cylinder"))
    };
    let earlier = job
        .entries
        .iter()
        .filter(|e| e.is_recorded() && before(e))
        .count();
    let typed = if is_timed && typed.some("trial").is_none() && typed.some("cylinder").is_some() {
        typed.clone().with("trial", &(earlier + 1).to_string())
    } else {
        typed.clone()
    };
    let typed = &typed;
    form(
        ask,
        &job.job,
        "reading",
        job.entries.len(),
        &html! {
            input type="hidden" name="check" value=(check.id.get_ref());
            @if check.per == Per::Cylinder { (cylinders(job, typed)) }
            (result(check, typed))
            details.none open[typed.some("state").is_some_and(|s| s != "measured")] {
                summary { "No result? Say why" }
                (choice("state", "Why there is none", "", &states(), typed))
            }
            details open[is_timed || is_ohms] {
                summary { "With it" }
                @if is_timed || earlier > 0 { (text("trial", "Trial number", "", typed)) }
                (number("supply", "Supply meanwhile", &["V"], false, typed))
                @if is_timed { (number("rest", "Rest since the last trial", &["min"], false, typed)) }
                @if is_ohms {
                    (number("leads", "Meter leads touched together", &["ohm"], false, typed))
                }
                (text("tool", "With what", "", typed))
                @if earlier > 0 { (choice("repeat", "Once more", "", &repeats(), typed)) }
                (text("why_not", "Why it could not be tested", "", typed))
                label.chip.single {
                    input type="checkbox" name="confirmed" value="yes"
                        checked[typed.some("confirmed").is_some()];
                    span { "looked twice, it is so" }
                }
                (who(typed))
            }
            button.main type="submit" { "Save result" }
            @if check.per == Per::Cylinder && !is_last(job, typed) {
                button.second type="submit" name="then" value="next_cylinder" {
                    "Save, then the next cylinder"
                }
            }
        },
    )
}

/// Whether the cylinder chosen by the page is the last one of the engine.
fn is_last(job: &Job, typed: &Fields) -> bool {
    let last = job.engine.cylinders.map(|c| c.to_string());
    last.is_some_and(|last| typed.some("cylinder") == Some(&last))
}

fn states() -> Vec<(String, String)> {
    let measured = ("measured".to_owned(), "there is a result".to_owned());
    // Who writes down that nothing was written down?
    let rest = Absent::ALL.iter().filter(|a| **a != Absent::NotRecorded);
    let rest = rest.map(|a| {
        let shown = match a {
            Absent::JudgedNormal => "looked normal",
            Absent::NotRecorded => "nothing written down",
            Absent::NotTested => "not tested",
            Absent::CouldNotTest => "couldn't test",
            Absent::NoReading => "no reading",
            Absent::Unreadable => "unreadable",
        };
        (a.id().to_owned(), shown.to_owned())
    });
    std::iter::once(measured).chain(rest).collect()
}

fn repeats() -> Vec<(String, String)> {
    let all = Repeat::ALL.iter();
    all.map(|r| (r.id().to_owned(), moves::how(*r).to_owned()))
        .collect()
}

fn result(check: &Check, typed: &Fields) -> Markup {
    let words = |states: &[String]| -> Vec<(String, String)> {
        states
            .iter()
            .map(|s| (s.clone(), names::found(s)))
            .collect()
    };
    match check.kind {
        CheckKind::States => choice("result", "What was found", "", &words(&check.states), typed),
        CheckKind::Number => {
            let quantity = check.quantity.as_ref().map_or("", |q| q.get_ref().as_str());
            html! {
                (number("value", "What was read", units(quantity), false, typed))
                p.hint { "Comma or dot. Write > before it if it went beyond what you can read." }
                @if let Some(off) = &check.off_scale {
                    (choice("result", "or off the end", "", &words(std::slice::from_ref(off)), typed))
                }
            }
        }
    }
}

/// Units to tap, the usual one first.
fn units(quantity: &str) -> &'static [&'static str] {
    match quantity {
        "temperature" => &["°C", "°F"],
        "temperature_difference" => &["K", "°F"],
        "pressure" => &["bar", "psi", "kgf/cm²"],
        "voltage" => &["V", "mV"],
        "current" => &["A", "mA"],
        "resistance" => &["ohm", "mohm", "kohm"],
        "time" => &["s", "min"],
        "rotational_speed" => &["rpm"],
        "ratio" => &["%"],
        _ => &[],
    }
}

/// The cylinders in a strip, with the ends of the engine named.
fn cylinders(job: &Job, typed: &Fields) -> Markup {
    let count = job.engine.cylinders.unwrap_or(CYLINDERS);
    let ends = match job.engine.cylinder_one {
        CylinderOne::PulleyEnd => ["pulley end", "flywheel end"],
        CylinderOne::FlywheelEnd => ["flywheel end", "pulley end"],
        CylinderOne::Unknown => ["cylinder 1 end", "last cylinder"],
    };
    let of: Vec<(String, String)> = (1..=count)
        .map(|c| (c.to_string(), c.to_string()))
        .collect();
    choice(
        "cylinder",
        "Cylinder",
        &format!("from {} to {}", ends[0], ends[1]),
        &of,
        typed,
    )
}
