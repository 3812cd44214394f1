//! From a form to the entry of the job that it stands for, as job files have it.
//!
//! Must not judge what was typed: the reader of jobs does.

use serde_json::{Map, Value, json};

use super::fields::Fields;
use super::inputs::typed_number;

/// Names of the fields of signs begin with this.
pub const SIGN: &str = "sign.";
/// Names of the fields of told signs and facts begin with this.
pub const TOLD: &str = "told.";

/// The field that says that a start was before the work, though it is written down after it.
pub const BEFORE_WORK: &str = "before_work";

/// What was typed and what is wrong with it, with advice.
pub type Problems = Vec<(String, String)>;

/// The entry of a form, with time and name.
///
/// # Errors
/// What is missing.
pub fn entry(form: &Fields, now: &str) -> Result<Value, Problems> {
    let what = form.get("what");
    let mut entry = match what {
        "start" | "cold" => json!({ "start": start(form) }),
        "told" => json!({ "told": told(form)? }),
        "reading" => json!({ "reading": reading(form)? }),
        "work" => {
            if form.some("repair").is_none() {
                let advice = "choose it from the list; if nothing was done, nothing need be saved";
                return Err(problem("what was done is not chosen", advice));
            }
            let mut work = named(form, "repair");
            number(form, "minutes", &mut work)?;
            number(form, "parts_cost", &mut work)?;
            json!({ "work": work })
        }
        "cannot" => {
            let mut cannot = named(form, "check");
            let reason = form.some("reason").unwrap_or("can't be done here");
            cannot.insert("reason".to_owned(), reason.into());
            json!({ "cannot": cannot })
        }
        "later" => json!({ "later": named(form, "check") }),
        "opinion" => {
            json!({ "opinion": { "text": needed(form, "opinion", "what you think it is")? } })
        }
        "undo" => json!({ "undo": { "entry": whole(form, "entry")? } }),
        "aside" => {
            let why = needed(form, "why", "why it is set aside")?;
            json!({ "aside": { "entry": whole(form, "entry")?, "why": why } })
        }
        "mark" => json!({ "mark": { "state": needed(form, "state", "how the job stands")? } }),
        "note" => json!({}),
        _ => return Err(problem("this form is not known", "open the page again")),
    };
    if what == "note" {
        needed(form, "note", "a remark")?;
    }
    entry["at"] = now.into();
    for key in ["by", "note"] {
        if let Some(text) = form.some(key) {
            entry[key] = text.into();
        }
    }
    Ok(entry)
}

fn problem(what: &str, advice: &str) -> Problems {
    vec![(what.to_owned(), advice.to_owned())]
}

fn needed<'f>(form: &'f Fields, name: &str, what: &str) -> Result<&'f str, Problems> {
    let missing = || problem(&format!("{what} is missing"), "type it and save again");
    form.some(name).ok_or_else(missing)
}

fn whole(form: &Fields, name: &str) -> Result<u32, Problems> {
    let wrong = |_| problem("that is no number of an entry", "open the page again");
    form.get(name).parse().map_err(wrong)
}

/// A number without a unit; a comma is a point.
fn number(form: &Fields, name: &str, into: &mut Map<String, Value>) -> Result<(), Problems> {
    let Some(typed) = form.some(name) else {
        return Ok(());
    };
    match typed.replace(',', ".").parse::<f64>() {
        Ok(number) if number.is_finite() => {
            into.insert(name.to_owned(), number.into());
            Ok(())
        }
        _ => {
            let plain = name.replace('_', " ");
            let what = format!("“{typed}” is no number for {plain}");
            Err(problem(&what, "write a number such as 25 or 12,50"))
        }
    }
}

/// Something with its cylinder.
fn named(form: &Fields, key: &str) -> Map<String, Value> {
    let mut body = Map::new();
    body.insert(key.to_owned(), form.get(key).into());
    if let Some(cylinder) = form.some("cylinder") {
        let number = cylinder.parse::<u8>().map(Value::from);
        body.insert("cylinder".to_owned(), number.unwrap_or(cylinder.into()));
    }
    body
}

