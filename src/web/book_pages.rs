//! Pages of the book: the list with its reminders, a new job, engine and bench, joining.
//!
//! Must not judge a job.

use std::time::Instant;

use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::bench::Bench;
use super::cylinder_ends;
use super::entry::Problems;
use super::fields::Fields;
use super::form_words::in_form;
use super::forms::{hidden, in_words};
use super::frame::{bar_of_book, bar_of_job, of_job, page};
use super::inputs::{choice, number, pick, problems, text, typed_number, words};
use super::routes::{Ask, Refusal, Reply};
use super::seats::Join;
use crate::job::{
    Arrived, Chamber, CylinderOne, Job, JobState, MOST_CYLINDERS, PreheatKind, PumpKind, SCHEMA,
    Wiring, read_json,
};
use crate::report::page::typeset;
use crate::report::{names, slips_text};

/// Says that what is ticked is that of the newest job; no field of the form.
const AS_LAST_TIME: &str = "as_last_time";
/// Jobs on one page of the list.
const MOST: usize = 50;

/// The list.
///
/// # Errors
/// When the book cannot be read.
pub fn list(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let book = bench.book()?;
    let knowledge = bench.knowledge();
    let state = JobState::from_id(ask.query.get("state"));
    let from: usize = ask.query.get("from").parse().unwrap_or(0);
    let mut slips = book.slips(state, from, MOST + 1, knowledge)?;
    let more = slips.len() > MOST;
    slips.truncate(MOST);
    let counts = book.counts(knowledge)?;
    let waiting = if state.is_none() && from == 0 {
        book.waiting(knowledge)?
    } else {
        Vec::new()
    };
    let now = jiff::Timestamp::now();
    let shown = state.map_or("", JobState::id);
    let content = html! {
        h1 { "Jobs" }
        @if !waiting.is_empty() {
            section.card {
                h2 { "Waiting for a cold start" }
                ul.plain {
                    @for w in waiting.iter().take(MOST) {
                        li {
                            a.row href=(of_job(&w.job, "cold")) { b { (w.job) } " " (w.complaint) }
                            p.hint { (typeset(&slips_text::reminder(w, now))) }
                        }
                    }
                }
            }
        }
        section.card {
            nav.states aria-label="By state" {
                a href="/" aria-current=[state.is_none().then_some("true")] { "all" }
                @for (s, count) in counts.iter().filter(|c| c.1 > 0) {
                    a href=(format!("/?state={}", s.id()))
                        aria-current=[(state == Some(*s)).then_some("true")] {
                        (s.label()) " (" (count) ")"
                    }
                }
            }
            @if slips.is_empty() {
                @if state.is_none() {
                    p { "No jobs yet. Open one with what the customer says is wrong; all else can \
                         wait." }
                    a.main href="/new" { "New job" }
                } @else { p { "No jobs." } }
            }
            ul.plain {
                @for slip in &slips {
                    li {
                        a.row href=(of_job(&slip.job, "")) { b { (slip.job) } " " (slip.complaint) }
                        p.hint {
                            (slip.state.label()) "; " (slip.entries)
                            @if slip.entries == 1 { " entry" } @else { " entries" }
                            @if let Some(at) = &slip.last_at {
                                "; " (at.chars().take(16).collect::<String>().replace('T', " "))
                            }
                        }
                    }
                }
            }
            @if more {
                a.key href=(format!("/?state={shown}&from={}", from + MOST)) { "Older jobs" }
            }
        }
    };
    Ok(Reply::Page(page("Jobs", &bar_of_book(), &content)))
}

/// A new job.
///
/// # Errors
/// When the book cannot be read.
pub fn new(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    Ok(Reply::Page(new_form(
        bench,
        ask,
        &as_last_time(bench)?,
        &[],
    )))
}

/// Tools and people of the newest job: a shop's tools change little, and nobody is asked twice.
fn as_last_time(bench: &Bench) -> Result<Fields, Refusal> {
    let book = bench.book()?;
    let newest = book.slips(None, 0, 1, bench.knowledge())?.pop();
    let mut typed = Fields::default();
    // What cannot be read is asked again.
    let newest = newest.and_then(|slip| book.job(&slip.job, bench.knowledge()).ok());
    if let Some(newest) = newest {
        typed = typed.with(AS_LAST_TIME, "yes");
        for tool in newest.job.bench.tools.iter().flatten() {
            typed = typed.with(&format!("tool.{tool}"), "yes");
        }
        if let Some(people) = newest.job.bench.people {
            typed = typed.with("people", &people.to_string());
        }
    }
    Ok(typed)
}

