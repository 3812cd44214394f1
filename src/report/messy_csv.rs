//! Jobs as the kind of spreadsheet that shops hand out: a title row, semicolons, decimal commas,
//! mixed units, dates in several forms, blanks of several kinds.
//!
//! Made to try an import on; what is messy follows from the number of the job, so the same jobs
//! give the same bytes. Must not be used to hand out real jobs.

use crate::job::{EntryBody, Job, ReadingValue};

/// Kinds of blank that are met in such sheets.
const BLANKS: [&str; 5] = ["", "-", "n/a", "?", "not done"];
/// Checks with a column, and its header.
const COLUMNS: [(&str, &str); 4] = [
    ("battery_rest_volts", "Batt V rest"),
    ("cranking_volts", "Batt V crank"),
    ("crank_rpm", "Crank rpm"),
    ("fuel_sample", "Fuel sample"),
];
/// Cylinders with a column.
const CYLINDERS: u8 = 4;
/// The check read at each cylinder, and its header.
const EACH: (&str, &str) = ("plug_ohms", "Plug ohm");

/// Separator line, title, blank line, header.
#[must_use]
pub fn head() -> String {
    let mut cells = ["Job No", "Date in", "Ambient (°F)", "Crank s", "Smoke"]
        .map(str::to_owned)
        .to_vec();
    cells.extend(COLUMNS.iter().map(|c| c.1.to_owned()));
    cells.extend((1..=CYLINDERS).map(|c| format!("{} {c}", EACH.1)));
    cells.extend(["Found", "Done", "Hrs "].map(str::to_owned));
    format!(
        "sep=;\nSimulated shop - winter jobs\n\n{}\n",
        cells.join(";")
    )
}

/// One job.
#[must_use]
pub fn row(n: u64, job: &Job) -> String {
    let mut cells = vec![job.job.clone(), date(n, job), temperature(n, job)];
    for sign in ["crank_time", "smoke_cranking"] {
        cells.push(sign_cell(n, job, sign));
    }
    cells.extend(COLUMNS.iter().map(|c| reading(n, job, c.0, None)));
    cells.extend((1..=CYLINDERS).map(|c| reading(n + u64::from(c), job, EACH.0, Some(c))));
    cells.push(found(n, job));
    cells.push(done(job));
    cells.push(hours(job));
    let quoted = cells.iter().map(|c| {
        if c.contains([';', '"', '\n']) {
            format!("\"{}\"", c.replace('"', "\"\""))
        } else {
            c.clone()
        }
    });
    quoted.collect::<Vec<_>>().join(";") + "\n"
}

fn blank(n: u64) -> String {
    let len = BLANKS.len() as u64;
    BLANKS[usize::try_from(n % len).unwrap_or(0)].to_owned()
}

fn date(n: u64, job: &Job) -> String {
    let at = job
        .entries
        .iter()
        .find_map(|e| e.at.as_deref())
        .unwrap_or("");
    let parts = at.get(..10).unwrap_or("").split('-').collect::<Vec<_>>();
    match parts[..] {
        [year, month, day] if n % 5 == 3 => format!("{month}/{day}/{year}"),
        [year, month, day] => format!("{day}.{month}.{year}"),
        _ => String::new(),
    }
}

fn temperature(n: u64, job: &Job) -> String {
    let found = job.entries.iter().find_map(|e| match &e.body {
        EntryBody::Start(start) => start.engine_temperature.as_ref().map(|q| q.value),
        _ => None,
    });
    match found {
        None => blank(n),
        Some(celsius) if n % 6 == 1 => format!("{celsius:.0} C"),
        Some(celsius) => format!("{:.0}", celsius * 1.8 + 32.0),
    }
}

fn sign_cell(n: u64, job: &Job, sign: &str) -> String {
    let seen = job.entries.iter().find_map(|e| match &e.body {
        EntryBody::Start(start) => start.signs.iter().find(|s| s.sign == sign),
        _ => None,
    });
    seen.map_or_else(|| blank(n), |s| comma(&s.typed.replace('_', " ")))
}

fn reading(n: u64, job: &Job, check: &str, cylinder: Option<u8>) -> String {
    let read = job.entries.iter().find_map(|e| match &e.body {
        EntryBody::Reading(r) if r.check == check && r.cylinder == cylinder => Some(r),
        _ => None,
    });
    match read {
        Some(r) if matches!(r.value, ReadingValue::Measured(_)) => {
            let text = comma(&r.typed.replace('_', " "));
            // Half the sheet leaves the unit to the header.
            match text.split_once(' ') {
                Some((number, _)) if n.is_multiple_of(2) && r.value.number().is_some() => {
                    number.to_owned()
                }
                _ => text,
            }
        }
        _ => blank(n),
    }
}

fn comma(text: &str) -> String {
    text.replace('.', ",")
}

fn found(n: u64, job: &Job) -> String {
    let names = job.entries.iter().filter_map(|e| match &e.body {
        EntryBody::Finding(f) => {
            let name = f.fault.replace(['.', '_'], " ");
            let name = f.cylinder.map_or(name.clone(), |c| format!("{name} {c}"));
            let refuted = f.proof == Some(crate::job::Proof::Refuted);
            Some(if refuted { format!("not {name}") } else { name })
        }
        _ => None,
    });
    let names = names.collect::<Vec<_>>();
    if names.is_empty() {
        return if n.is_multiple_of(2) {
            "?".to_owned()
        } else {
            "nothing found".to_owned()
        };
    }
    names.join(if n.is_multiple_of(3) { " + " } else { ", " })
}

fn done(job: &Job) -> String {
    let works = job.entries.iter().filter_map(|e| match &e.body {
        EntryBody::Work(w) => Some(w.repair.replace('_', " ")),
        _ => None,
    });
    works.collect::<Vec<_>>().join(", ")
}

fn hours(job: &Job) -> String {
    let minutes = job.entries.iter().filter_map(|e| match &e.body {
        EntryBody::Work(w) => w.minutes,
        _ => None,
    });
    comma(&format!("{:.2}", minutes.sum::<f64>() / 60.0))
}