fn start(form: &Fields) -> Map<String, Value> {
    let mut start = Map::new();
    for key in ["engine_temperature", "air_temperature", "soak", "preheat"] {
        if let Some(typed) = typed_number(key, form) {
            start.insert(key.to_owned(), typed.into());
        }
    }
    if form.some(BEFORE_WORK).is_some() {
        start.insert("after_work".to_owned(), false.into());
    }
    for key in ["primed", "heated"] {
        if form.some(key).is_some() {
            start.insert(key.to_owned(), true.into());
        }
    }
    if let Some(tries) = form.some("tries") {
        let number = tries.parse::<u8>().map(Value::from);
        start.insert("tries".to_owned(), number.unwrap_or(tries.into()));
    }
    if let Some(result) = form.some("result") {
        start.insert("result".to_owned(), result.into());
    }
    start.extend(signs(form, SIGN));
    start
}

/// Fields that begin so; seconds typed win over a word tapped.
fn signs(form: &Fields, begin: &str) -> Map<String, Value> {
    let mut signs = Map::new();
    for (name, value) in form.beginning(begin) {
        if value.is_empty() || name.ends_with(".unit") {
            continue;
        }
        if let Some(sign) = name.strip_suffix(".seconds") {
            let typed = typed_number(&format!("{begin}{name}"), form);
            signs.insert(sign.to_owned(), typed.unwrap_or_default().into());
        } else if !signs.contains_key(name) {
            signs.insert(name.to_owned(), value.into());
        }
    }
    signs
}

fn told(form: &Fields) -> Result<Map<String, Value>, Problems> {
    let told = signs(form, TOLD);
    if told.is_empty() && form.some("note").is_none() {
        return Err(problem("nothing is filled in", "tap what was told"));
    }
    Ok(told)
}

fn reading(form: &Fields) -> Result<Map<String, Value>, Problems> {
    let mut reading = named(form, "check");
    let value = match form.get("state") {
        "" | "measured" => typed_number("value", form)
            .or_else(|| form.some("result").map(str::to_owned))
            .ok_or_else(|| {
                problem(
                    "there is no result",
                    "type what was read, or tap why there is none",
                )
            })?,
        other => other.to_owned(),
    };
    reading.insert("value".to_owned(), value.into());
    for key in ["supply", "rest", "leads"] {
        if let Some(typed) = typed_number(key, form) {
            reading.insert(key.to_owned(), typed.into());
        }
    }
    for key in ["tool", "why_not", "repeat"] {
        if let Some(text) = form.some(key) {
            reading.insert(key.to_owned(), text.into());
        }
    }
    if let Some(trial) = form.some("trial") {
        let number = trial.parse::<u32>().map(Value::from);
        reading.insert("trial".to_owned(), number.unwrap_or(trial.into()));
    }
    if form.some("confirmed").is_some() {
        reading.insert("confirmed".to_owned(), true.into());
    }
    Ok(reading)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(text: &str) -> Result<Value, Problems> {
        entry(
            &Fields::parse(text.as_bytes()).unwrap(),
            "2025-01-14T07:40:00+01:00",
        )
    }

    #[test]
    fn forms_become_entries_as_job_files_have_them() {
        let at = "2025-01-14T07:40:00+01:00";
        let of = "what=reading&check=plug_ohms&cylinder=3&value=0%2C6&value.unit=ohm&by=JK";
        let reading = json!({ "check": "plug_ohms", "cylinder": 3, "value": "0,6 ohm" });
        assert_eq!(
            made(of).unwrap(),
            json!({ "reading": reading, "at": at, "by": "JK" })
        );
        let of =
            "what=reading&check=plug_ohms&cylinder=3&state=could_not_test&value=&why_not=seized";
        let value = &made(of).unwrap()["reading"];
        assert_eq!(value["value"], "could_not_test");
        assert_eq!(value["why_not"], "seized");
        let of = "what=start&sign.crank_time=s3_8&sign.crank_time.seconds=6\
                  &sign.crank_time.seconds.unit=s&engine_temperature=6\
                  &engine_temperature.unit=degC&engine_temperature.below=yes";
        let start = json!({ "engine_temperature": "-6 degC", "crank_time": "6 s" });
        assert_eq!(made(of).unwrap()["start"], start);
    }

    #[test]
    fn what_is_missing_is_said() {
        for of in [
            "what=reading&check=plug_ohms",
            "what=aside&entry=1&why=+",
            "what=x",
            "what=told",
        ] {
            assert!(made(of).is_err(), "{of}");
        }
        assert!(made("what=work&repair=replace_plug&minutes=soon").is_err());
    }
}