fn new_form(bench: &Bench, ask: &Ask, typed: &Fields, wrong: &[(String, String)]) -> Markup {
    let content = html! {
        h1 { "New job" }
        (problems(wrong))
        section.card {
            p { "Before it is brought in: leave it unstarted overnight, spray nothing in, note how \
                 cold it was, leave the tank as it is." }
            form method="post" action="/new" data-draft="new" {
                (hidden(ask))
                (words("complaint", "What's wrong", "in the customer's words", typed))
                (arrived(typed))
                (text("job", "Job number", "left empty: the next free one", typed))
                details open[!wrong.is_empty()] {
                    summary { "Engine, as far as known" }
                    (shape(typed))
                }
                details {
                    summary { (tools_ticked(typed)) }
                    (tools(bench, typed))
                }
                (words("opinion", "What do you think it is?",
                    "kept as it is, before anything is reckoned; may stay empty", typed))
                button.main type="submit" { "Open the job" }
            }
        }
    };
    page("New job", &bar_of_book(), &content)
}

fn ids<T: Copy>(all: &[T], id: fn(T) -> &'static str) -> Vec<(String, String)> {
    let named = all
        .iter()
        .map(|t| (id(*t).to_owned(), names::plain(id(*t))));
    named
        .map(|(value, shown)| match value.as_str() {
            "unknown" => (value, "don't know".to_owned()),
            _ => (value, shown),
        })
        .collect()
}

/// Whether there is a cold start to be watched.
fn arrived(typed: &Fields) -> Markup {
    let of = Arrived::ALL.iter().map(|a| {
        let shown = match a {
            Arrived::Cold => "cold, not started today",
            Arrived::Warm => "warm, it was run",
            Arrived::NotHereYet => "not here yet",
        };
        (a.id().to_owned(), shown.to_owned())
    });
    let of: Vec<(String, String)> = of.collect();
    choice("arrived", "Cold or warm now?", "", &of, typed)
}

/// The engine by its shape.
fn shape(typed: &Fields) -> Markup {
    let mut cylinders = vec![(String::new(), "don't know".to_owned())];
    cylinders.extend((1..=MOST_CYLINDERS).map(|c| (c.to_string(), c.to_string())));
    let volts = [
        ("", "don't know"),
        ("12", "12 V"),
        ("24", "24 V"),
        ("6", "6 V"),
    ]
    .map(|(v, s)| (v.to_owned(), s.to_owned()));
    html! {
        (pick("cylinders", "Cylinders", &cylinders, typed))
        (choice("chamber", "Chamber", "", &ids(Chamber::ALL, Chamber::id), typed))
        (choice("preheat", "Preheat", "", &ids(PreheatKind::ALL, PreheatKind::id), typed))
        (pick("preheat_wiring", "How the plugs are fed", &ids_last_first(Wiring::ALL, Wiring::id), typed))
        (choice("pump", "Pump", "", &ids(PumpKind::ALL, PumpKind::id), typed))
        (choice("system_volts", "System volts", "", &volts, typed))
        (choice("cylinder_one", "Cylinder 1 is at the", "", &ids(CylinderOne::ALL, CylinderOne::id), typed))
        (text("use", "What it is in, or drives", "", typed))
        (number("hours", "Hours run", &["h"], false, typed))
        (number("distance", "Distance run", &["km", "mi"], false, typed))
    }
}

/// The unknown one first: it is what an untouched list says.
fn ids_last_first<T: Copy>(all: &[T], id: fn(T) -> &'static str) -> Vec<(String, String)> {
    let mut ids = ids(all, id);
    ids.rotate_right(1);
    ids
}

/// What the folded list of tools is called.
fn tools_ticked(typed: &Fields) -> String {
    match typed.beginning("tool.").count() {
        0 => "Tools and people".to_owned(),
        n if typed.some(AS_LAST_TIME).is_some() => {
            format!("Tools and people as on the last job ({n} ticked)")
        }
        n => format!("Tools and people ({n} ticked)"),
    }
}

