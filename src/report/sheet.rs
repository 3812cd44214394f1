//! What stands on the one-page job sheet, in the order of the slip; filled or blank.
//!
//! Both have the same parts in the same order, so that a blank one can be typed in later. Must
//! not lay out: `sheet_html` and `sheet_text` do.

use super::page::clean;
use super::rows::rows;
use super::{chance, closing_text, entry_words, names, panels, sheet_room};
use crate::diagnosis::{Against, Ranking, closing};
use crate::evidence::timed;
use crate::evidence::trials::{Catalogue, Figures, Judgement, judge};
use crate::job::{
    Entry, EntryBody, Job, Reading, Start, StartAfter, StartResult, Verification, finding_proof,
    state, verification, work_proofs,
};
use crate::knowledge::Knowledge;

/// Most rows of each table, so that the sheet stays one page (by the lines of a Letter page).
const MOST_READINGS: usize = 12;
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

fn short(text: &str) -> String {
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

/// The sheet of a job.
#[must_use]
pub fn filled(job: &Job, knowledge: &Knowledge, ranking: &Ranking) -> Sheet {
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
        readings(job, knowledge, judged.is_some()),
    ));
    if let Some(answer) = judged {
        parts.push(part(
            panels::TIMING_TRIALS,
            Content::Strip(Box::new(answer.judgement)),
        ));
    }
    parts.push(part(
        panels::WHERE_WE_STAND,
        Content::Causes(causes(ranking)),
    ));
    parts.push(part(panels::FOUND_AND_DONE, work(job, knowledge)));
    parts.push(part(
        panels::COLD_START_PROOF,
        Content::Fields(cold(job, knowledge, ranking)),
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
        part(
            panels::WHERE_WE_STAND,
            Content::Fields(empty(&["What I think it is"])),
        ),
        part(
            panels::FOUND_AND_DONE,
            Content::Table {
                rows: rows(BLANK_WORK, done.len()),
                head: done,
                left_out: 0,
            },
        ),
        part(panels::COLD_START_PROOF, Content::Fields(empty(&PROOF))),
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
/// Heading of what starts before the first that counts here said; it stands on no blank sheet.
const BEFORE_IT: &str = "Before it";
/// Heading of what remains after a cold start that was not right; it stands on no blank sheet.
const REMAINS: &str = "What remains";
const PROOF: [&str; 4] = ["Counts", "First cold start", "Second, another day", "By"];

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
        .map(|at| names::says(knowledge, job, at).replacen("told: ", "", 1))
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

fn readings(job: &Job, knowledge: &Knowledge, timings_drawn: bool) -> Content {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for entry in job.entries.iter().filter(|e| e.is_recorded()) {
        if let EntryBody::Reading(r) = &entry.body
            && !(timings_drawn && r.check == timed::TIMED)
        {
            rows.push(reading(entry, r, knowledge));
        }
    }
    let left_out = rows.len().saturating_sub(MOST_READINGS);
    rows.truncate(MOST_READINGS);
    let head = READING.to_vec();
    Content::Table {
        head,
        rows,
        left_out,
    }
}

fn reading(entry: &Entry, r: &Reading, knowledge: &Knowledge) -> Vec<String> {
    let trial = r.trial.map_or(String::new(), |t| format!(", trial {t}"));
    let mut value = names::reading_says(r);
    if let Some(leads) = &r.leads {
        value.push_str(&format!(" (leads {})", leads.typed));
    }
    if !entry.is_used() {
        value.push_str(" (set aside)");
    }
    let by = [entry.by.as_deref(), r.tool.as_deref()];
    let by: Vec<String> = by.into_iter().flatten().map(names::plain).collect();
    vec![
        short(&format!("{}{trial}", names::check(knowledge, &r.check))),
        r.cylinder.map_or(String::new(), |c| c.to_string()),
        short(&value),
        short(&by.join(", ")),
    ]
}

fn causes(ranking: &Ranking) -> Vec<SheetCause> {
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

fn work(job: &Job, knowledge: &Knowledge) -> Content {
    let proofs = work_proofs(job, knowledge);
    let mut rows = Vec::new();
    for (at, entry) in job.entries.iter().enumerate().filter(|(_, e)| e.is_used()) {
        let figure = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v}"));
        let (minutes, cost, proof) = match &entry.body {
            EntryBody::Work(w) => {
                let proof = proofs.iter().find(|p| p.entry == at).map(|p| p.proof);
                (figure(w.minutes), figure(w.parts_cost), proof)
            }
            EntryBody::Finding(f) => {
                let proof = finding_proof(job, f, knowledge);
                (String::new(), String::new(), Some(proof))
            }
            _ => continue,
        };
        let proof = proof.map_or("", closing_text::proof);
        let says = short(&names::says(knowledge, job, at).replacen("work: ", "", 1));
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

fn cold(job: &Job, knowledge: &Knowledge, ranking: &Ranking) -> Vec<(&'static str, String)> {
    let v = verification(job, knowledge);
    let counts = match v.complaint_temperature {
        Some(t) => format!(
            "after {:.0} h or more, at {:.0} degC or colder",
            crate::job::LEAST_SOAK_HOURS,
            t + crate::job::WARMER_BY
        ),
        None => format!("after {:.0} h or more", crate::job::LEAST_SOAK_HOURS),
    };
    let (before, right) = starts(job, &v);
    let at = |i: usize| right.get(i).cloned().unwrap_or_default();
    let values = [counts, at(0), at(1), String::new()];
    let mut fields: Vec<(&'static str, String)> = PROOF.into_iter().zip(values).collect();
    if !before.is_empty() {
        fields.insert(1, (BEFORE_IT, before.join("; ")));
    }
    // What an improvement is worth is said where the improvement stands.
    let against = closing(job, knowledge, ranking).against;
    let not_right = against
        .iter()
        .find(|a| matches!(a, Against::NotRight { .. }));
    if let Some(not_right) = not_right {
        let after_first = fields.iter().position(|f| f.0 == PROOF[1]).unwrap_or(0) + 1;
        fields.insert(after_first, (REMAINS, closing_text::one(not_right)));
    }
    fields
}

/// Starts after work that were not right before the first of those that prove it; and that one with
/// one of another day. Where the last word is not right, it stands first: nothing is proven.
fn starts(job: &Job, v: &Verification) -> (Vec<String>, Vec<String>) {
    let says = |result: Option<StartResult>, right: Option<bool>, day: Option<&str>| {
        let result = match (result, right) {
            (Some(result), _) => entry_words::result(result),
            (None, Some(true)) => "right",
            _ => "",
        };
        format!("{result} {}", day.unwrap_or_default())
            .trim()
            .to_owned()
    };
    let of = |s: &StartAfter| says(s.result, s.right, s.day.as_deref());
    let speaks = |s: &&StartAfter| s.why_not.is_none() || s.right == Some(false);
    let since: Vec<&StartAfter> = v.starts.iter().filter(speaks).collect();
    let proving = since.iter().rposition(|s| s.right != Some(true));
    let first = match proving {
        // The last word itself was not right.
        Some(at) if at + 1 == since.len() => at,
        Some(at) => at + 1,
        None => 0,
    };
    // Between works: what a person said was not right.
    let works = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    let mut works = works.filter(|(_, e)| matches!(e.body, EntryBody::Work(_)));
    let first_work = works.next().map_or(usize::MAX, |w| w.0);
    let entries = job.entries.iter().enumerate().filter(|(_, e)| e.is_used());
    let mut before: Vec<String> = entries
        .filter(|(at, _)| *at > first_work && v.last_work.is_some_and(|last| *at < last))
        .filter_map(|(_, e)| match &e.body {
            EntryBody::Start(s) if s.result.is_some_and(|r| r != StartResult::Right) => {
                let day = e.at.as_deref().and_then(|at| at.get(.."2025-01-14".len()));
                Some(says(s.result, Some(false), day))
            }
            _ => None,
        })
        .collect();
    before.extend(since[..first.min(since.len())].iter().map(|s| of(s)));
    let mut proof: Vec<String> = since.get(first).map(|s| of(s)).into_iter().collect();
    let another_day = |s: &&&StartAfter| s.day.is_some() && s.day != since[first].day;
    let second = since.iter().skip(first + 1).find(another_day);
    proof.extend(second.map(|s| of(s)));
    (before, proof)
}

/// A chance as it stands on the sheet: word and number together, and the standing rate.
#[must_use]
pub fn in_words(cause: &SheetCause) -> String {
    let now = chance::in_words(cause.chance);
    format!("{now}; usually {}", chance::count(cause.base))
}
