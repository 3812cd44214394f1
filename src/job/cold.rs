//! Which starts count as cold starts after work, and which were right.
//!
//! A warm restart never counts. Must not decide "better, not right": that takes chances.

use super::entry::EntryBody;
use super::record::Job;
use super::seen::{SeenSign, Start, StartResult};
use crate::knowledge::{Knowledge, When};

/// Least soak of a cold start, h (common practice, no source: overnight, 6 to 8 h).
pub const LEAST_SOAK_HOURS: f64 = 8.0;
/// Kelvin a cold start may be warmer than the complaint was (own judgement).
pub const WARMER_BY: f64 = 3.0;

const HOUR: f64 = 3600.0;
/// State of the crank time of an engine that did not start.
const NO_START: &str = "no_start";

/// Why a start does not count as a cold start.
#[derive(Debug, Clone, PartialEq)]
pub enum WhyNot {
    /// Nobody wrote down how long the engine had stood.
    SoakUnknown,
    /// It had not stood long enough.
    NotSoaked {
        /// Hours it stood.
        hours: f64,
    },
    /// A heater or another outside heat was used.
    Heated,
    /// Nobody wrote down how cold it was.
    TemperatureUnknown,
    /// Nobody wrote down how cold it was when it started badly.
    ComplaintTemperatureUnknown,
    /// It was warmer than when the engine started badly.
    TooWarm {
        /// Temperature of this start, degC.
        was: f64,
        /// Warmest that counts, degC.
        limit: f64,
    },
}

/// One start after work.
#[derive(Debug, Clone, PartialEq)]
pub struct StartAfter {
    /// Index of its entry.
    pub entry: usize,
    /// Why it does not count as a cold start; `None` if it does.
    pub why_not: Option<WhyNot>,
    /// Whether it was right; `None` if that is not plain from the entry.
    pub right: Option<bool>,
    /// The person's judgement, if given.
    pub result: Option<StartResult>,
    /// Day, `year-month-day`, if the entry says when.
    pub day: Option<String>,
}

/// What was done last, and what the starts since say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Verification {
    /// Index of the entry of the last work.
    pub last_work: Option<usize>,
    /// Temperature at which the engine started badly before any work, degC.
    pub complaint_temperature: Option<f64>,
    /// Starts since the last work, in order.
    pub starts: Vec<StartAfter>,
}

impl Verification {
    /// Starts since the last work that count.
    pub fn counting(&self) -> impl Iterator<Item = &StartAfter> {
        self.starts.iter().filter(|s| s.why_not.is_none())
    }

    /// The start that has the last word: the last that counts, or a later one that was said not
    /// to be right. Whoever says that it came back need not say how cold it was.
    #[must_use]
    pub fn last_word(&self) -> Option<&StartAfter> {
        let speaks = |s: &&StartAfter| s.why_not.is_none() || s.right == Some(false);
        self.starts.iter().rfind(speaks)
    }

    /// Whether the start that has the last word was right.
    #[must_use]
    pub fn is_proven(&self) -> bool {
        self.last_word().is_some_and(|s| s.right == Some(true))
    }

    /// Whether right cold starts on two different days stand behind it, as common practice asks.
    #[must_use]
    pub fn is_proven_twice(&self) -> bool {
        let mut days = self
            .counting()
            .filter(|s| s.right == Some(true))
            .filter_map(|s| s.day.as_ref());
        let first = days.next();
        self.is_proven() && days.any(|day| Some(day) != first)
    }
}

/// Temperature of a start, degC: of the engine, else of the air if the engine had soaked.
fn temperature(start: &Start) -> Option<f64> {
    let engine = start.engine_temperature.as_ref().map(|q| q.value);
    let air = start.air_temperature.as_ref().map(|q| q.value);
    engine.or(air.filter(|_| soak_hours(start).is_some_and(|h| h >= LEAST_SOAK_HOURS)))
}

fn soak_hours(start: &Start) -> Option<f64> {
    start.soak.as_ref().map(|q| q.value / HOUR)
}

/// Whether a start was right: as the person says; else yes if signs were seen and all were
/// ordinary, and not plain otherwise.
#[must_use]
pub fn was_right(start: &Start, knowledge: &Knowledge) -> Option<bool> {
    let ran = |s: &SeenSign| s.value.state() != Some(NO_START);
    match start.result {
        // Said to be right, and it did not start: somebody has to look which holds.
        Some(StartResult::Right) if !start.signs.iter().all(ran) => return None,
        Some(result) => return Some(result == StartResult::Right),
        None => {}
    }
    let mut any = false;
    for seen in &start.signs {
        let sign = knowledge
            .signs
            .iter()
            .find(|s| *s.id.get_ref() == seen.sign)?;
        if sign.when != When::Start {
            continue;
        }
        any = true;
        let ordinary = match seen.value.number() {
            Some(number) => {
                let bound = sign.seconds.as_ref().and_then(|s| s.first())?;
                number.quantity.value <= *bound && seen.suspect.is_none()
            }
            None => {
                seen.value.state().is_some()
                    && seen.value.state() == sign.states.first().map(String::as_str)
            }
        };
        if !ordinary {
            return None;
        }
    }
    any.then_some(true)
}

