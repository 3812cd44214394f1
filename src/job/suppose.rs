//! What if this were read: entries typed in one line, added to a copy of a job.
//!
//! `CHECK=VALUE`, `CHECK:CYLINDER=VALUE`, `SIGN=VALUE` (seen at the last start) and
//! `told.NAME=VALUE`. Values are understood as in a job file. Must not save anything.

use serde_json::{Value, json};

use super::entry::{Entry, EntryBody};
use super::read_job::read_json;
use super::record::{Job, SCHEMA};
use super::suggest::did_you_mean;
use super::write::to_json;
use crate::knowledge::Knowledge;

/// Why something supposed was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{typed}`: {what}; {try_}")]
pub struct SupposeProblem {
    /// What was typed.
    pub typed: String,
    /// What is wrong.
    pub what: String,
    /// What to try.
    pub try_: String,
}

/// A copy of the job to which the readings are added in the order given.
///
/// # Errors
/// Everything that is not understood.
pub fn suppose(
    job: &Job,
    knowledge: &Knowledge,
    readings: &[String],
) -> Result<Job, Vec<SupposeProblem>> {
    let mut supposed = job.clone();
    let mut problems = Vec::new();
    for typed in readings {
        match entry(job, knowledge, typed) {
            Ok(entry) => add(&mut supposed, entry),
            Err(found) => problems.extend(found),
        }
    }
    if problems.is_empty() {
        Ok(supposed)
    } else {
        Err(problems)
    }
}

/// Signs go to the last start; all else is an entry of its own.
fn add(job: &mut Job, entry: Entry) {
    let last = job
        .entries
        .iter_mut()
        .rev()
        .find_map(|e| match &mut e.body {
            EntryBody::Start(start) if e.set_aside.is_none() => Some(start),
            _ => None,
        });
    match (&entry.body, last) {
        (EntryBody::Start(seen), Some(start)) => {
            for sign in &seen.signs {
                start.signs.retain(|s| s.sign != sign.sign);
                start.signs.push(sign.clone());
            }
        }
        _ => job.entries.push(entry),
    }
}

fn entry(job: &Job, knowledge: &Knowledge, typed: &str) -> Result<Entry, Vec<SupposeProblem>> {
    let wrong = |what: String, try_: String| SupposeProblem {
        typed: typed.to_owned(),
        what,
        try_,
    };
    let Some((name, value)) = typed.split_once('=') else {
        let try_ = "write name=value, as in \"cranking_volts=8.4 V\"";
        return Err(vec![wrong("there is no =".to_owned(), try_.to_owned())]);
    };
    let (name, value) = (name.trim(), value.trim());
    let body = body(knowledge, name, value).map_err(|(what, try_)| vec![wrong(what, try_)])?;
    let engine = to_json(job)
        .get_mut("engine")
        .map_or_else(|| json!({}), Value::take);
    let text = json!({
        "schema": SCHEMA, "job": "supposed", "complaint": "supposed",
        "engine": engine, "entry": [body],
    });
    let read = read_json(&text.to_string(), typed, knowledge).map_err(|errors| {
        let each = errors.problems.into_iter();
        each.map(|p| wrong(p.what, p.try_)).collect::<Vec<_>>()
    })?;
    let mut entry = read.job.entries.into_iter().next().ok_or_else(|| {
        let try_ = "write name=value".to_owned();
        vec![wrong("says nothing".to_owned(), try_)]
    })?;
    entry.position = None;
    Ok(entry)
}

/// The entry as in a job file, or what is wrong and what to try.
fn body(knowledge: &Knowledge, name: &str, value: &str) -> Result<Value, (String, String)> {
    if let Some(fact) = name.strip_prefix("told.") {
        return Ok(json!({ "told": { fact: value } }));
    }
    let (plain, cylinder) = match name.split_once(':') {
        None => (name, None),
        Some((plain, cylinder)) => match cylinder.parse::<u8>() {
            Ok(n) if n > 0 => (plain, Some(n)),
            _ => {
                let try_ = format!("write {plain}:1=... for the first cylinder");
                return Err((format!("`{cylinder}` is no cylinder"), try_));
            }
        },
    };
    let checks = || knowledge.checks.iter().map(|c| c.id.get_ref().as_str());
    let signs = || knowledge.signs.iter().map(|s| s.id.get_ref().as_str());
    if checks().any(|c| c == plain) {
        let mut reading = json!({ "check": plain, "value": value });
        if let Some(cylinder) = cylinder {
            reading["cylinder"] = json!(cylinder);
        }
        return Ok(json!({ "reading": reading }));
    }
    if signs().any(|s| s == plain) && cylinder.is_none() {
        return Ok(json!({ "start": { plain: value } }));
    }
    let all = "all of them: hardstart vocab checks, hardstart vocab signs";
    let try_ = match did_you_mean(plain, checks().chain(signs())) {
        Some(near) => format!("did you mean `{near}`? {all}"),
        None => all.to_owned(),
    };
    Err((format!("there is no check or sign `{plain}`"), try_))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::read_toml;
    use crate::knowledge::{KnowledgeFiles, load};

    const JOB: &str = "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"y\"\n\
        engine = { cylinders = 4, chamber = \"swirl\", preheat = \"plugs\" }\n\
        [[entry]]\nstart = { engine_temperature = \"-4 degC\", crank_time = \"11 s\" }\n";

    fn supposed(readings: &[&str]) -> Result<Job, Vec<SupposeProblem>> {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let job = read_toml(JOB, "job", &knowledge).unwrap().job;
        let readings: Vec<String> = readings.iter().map(|r| (*r).to_owned()).collect();
        suppose(&job, &knowledge, &readings)
    }

    #[test]
    fn a_reading_is_an_entry_and_a_sign_belongs_to_the_last_start() {
        let job = supposed(&[
            "cranking_volts=8,4 V",
            "crank_time=2 s",
            "smoke_cranking=white",
        ]);
        let job = job.unwrap();
        assert_eq!(job.entries.len(), 2);
        let EntryBody::Start(start) = &job.entries[0].body else {
            panic!("{:?}", job.entries[0]);
        };
        let names: Vec<&str> = start.signs.iter().map(|s| s.sign.as_str()).collect();
        assert_eq!(names, ["crank_time", "smoke_cranking"]);
        let EntryBody::Reading(reading) = &job.entries[1].body else {
            panic!("{:?}", job.entries[1]);
        };
        // 8.4 V by the words typed.
        assert_eq!(reading.value.number().unwrap().quantity.value, 8.4);
    }

    #[test]
    fn everything_that_is_not_understood_is_said_at_once() {
        let typed = [
            "crank_volts=8.4 V",
            "cranking_volts=8.4 bar",
            "plug_ohms:9=open",
            "nonsense",
        ];
        let problems = supposed(&typed).unwrap_err();
        let of: Vec<&str> = problems.iter().map(|p| p.typed.as_str()).collect();
        assert_eq!(of, typed);
        assert!(
            problems[0].try_.contains("`cranking_volts`"),
            "{problems:?}"
        );
    }
}