fn tools(bench: &Bench, typed: &Fields) -> Markup {
    let people = [("", "nobody said"), ("1", "1"), ("2", "2"), ("3", "3")]
        .map(|(v, s)| (v.to_owned(), s.to_owned()));
    html! {
        (choice("people", "People at hand, you included", "", &people, typed))
        fieldset.chips {
            legend { "Tools at hand" }
            p.hint { "Tap none if you would rather be asked; then nothing is hidden." }
            @for tool in bench.knowledge().tools.iter().filter(|t| !t.always) {
                @let name = format!("tool.{}", tool.id.get_ref());
                label.chip {
                    input type="checkbox" name=(name) value="yes"
                        checked[typed.some(&name).is_some()];
                    span { (tool.label) }
                }
            }
        }
    }
}

/// Engine and bench of a form, as job files have them. An engine field left empty is forgotten.
fn head(form: &Fields) -> Map<String, Value> {
    let mut engine = Map::new();
    for key in [
        "chamber",
        "preheat",
        "preheat_wiring",
        "pump",
        "cylinder_one",
        "use",
    ] {
        let value = form.some(key).map(Value::from);
        engine.insert(key.to_owned(), value.unwrap_or_default());
    }
    for key in ["cylinders", "system_volts"] {
        let value = form
            .some(key)
            .map(|v| v.parse::<u32>().map_or(v.into(), Value::from));
        engine.insert(key.to_owned(), value.unwrap_or_default());
    }
    for (key, unit) in [("hours", "h"), ("distance", "km")] {
        // The unit the form shows, where none was sent.
        let of_unit = format!("{key}.unit");
        let form = &form.clone().with(key, &without_gaps(form.get(key)));
        let value = match form.some(&of_unit) {
            Some(_) => typed_number(key, form),
            None => typed_number(key, &form.clone().with(&of_unit, unit)),
        };
        let value = value.map(Value::from);
        engine.insert(key.to_owned(), value.unwrap_or_default());
    }
    let tools: Vec<Value> = form
        .beginning("tool.")
        .map(|(tool, _)| tool.into())
        .collect();
    let tools = if tools.is_empty() {
        Value::Null
    } else {
        tools.into()
    };
    let people = form.some("people").and_then(|p| p.parse::<u8>().ok());
    let bench = json!({ "arrived": form.some("arrived"), "tools": tools, "people": people });
    let mut head = Map::new();
    head.insert("engine".to_owned(), engine.into());
    head.insert("bench".to_owned(), bench);
    head
}

/// A counter's figure without the gaps between its groups of three: `9 400` is 9400. A gap is never a
/// decimal sign.
fn without_gaps(typed: &str) -> String {
    let mut groups = typed.trim().split([' ', '\u{a0}', '\u{202f}']);
    let is = |g: &str, most: std::ops::RangeInclusive<usize>| {
        most.contains(&g.len()) && g.bytes().all(|b| b.is_ascii_digit())
    };
    let first = groups.next().is_some_and(|g| is(g, 1..=3));
    let rest: Vec<&str> = groups.collect();
    if first && !rest.is_empty() && rest.iter().all(|g| is(g, 3..=3)) {
        return typed.chars().filter(char::is_ascii_digit).collect();
    }
    typed.to_owned()
}

fn without_null(value: Value) -> Value {
    match value {
        Value::Object(map) => {
            let kept = map.into_iter().filter(|(_, v)| !v.is_null());
            kept.map(|(k, v)| (k, without_null(v))).collect()
        }
        other => other,
    }
}

/// Opens a job.
///
/// # Errors
/// When the book refuses.
pub fn open(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let form = &ask.caller.form;
    let again = |wrong: &Problems| Ok(Reply::Again(new_form(bench, ask, form, wrong)));
    if form.some("complaint").is_none() {
        let what = "what's wrong is missing".to_owned();
        return again(&vec![(what, "type it in the customer's words".to_owned())]);
    }
    let mut document = Map::new();
    document.insert("schema".to_owned(), SCHEMA.into());
    document.insert("job".to_owned(), form.get("job").into());
    document.insert("complaint".to_owned(), form.get("complaint").into());
    document.extend(head(form));
    let text = without_null(document.into()).to_string();
    let job: Job = match read_json(&text, "form", bench.knowledge()) {
        Ok(parsed) => parsed.job,
        Err(errors) => {
            let all = errors.problems.iter();
            return again(&all.map(in_form).collect());
        }
    };
    let opinion = form
        .some("opinion")
        .map(|o| json!({ "opinion": { "text": o } }));
    let first: Vec<Value> = opinion.into_iter().collect();
    match bench.open_job(form.get("key"), &job, &first) {
        Ok(number) => Ok(Reply::Wrote {
            place: of_job(&number, ""),
            job: number,
        }),
        Err(error) => match &error {
            crate::job::book::BookError::JobExists { .. }
            | crate::job::book::BookError::NoNumber { .. } => {
                again(&vec![(error.to_string(), error.advice())])
            }
            _ => match in_words(&error) {
                Some(wrong) => again(&wrong),
                None => Err(error.into()),
            },
        },
    }
}

