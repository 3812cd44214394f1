//! The first-start watch, the cold start after the work, and what the customer tells.
//!
//! Must not judge a start.

use maud::{Markup, html};

use super::bench::Bench;
use super::cautions_card::care;
use super::entry::{BEFORE_WORK, SIGN, TOLD};
use super::fields::Fields;
use super::forms::{OneForm, who};
use super::inputs::{choice, number, text};
use super::routes::{Ask, Refusal};
use crate::job::{Fact, Job, PreheatKind, StartResult};
use crate::knowledge::{Knowledge, Sign, When};
use crate::report::page::typeset;
use crate::report::{names, panels};

/// Cautions that stand before a start is watched, by their ids; the words are those of the checks.
const BEFORE: [&str; 2] = ["over_cranking", "starting_fluid"];

/// Signs of a start that tell most, seen without opening anything: fuel that does not come from fuel
/// that does not burn, one cylinder from all, cranking and preheat. Own judgement.
const TELLING: [&str; 7] = [
    "crank_time",
    "smoke_cranking",
    "smoke_after",
    "time_to_even",
    "miss",
    "crank_sound",
    "lamp",
];

/// What a customer can tell that tells most, seen without opening anything: how it began, cold or hot,
/// and what a second preheat does. Own judgement.
const TELLING_TOLD: [&str; 5] = [
    "since",
    "standing",
    "threshold",
    "hot_restart",
    "extra_preheat",
];

/// What to ask the customer, who has no torch and no test lamp in hand: by the id of the sign. Where
/// nothing stands here, the label is question enough.
const QUESTIONS: [(&str, &str); 17] = [
    (
        "since",
        "Did it come little by little or at once, and after what?",
    ),
    (
        "standing",
        "After how long a stand is it bad: a night, a few days, weeks?",
    ),
    ("threshold", "How cold must it be before it starts badly?"),
    ("hot_restart", "Hot, does it start again at once?"),
    (
        "extra_preheat",
        "Does it start better if you preheat twice or three times?",
    ),
    ("smoke_warm", "Driven warm, does it smoke, and what colour?"),
    ("miss_warm", "Warm, does it run evenly?"),
    (
        "parking",
        "Is it worse parked nose up, nose down, or with little in the tank?",
    ),
    ("warm_power", "Warm, does it pull as it always did?"),
    ("oil_use", "Does it use oil?"),
    ("coolant_loss", "Do you top up coolant?"),
    ("block_heater", "Does a block heater or warm water help?"),
    (
        "jump_or_tow",
        "Does it start with jump leads, or when it was towed?",
    ),
    (
        "priming",
        "Does it start better if you pump the fuel up by hand first?",
    ),
    (
        "lever_effect",
        "Does the accelerator or the cold lever help?",
    ),
    ("hoses", "Did you see or smell fuel under it?"),
    ("ether", "Has starting spray been used?"),
];

/// Units of a temperature to tap.
const DEGREES: [&str; 2] = ["°C", "°F"];

type Wrong<'w> = &'w [(String, String)];

/// The watch sheet.
///
/// # Errors
/// When there is no such job.
pub fn start(
    bench: &Bench,
    ask: &Ask,
    typed: &Fields,
    wrong: Wrong<'_>,
) -> Result<Markup, Refusal> {
    let knowledge = bench.knowledge();
    let job = bench.book()?.job(&ask.job, knowledge)?.job;
    let form = OneForm {
        title: panels::FIRST_START,
        what: "start",
        before: html! {
            p { "The first start is the best look there is, and there is one a day. Fill in what \
                 you saw; leave the rest." }
            (care(knowledge, BEFORE.into_iter()))
            (watch(&job))
        },
        fields: html! {
            @if crate::job::verification(&job, knowledge).last_work.is_some() {
                label.chip.single {
                    input type="checkbox" name=(BEFORE_WORK) value="yes"
                        checked[typed.some(BEFORE_WORK).is_some()];
                    span { "it was before the work, seen here or told" }
                }
            }
            (how_cold(typed))
            @if job.engine.preheat != PreheatKind::None {
                (number("preheat", "Preheated for", &["s"], false, typed))
            }
            (text("tries", "Tries", "", typed))
            @for sign in of(knowledge, When::Start).filter(|s| is_one_of(&TELLING, s)) { (one(sign, SIGN, typed)) }
            details open[more_was_seen(knowledge, typed)] {
                summary { "More, if you saw or heard it: starts and dies, knock, smell, idle, relay" }
                @for sign in of(knowledge, When::Start).filter(|s| !is_one_of(&TELLING, s)) { (one(sign, SIGN, typed)) }
            }
            (who(typed))
        },
        save: "Save the start",
    };
    Ok(form.page(ask, &job, wrong))
}

