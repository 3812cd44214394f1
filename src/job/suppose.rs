//! What if this were read: entries typed in one line, added to a copy of a job.
//!
//! `CHECK=VALUE`, `CHECK:CYLINDER=VALUE`, `SIGN=VALUE` (seen at the last start) and
//! `told.NAME=VALUE`. Values are understood as in a job file. Must not save anything.

use serde_json::{Value, json};

use super::entry::{Entry, EntryBody};
use super::read_job::read_json;
use super::record::{Job, SCHEMA};
use super::seen::Fact;
use super::suggest::did_you_mean;
use super::write::to_json;
use crate::knowledge::{Knowledge, Per};

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
        each.map(|p| wrong(p.what, here(name, p.try_)))
            .collect::<Vec<_>>()
    })?;
    let mut entry = read.job.entries.into_iter().next().ok_or_else(|| {
        let try_ = "write name=value".to_owned();
        vec![wrong("says nothing".to_owned(), try_)]
    })?;
    entry.position = None;
    Ok(entry)
}

/// Advice for a job file, where it speaks of keys that are not typed here.
fn here(name: &str, try_: String) -> String {
    let keys = ["reading.", "start.", "told.", "set_aside", "confirmed"];
    if keys.iter().any(|k| try_.contains(k)) {
        return format!("write {name}= and a value; those of a check: hardstart vocab checks");
    }
    try_
}

/// The entry as in a job file, or what is wrong and what to try.
fn body(knowledge: &Knowledge, name: &str, value: &str) -> Result<Value, (String, String)> {
    if let Some(fact) = name.strip_prefix("told.") {
        if !told(knowledge, fact) {
            let signs = knowledge.signs.iter().map(|s| s.id.get_ref().as_str());
            let all = "all of them: hardstart vocab signs";
            let try_ = match did_you_mean(fact, signs) {
                Some(near) => format!("did you mean `told.{near}`? {all}"),
                None => all.to_owned(),
            };
            return Err((format!("there is no sign or fact `{fact}`"), try_));
        }
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
    if let Some(check) = knowledge.checks.iter().find(|c| *c.id.get_ref() == plain) {
        if check.per == Per::Cylinder && cylinder.is_none() {
            return Err((
                format!("`{plain}` is done at each cylinder, and none is named"),
                format!("write {plain}:1={value} for the first cylinder"),
            ));
        }
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

/// Whether something can be told under this name.
fn told(knowledge: &Knowledge, name: &str) -> bool {
    Fact::from_id(name).is_some() || knowledge.signs.iter().any(|s| *s.id.get_ref() == name)
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
    fn advice_speaks_of_what_is_typed_here_and_not_of_keys_of_a_file() {
        let typed = ["plug_ohms=open", "told.sinse=sudden", "cranking_volts=fast"];
        let problems = supposed(&typed).unwrap_err();
        let advice: Vec<&str> = problems.iter().map(|p| p.try_.as_str()).collect();
        assert_eq!(advice[0], "write plug_ohms:1=open for the first cylinder");
        assert!(advice[1].contains("`told.since`"), "{advice:?}");
        assert!(advice.iter().all(|a| !a.contains("reading.")), "{advice:?}");
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
