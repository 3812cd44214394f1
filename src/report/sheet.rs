//! What stands on the one-page job sheet, in the order of the slip; filled or blank.
//!
//! Both have the same parts in the same order, so that a blank one can be typed in later. Must
//! not lay out: `sheet_html` and `sheet_text` do.

use super::page::clean;
use super::rows::rows;
use super::{chance, closing_text, names, panels, sheet_proof, sheet_readings, sheet_room};
use crate::diagnosis::Ranking;
use crate::evidence::timed;
use crate::evidence::trials::{Catalogue, Figures, Judgement, judge};
use crate::job::{EntryBody, Job, Start, finding_proof, first_work, state, work_proofs};
use crate::knowledge::Knowledge;

/// Most rows of each table, so that the sheet stays one page (by the lines of a Letter page).
const MOST_WORK: usize = 5;
const MOST_CAUSES: usize = 5;
/// Empty rows of a blank sheet.
const BLANK_READINGS: usize = 16;
const BLANK_WORK: usize = 4;
/// Longest text that is printed in one field, in characters: five lines.
const LONGEST: usize = 400;

/// A cause on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetCause {
    /// Its name.
    pub name: String,
    /// Its chance, a fraction.
    pub chance: f64,
    /// Its standing rate, before any reading of this job, a fraction.
    pub base: f64,
}

/// What a part of the sheet holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// Names and values; an empty value is a line for the pen.
    Fields(Vec<(&'static str, String)>),
    /// A table; rows of empty cells are for the pen.
    Table {
        /// Headings.
        head: Vec<&'static str>,
        /// Rows.
        rows: Vec<Vec<String>>,
        /// Rows that found no room.
        left_out: usize,
    },
    /// The strip of timings.
    Strip(Box<Judgement>),
    /// Causes with their chances.
    Causes(Vec<SheetCause>),
}

/// A part of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Heading.
    pub heading: &'static str,
    /// What it holds.
    pub content: Content,
}

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Number of the job.
    pub job: String,
    /// Parts in order.
    pub parts: Vec<Part>,
    /// The line at the bottom.
    pub foot: String,
}

pub(super) fn short(text: &str) -> String {
    let text = clean(text);
    if text.chars().count() <= LONGEST {
        return text;
    }
    let cut: String = text.chars().take(LONGEST).collect();
    format!("{}...", cut.trim_end())
}

fn part(heading: &'static str, content: Content) -> Part {
    Part { heading, content }
}

/// The sheet of a job; `before` are the causes as they stood when the first work was begun, likeliest
/// first, where that is known.
#[must_use]
pub fn filled(job: &Job, knowledge: &Knowledge, ranking: &Ranking, before: &[SheetCause]) -> Sheet {
    let used = || {
        job.entries
            .iter()
            .enumerate()
            .filter(|(_, e)| e.is_recorded())
    };
    let date = used().find_map(|(_, e)| e.at.as_deref()).unwrap_or("");
    let state = state(job, knowledge).label().to_owned();
    let mut parts = vec![
        part(panels::JOB_SLIP, Content::Fields(slip(job, date, state))),
        part(
            panels::FIRST_START,
            Content::Fields(first_start(job, knowledge)),
        ),
    ];
    let timings: Vec<_> = timed::timings(job).into_iter().map(|t| t.1).collect();
    let bench = timed::bench(job);
    let judged = judge(&timings, &bench, &Figures::default(), &Catalogue::default()).ok();
    let judged = judged.filter(|_| !timings.is_empty());
    parts.push(part(
        panels::READINGS,
        sheet_readings::readings(job, knowledge, judged.is_some()),
    ));
    if let Some(answer) = judged {
        parts.push(part(
            panels::TIMING_TRIALS,
            Content::Strip(Box::new(answer.judgement)),
        ));
    }
    parts.push(part(panels::WHERE_WE_STAND, stand(job, ranking, before)));
    parts.push(part(panels::FOUND_AND_DONE, work(job, knowledge, ranking)));
    parts.push(part(
        panels::COLD_START_PROOF,
        Content::Fields(sheet_proof::proof(job, knowledge, ranking)),
    ));
    sheet_room::fit(&mut parts);
    let figures: String = knowledge.sha256.chars().take(12).collect();
    Sheet {
        job: short(&job.job),
        parts,
        foot: format!(
            "hardstart {}, figures {figures}. Chances are estimates and separate: they can add \
             to more than 100.",
            env!("CARGO_PKG_VERSION")
        ),
    }
}