/// The cold start after the work.
///
/// # Errors
/// When there is no such job.
pub fn cold(bench: &Bench, ask: &Ask, typed: &Fields, wrong: Wrong<'_>) -> Result<Markup, Refusal> {
    let knowledge = bench.knowledge();
    let job = bench.book()?.job(&ask.job, knowledge)?.job;
    let verification = crate::job::verification(&job, knowledge);
    let results = StartResult::ALL.iter().map(|r| {
        let shown = match r {
            StartResult::Right => "right, as a sound engine starts",
            StartResult::Better => "better, not right",
            StartResult::Same => "as before",
            StartResult::Worse => "worse than before",
        };
        (r.id().to_owned(), shown.to_owned())
    });
    let results: Vec<(String, String)> = results.collect();
    let asked = ["crank_time", "smoke_after", "miss"];
    let form = OneForm {
        title: panels::COLD_START_PROOF,
        what: "cold",
        before: html! {
            @if verification.last_work.is_none() {
                p { "No work is written down yet that a cold start could prove." }
            }
            p {
                "It counts after " (format!("{:.0}", crate::job::LEAST_SOAK_HOURS)) " h or more"
                @match verification.complaint_temperature {
                    Some(t) => { (typeset(&format!(" at {:.0} °C or colder", t + crate::job::WARMER_BY))) }
                    None => { ", as cold as it was when it started badly" }
                }
                ". Started warm is not proof for a cold-start fault."
            }
            (care(knowledge, BEFORE.into_iter()))
            (watch(&job))
        },
        fields: html! {
            (choice("result", "How did it start?", "", &results, typed))
            (how_cold(typed))
            (text("tries", "Tries", "", typed))
            @for sign in of(knowledge, When::Start) {
                @if asked.contains(&sign.id.get_ref().as_str()) { (one(sign, SIGN, typed)) }
            }
            (who(typed))
        },
        save: "Save the cold start",
    };
    Ok(form.page(ask, &job, wrong))
}

/// Where the script puts stopwatch and pulse counter.
fn watch(job: &Job) -> Markup {
    let cylinders = job.engine.cylinders;
    let cylinders = cylinders.map_or(String::new(), |c| c.to_string());
    html! { div.watch data-cylinders=(cylinders) hidden {} }
}

fn is_one_of(telling: &[&str], sign: &Sign) -> bool {
    telling.contains(&sign.id.get_ref().as_str())
}

/// Whether something was typed into a field that is folded.
fn more_was_seen(knowledge: &Knowledge, typed: &Fields) -> bool {
    let mut folded = of(knowledge, When::Start).filter(|s| !is_one_of(&TELLING, s));
    folded.any(|s| typed.some(&format!("{SIGN}{}", s.id.get_ref())).is_some())
}

fn more_was_said(knowledge: &Knowledge, typed: &Fields) -> bool {
    let mut folded = of(knowledge, When::Lasting).filter(|s| !is_one_of(&TELLING_TOLD, s));
    folded.any(|s| typed.some(&format!("{TOLD}{}", s.id.get_ref())).is_some())
}

/// How cold the engine is and how long it stood.
fn how_cold(typed: &Fields) -> Markup {
    html! {
        (number("engine_temperature", "Engine at (after a night, as cold as the air)", &DEGREES, true, typed))
        (number("soak", "Stood for", &["h"], false, typed))
    }
}

/// What the customer tells.
///
/// # Errors
/// When there is no such job.
pub fn told(bench: &Bench, ask: &Ask, typed: &Fields, wrong: Wrong<'_>) -> Result<Markup, Refusal> {
    let knowledge = bench.knowledge();
    let job = bench.book()?.job(&ask.job, knowledge)?.job;
    let facts = Fact::ALL.iter().map(|fact| {
        let label = match fact {
            Fact::RecentWork => "work shortly before",
            Fact::LaidUp => "stood unused for weeks",
            Fact::PlugsRenewed => "plugs renewed lately",
        };
        let states = words_of("nobody said", fact.states().iter().copied());
        (format!("{TOLD}{}", fact.id()), label, states)
    });
    let facts: Vec<_> = facts.collect();
    let form = OneForm {
        title: "Told by the customer",
        what: "told",
        before: html! {
            p { "What is told weighs less than what is seen. Ask what happened, not what it is." }
            p.hint { "What has no place below goes into the remark: when fuel was bought, what smoke \
                      there is at the cold start, whether a second try starts at once." }
        },
        fields: html! {
            @for sign in of(knowledge, When::Lasting).filter(|s| is_one_of(&TELLING_TOLD, s)) {
                (one(sign, TOLD, typed))
            }
            @for (name, label, states) in &facts { (choice(name, label, "", states, typed)) }
            details open[more_was_said(knowledge, typed)] {
                summary { "More, if it was said: smoke and pull when warm, parking, block heater, priming, oil, coolant" }
                @for sign in of(knowledge, When::Lasting).filter(|s| !is_one_of(&TELLING_TOLD, s)) {
                    (one(sign, TOLD, typed))
                }
            }
            (who(typed))
        },
        save: "Save what was told",
    };
    Ok(form.page(ask, &job, wrong))
}

fn of(knowledge: &Knowledge, when: When) -> impl Iterator<Item = &Sign> {
    knowledge.signs.iter().filter(move |s| s.when == when)
}

fn words_of<'s>(blank: &str, states: impl Iterator<Item = &'s str>) -> Vec<(String, String)> {
    let blank = (String::new(), blank.to_owned());
    let named = states.map(|s| (s.to_owned(), names::state(s)));
    std::iter::once(blank).chain(named).collect()
}

fn one(sign: &Sign, begin: &str, typed: &Fields) -> Markup {
    let name = format!("{begin}{}", sign.id.get_ref());
    let blank = match begin {
        TOLD => "nobody said",
        _ => "not looked at",
    };
    let states = words_of(blank, sign.states.iter().map(String::as_str));
    let asked = QUESTIONS
        .iter()
        .find(|q| begin == TOLD && q.0 == sign.id.get_ref());
    let hint = asked.map_or(sign.look.as_str(), |q| q.1);
    html! {
        (choice(&name, &sign.label, hint, &states, typed))
        @if sign.seconds.is_some() {
            (number(&format!("{name}.seconds"), "or in seconds", &["s"], false, typed))
        }
    }
}