/// Temperature of the complaint: the warmest start before any work that was not right and
/// was watched (the complaint showed even then); else the coldest start before work.
fn complaint_temperature(job: &Job, first_work: usize, knowledge: &Knowledge) -> Option<f64> {
    let before = || {
        job.entries
            .iter()
            .enumerate()
            .filter_map(move |(i, e)| match &e.body {
                EntryBody::Start(s)
                    if e.is_used() && (i < first_work || s.after_work == Some(false)) =>
                {
                    Some(s)
                }
                _ => None,
            })
    };
    let watched = |s: &&Start| s.result.is_some() || !s.signs.is_empty();
    let soaked = |s: &&Start| soak_hours(s).is_none_or(|h| h >= LEAST_SOAK_HOURS);
    before()
        .filter(watched)
        .filter(soaked)
        .filter(|s| was_right(s, knowledge) != Some(true))
        .filter_map(temperature)
        .reduce(f64::max)
        .or_else(|| before().filter_map(temperature).reduce(f64::min))
}

/// Why a start does not count as a cold start, given the temperature of the complaint.
fn why_not(start: &Start, complaint: Option<f64>) -> Option<WhyNot> {
    let Some(hours) = soak_hours(start) else {
        return Some(WhyNot::SoakUnknown);
    };
    if hours < LEAST_SOAK_HOURS {
        return Some(WhyNot::NotSoaked { hours });
    }
    if start.heated {
        return Some(WhyNot::Heated);
    }
    let Some(was) = temperature(start) else {
        return Some(WhyNot::TemperatureUnknown);
    };
    let Some(complaint) = complaint else {
        return Some(WhyNot::ComplaintTemperatureUnknown);
    };
    let limit = complaint + WARMER_BY;
    (was > limit).then_some(WhyNot::TooWarm { was, limit })
}

/// What was done last, and what the starts since say. Entries set aside are passed over.
#[must_use]
pub fn verification(job: &Job, knowledge: &Knowledge) -> Verification {
    let works: Vec<usize> = super::proof::works(job);
    let (Some(&first), Some(&last)) = (works.first(), works.last()) else {
        let complaint_temperature = complaint_temperature(job, job.entries.len(), knowledge);
        return Verification {
            complaint_temperature,
            ..Verification::default()
        };
    };
    let complaint = complaint_temperature(job, first, knowledge);
    Verification {
        last_work: Some(last),
        complaint_temperature: complaint,
        starts: starts_between(job, last, job.entries.len(), complaint, knowledge),
    }
}

/// The starts since the first work, in order; none without work.
#[must_use]
pub fn starts_since_work(job: &Job, knowledge: &Knowledge) -> Vec<StartAfter> {
    let Some(first) = super::proof::first_work(job) else {
        return Vec::new();
    };
    let complaint = complaint_temperature(job, first, knowledge);
    starts_between(job, first, job.entries.len(), complaint, knowledge)
}

/// The last that somebody said of a start after work: its entry, and whether it was right. "Right"
/// speaks only where the start counts as a cold one; whoever says that it came back need not say how
/// cold it was. What was said before is overtaken by it.
#[must_use]
pub fn verdict(job: &Job, knowledge: &Knowledge) -> Option<(usize, bool)> {
    let said = starts_since_work(job, knowledge).into_iter().rev();
    said.filter(|start| start.result.is_some())
        .filter_map(|start| start.right.map(|right| (start, right)))
        .find(|(start, right)| !right || start.why_not.is_none())
        .map(|(start, right)| (start.entry, right))
}

/// The starts after entry `from` and before entry `to` that come after work.
pub(super) fn starts_between(
    job: &Job,
    from: usize,
    to: usize,
    complaint: Option<f64>,
    knowledge: &Knowledge,
) -> Vec<StartAfter> {
    let entries = job.entries.iter().enumerate().take(to).skip(from + 1);
    entries
        .filter_map(|(i, e)| match &e.body {
            EntryBody::Start(s) if e.is_used() && s.after_work != Some(false) => Some(StartAfter {
                entry: i,
                why_not: why_not(s, complaint),
                right: was_right(s, knowledge),
                result: s.result,
                day: e
                    .at
                    .as_ref()
                    .map(|at| at.chars().take("2025-01-14".len()).collect()),
            }),
            _ => None,
        })
        .collect()
}