/// Engine and bench of a job.
///
/// # Errors
/// When there is no such job.
pub fn engine(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let job = bench.book()?.job(&ask.job, bench.knowledge())?.job;
    let written = crate::job::to_json(&job);
    let mut typed = Fields::default();
    let text = |v: &Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
    if let Some(engine) = written["engine"].as_object() {
        for (key, value) in engine {
            typed = typed.with(key, &text(value));
        }
    }
    if let Some(arrived) = job.bench.arrived {
        typed = typed.with("arrived", arrived.id());
    }
    for tool in job.bench.tools.iter().flatten() {
        typed = typed.with(&format!("tool.{tool}"), "yes");
    }
    if let Some(people) = job.bench.people {
        typed = typed.with("people", &people.to_string());
    }
    Ok(Reply::Page(engine_form(bench, ask, &typed, &[], &[])))
}

fn engine_form(
    bench: &Bench,
    ask: &Ask,
    typed: &Fields,
    wrong: &[(String, String)],
    turned: &[u8],
) -> Markup {
    let content = html! {
        h1 { "Engine and bench, job " (ask.job) }
        (problems(wrong))
        section.card {
            form method="post" action=(of_job(&ask.job, "engine")) {
                (hidden(ask))
                (cylinder_ends::tick(turned))
                (arrived(typed))
                (shape(typed))
                details open[!wrong.is_empty()] {
                    summary { (tools_ticked(typed)) }
                    (tools(bench, typed))
                }
                button.main type="submit" { "Save" }
            }
        }
    };
    page("Engine and bench", &bar_of_job(&ask.job), &content)
}

/// Says more about engine and bench.
///
/// # Errors
/// When the book refuses.
pub fn set(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let form = &ask.caller.form;
    let job = bench.book()?.job(&ask.job, bench.knowledge())?.job;
    let asked = cylinder_ends::asked(&job, form);
    if !asked.is_empty() {
        let wrong = [cylinder_ends::problem(&job, &asked)];
        return Ok(Reply::Again(engine_form(bench, ask, form, &wrong, &asked)));
    }
    match bench.describe(form.get("key"), &ask.job, &head(form)) {
        Ok(()) => Ok(Reply::Wrote {
            place: of_job(&ask.job, ""),
            job: ask.job.clone(),
        }),
        Err(error) => match in_words(&error) {
            Some(wrong) => Ok(Reply::Again(engine_form(bench, ask, form, &wrong, &[]))),
            None => Err(error.into()),
        },
    }
}

/// Where another machine shows the join code.
///
/// # Errors
/// None.
pub fn join_page(_: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    Ok(Reply::Page(join_form(ask, &ask.query, false)))
}

fn join_form(ask: &Ask, typed: &Fields, is_wrong: bool) -> Markup {
    let wrong = [(
        "that is not the code".to_owned(),
        "it stands where the server was started".to_owned(),
    )];
    let content = html! {
        h1 { "Join the bench" }
        @if is_wrong { (problems(&wrong)) }
        section.card {
            form method="post" action="/join" {
                (hidden(ask))
                (text("code", "Join code", "eight letters and figures", typed))
                button.main type="submit" { "Join" }
            }
        }
    };
    page("Join the bench", &html! {}, &content)
}

/// Tries a join code.
///
/// # Errors
/// When there were too many wrong ones.
pub fn join(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let caller = &ask.caller;
    let typed = caller.form.get("code");
    let came = bench
        .seats()
        .join(&caller.seat, caller.from, typed, Instant::now());
    match came {
        Join::Joined => Ok(Reply::See("/".to_owned())),
        Join::Wrong => Ok(Reply::Again(join_form(ask, &Fields::default(), true))),
        Join::Wait => Err(Refusal::Wait),
    }
}