/// The same sheet for the pen, with what is known of the engine.
#[must_use]
pub fn blank(job: &Job) -> Sheet {
    let empty = |names: &[&'static str]| names.iter().map(|n| (*n, String::new())).collect();
    let rows = |rows: usize, cells: usize| vec![vec![String::new(); cells]; rows];
    let (reading, done) = (READING.to_vec(), WORK.to_vec());
    let parts = vec![
        part(
            panels::JOB_SLIP,
            Content::Fields(slip(job, "", String::new())),
        ),
        part(panels::FIRST_START, Content::Fields(empty(&WATCH))),
        part(
            panels::READINGS,
            Content::Table {
                rows: rows(BLANK_READINGS, reading.len()),
                head: reading,
                left_out: 0,
            },
        ),
        part(panels::WHERE_WE_STAND, Content::Fields(empty(&[HUNCH]))),
        part(
            panels::FOUND_AND_DONE,
            Content::Table {
                rows: rows(BLANK_WORK, done.len()),
                head: done,
                left_out: 0,
            },
        ),
        part(
            panels::COLD_START_PROOF,
            Content::Fields(empty(&sheet_proof::PROOF)),
        ),
    ];
    let mut parts = parts;
    sheet_room::fit(&mut parts);
    Sheet {
        job: short(&job.job),
        parts,
        foot: format!("hardstart {}", env!("CARGO_PKG_VERSION")),
    }
}

/// Headings of the table of readings.
pub(super) const READING: [&str; 4] = ["Check", "Cyl.", "Value", "By, tool"];
const WORK: [&str; 4] = ["What", "Minutes", "Parts cost", "Proof"];
const WATCH: [&str; 4] = ["Engine at", "Stood", "Seen", "Told"];
/// What the person thinks.
const HUNCH: &str = "What I think it is";
/// The causes as they stood when the work was begun, and as they stand now.
const BEFORE_WORK: &str = "Before the work";
const NOW: &str = "Now";
/// Causes below this are not named after work: they were looked for and are hardly there. Own judgement:
/// the scale of words calls less nearly ruled out.
const NAMED_FROM: f64 = 0.05;
/// Most causes named in a line.
const MOST_NAMED: usize = 3;

fn slip(job: &Job, date: &str, state: String) -> Vec<(&'static str, String)> {
    let e = &job.engine;
    let one = match e.cylinder_one.id() {
        "unknown" => String::new(),
        word => names::plain(word),
    };
    vec![
        ("Job", short(&job.job)),
        ("Date", day(date)),
        ("Complaint", short(&job.complaint)),
        ("Engine", panels::engine(e)),
        ("Cylinder 1 at", one),
        ("State", state),
    ]
}

/// `2025-01-14 07:40` of a time as it is written in entries.
fn day(at: &str) -> String {
    let to_the_minute: String = at.chars().take("2025-01-14T07:40".len()).collect();
    to_the_minute.replace('T', " ")
}

fn first_start(job: &Job, knowledge: &Knowledge) -> Vec<(&'static str, String)> {
    let entries = job.entries.iter().filter(|e| e.is_used());
    let mut before = entries.take_while(|e| !matches!(e.body, EntryBody::Work(_)));
    let first = before.find_map(|e| match &e.body {
        EntryBody::Start(start) => Some(start),
        _ => None,
    });
    let told: Vec<String> = (0..job.entries.len())
        .filter(|at| {
            let e = &job.entries[*at];
            e.is_used() && matches!(e.body, EntryBody::Told(_))
        })
        .map(|at| {
            let says = names::says(knowledge, job, at).replacen("told: ", "", 1);
            with_note(says, job.entries[at].note.as_deref())
        })
        .collect();
    let of = |value: fn(&Start) -> Option<String>| first.and_then(value).unwrap_or_default();
    let temperature = of(|s| {
        let t = s
            .engine_temperature
            .as_ref()
            .or(s.air_temperature.as_ref())?;
        Some(t.typed.clone())
    });
    let stood = of(|s| s.soak.as_ref().map(|q| q.typed.clone()));
    let seen = first.map_or(String::new(), |s| {
        let signs = s.signs.iter().map(|sign| {
            let label = names::sign(knowledge, &sign.sign);
            format!("{label}: {}", names::state(&sign.typed))
        });
        signs.collect::<Vec<_>>().join("; ")
    });
    let values = [temperature, stood, seen, told.join("; ")];
    WATCH.into_iter().zip(values.map(|v| short(&v))).collect()
}

fn with_note(says: String, note: Option<&str>) -> String {
    match note.filter(|n| !n.is_empty()) {
        Some(note) => format!("{says} ({note})"),
        None => says,
    }
}

/// The job as it stood when the first work was begun; nothing without work.
#[must_use]
pub fn before_work(job: &Job) -> Option<Job> {
    let first = first_work(job)?;
    let mut then = job.clone();
    then.entries.truncate(first);
    Some(then)
}

/// Where we stand: the causes, and once work was done what it was done for.
fn stand(job: &Job, ranking: &Ranking, before: &[SheetCause]) -> Content {
    let used = || job.entries.iter().filter(|e| e.is_used());
    if !used().any(|e| matches!(e.body, EntryBody::Work(_))) {
        return Content::Causes(causes(ranking));
    }
    let named = |causes: &[SheetCause]| {
        let likely = causes.iter().filter(|c| c.chance >= NAMED_FROM);
        let said = likely.map(|c| format!("{}, {}", c.name, chance::of_100(c.chance)));
        let said: Vec<String> = said.take(MOST_NAMED).collect();
        match said.is_empty() {
            true => "no cause as likely as 5 of 100".to_owned(),
            false => said.join("; "),
        }
    };
    let hunches: Vec<String> = used()
        .filter_map(|e| match &e.body {
            EntryBody::Opinion(o) => o.text.clone().or_else(|| {
                let fault = o.fault.as_deref()?;
                Some(fault_name(ranking, fault, o.cylinder))
            }),
            _ => None,
        })
        .collect();
    let mut fields = Vec::new();
    if !hunches.is_empty() {
        fields.push((HUNCH, short(&hunches.join("; "))));
    }
    if !before.is_empty() {
        fields.push((BEFORE_WORK, short(&named(before))));
    }
    let healthy = chance::of_100(ranking.healthy);
    let now = named(&causes(ranking));
    fields.push((NOW, format!("{now}; nothing wrong at all: {healthy}")));
    Content::Fields(fields)
}

/// A fault as people say it; its identifier where the engine cannot have it.
fn fault_name(ranking: &Ranking, fault: &str, cylinder: Option<u8>) -> String {
    let is = |c: &&crate::diagnosis::Cause| format!("{}.{}", c.part, c.fault) == fault;
    let label = ranking.causes.iter().find(is).map(|c| c.label.as_str());
    names::cause(label.unwrap_or(fault), cylinder)
}

/// The causes of a ranking as the sheet names them, the one that is not on the list last.
#[must_use]
pub fn causes(ranking: &Ranking) -> Vec<SheetCause> {
    let shown = rows(ranking, false);
    let listed = shown.rows.iter().take(MOST_CAUSES).map(|r| {
        let list: Vec<String> = r.cylinders.iter().map(u8::to_string).collect();
        let name = match list.len() {
            0 => r.cause.label.clone(),
            1 => format!("{}, cylinder {}", r.cause.label, list[0]),
            _ => format!("{}, cylinders {}", r.cause.label, list.join(", ")),
        };
        SheetCause {
            name,
            chance: r.cause.chance,
            base: r.cause.base,
        }
    });
    let other = shown.other.map(|c| SheetCause {
        name: c.label.clone(),
        chance: c.chance,
        base: c.base,
    });
    listed.chain(other).collect()
}

fn work(job: &Job, knowledge: &Knowledge, ranking: &Ranking) -> Content {
    let proofs = work_proofs(job, knowledge);
    let mut rows = Vec::new();
    for (at, entry) in job.entries.iter().enumerate().filter(|(_, e)| e.is_used()) {
        let figure = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v}"));
        let (minutes, cost, proof) = match &entry.body {
            EntryBody::Work(w) => {
                let proof = proofs.iter().find(|p| p.entry == at);
                let proof = proof.map_or("", closing_text::work);
                (figure(w.minutes), figure(w.parts_cost), proof)
            }
            EntryBody::Finding(f) => {
                let proof = finding_proof(job, f, knowledge);
                (String::new(), String::new(), closing_text::proof(proof))
            }
            _ => continue,
        };
        let says = match &entry.body {
            EntryBody::Finding(f) => {
                format!("found: {}", fault_name(ranking, &f.fault, f.cylinder))
            }
            _ => names::says(knowledge, job, at).replacen("work: ", "", 1),
        };
        let says = short(&with_note(says, entry.note.as_deref()));
        rows.push(vec![says, minutes, cost, proof.to_owned()]);
    }
    let left_out = rows.len().saturating_sub(MOST_WORK);
    rows.drain(..left_out);
    let head = WORK.to_vec();
    Content::Table {
        head,
        rows,
        left_out,
    }
}

/// A chance as it stands on the sheet: word and number together, and the standing rate.
#[must_use]
pub fn in_words(cause: &SheetCause) -> String {
    let now = chance::in_words(cause.chance);
    format!("{now}; usually {}", chance::count(cause.base))
}
