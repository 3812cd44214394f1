//! What is wrong with what was typed, in the words of the form it was typed into: the job reader
//! speaks to whoever writes job files.
//!
//! Must not judge what was typed.

use crate::job::JobProblem;

/// Fields of forms by their names in job files: the words on the form, and what to type.
const FIELDS: [(&str, &str, &str); 21] = [
    ("tries", "Tries", "type a whole number, such as 2"),
    ("trial", "Trial number", "type a whole number, such as 2"),
    (
        "cylinder",
        "Cylinder",
        "type the number of the cylinder, such as 3",
    ),
    ("cylinders", "Cylinders", "choose how many there are"),
    ("people", "People at hand", "tap how many there are"),
    ("minutes", "Minutes", "type a number, such as 25"),
    ("parts_cost", "Parts cost", "type a number, such as 12,50"),
    ("hours", "Hours run", "type the hours, such as 4200 h"),
    (
        "distance",
        "Distance run",
        "type it with its unit, such as 80000 km",
    ),
    (
        "engine_temperature",
        "Engine at",
        "type the degrees, such as -6 °C",
    ),
    (
        "air_temperature",
        "Air at",
        "type the degrees, such as -6 °C",
    ),
    ("soak", "Stood for", "type the hours, such as 12 h"),
    ("preheat", "Preheated for", "type the seconds, such as 8 s"),
    (
        "supply",
        "Supply meanwhile",
        "type the volts, such as 12,4 V",
    ),
    (
        "rest",
        "Rest since the last trial",
        "type the minutes, such as 10 min",
    ),
    (
        "leads",
        "Meter leads touched together",
        "type the ohms, such as 0,2 ohm",
    ),
    (
        "value",
        "What was read",
        "type a number and tap its unit, or tap what was found",
    ),
    ("repair", "What was done", "choose it from the list"),
    ("check", "Check", "open the check again from the job"),
    ("state", "How the job stands", "tap one of them"),
    ("result", "How did it start?", "tap one of them"),
];

/// What is wrong and what to do, without names and marks of job files.
#[must_use]
pub fn in_form(problem: &JobProblem) -> (String, String) {
    let key = problem.path.rsplit('.').next().unwrap_or_default();
    let known = FIELDS.iter().find(|f| f.0 == key);
    // The kind of a value (`tries` is a text) is nothing that people type.
    let is_syntax = problem.what.contains("belongs here") && problem.what.contains("` is ");
    let what = match known {
        Some((_, label, _)) if is_syntax => format!("{label}: this cannot be read"),
        _ if is_syntax => "something typed here cannot be read".to_owned(),
        Some((_, label, _)) => {
            let named = without_place(&problem.what).replace(&format!("`{key}`"), label);
            match named.starts_with(label) {
                true => quoted(&named),
                false => format!("{label}: {}", quoted(&named)),
            }
        }
        None => quoted(&without_place(&problem.what)),
    };
    // What the reader would have written into a file, or a unit that the form does not ask for.
    let of_files = [" = ", "job file", "vocabulary", "the id "];
    let speaks_file = of_files.iter().any(|mark| problem.try_.contains(mark))
        || problem.what == "the unit is missing"
        || problem.what.starts_with("no number")
        || problem.what.starts_with("unknown unit");
    let advice = match known {
        Some((_, _, advice)) if speaks_file || is_syntax => (*advice).to_owned(),
        _ if speaks_file || is_syntax => "look at what was typed, and save again".to_owned(),
        _ => quoted(&problem.try_),
    };
    (what, advice)
}

/// Without the place within a text, which only whoever counts its bytes can use.
fn without_place(what: &str) -> String {
    match what.split_once(" at byte ") {
        Some((before, after)) => {
            let after = after.trim_start_matches(|c: char| c.is_ascii_digit());
            format!("{before}{after}")
        }
        None => what.to_owned(),
    }
}

/// The marks that stand around words of job files, as quotation marks.
fn quoted(text: &str) -> String {
    let mut opens = false;
    let quote = |c: char| match c {
        '`' => {
            opens = !opens;
            if opens { '“' } else { '”' }
        }
        other => other,
    };
    text.chars().map(quote).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(path: &str, what: &str, try_: &str) -> (String, String) {
        in_form(&JobProblem {
            file: String::new(),
            line: 1,
            column: 1,
            span: 0..0,
            path: path.to_owned(),
            what: what.to_owned(),
            try_: try_.to_owned(),
        })
    }

    #[test]
    fn nothing_of_job_files_is_left() {
        let kind = "`tries` is a text, but a whole number belongs here";
        let of = [
            (
                problem("entry[0].start.tries", kind, "write `tries = 1`"),
                (
                    "Tries: this cannot be read",
                    "type a whole number, such as 2",
                ),
            ),
            (
                problem(
                    "engine.hours",
                    "the unit is missing",
                    "write `1000 s` (or one of: s, h)",
                ),
                (
                    "Hours run: the unit is missing",
                    "type the hours, such as 4200 h",
                ),
            ),
            (
                problem(
                    "entry[0].start.tries",
                    "`tries` is 0, outside 1 to 100",
                    "write a whole number from 1 to 100",
                ),
                (
                    "Tries is 0, outside 1 to 100",
                    "write a whole number from 1 to 100",
                ),
            ),
            (
                problem(
                    "entry[0].start.soak",
                    "`1,234` can mean 1234 or 1.234",
                    "write `1234` or `1.234`",
                ),
                (
                    "Stood for: “1,234” can mean 1234 or 1.234",
                    "write “1234” or “1.234”",
                ),
            ),
        ];
        let (what, _) = problem(
            "engine.hours",
            "no number at byte 0: `many`",
            "write `10 s`",
        );
        assert_eq!(what, "Hours run: no number: “many”");
        for ((what, advice), (says, then)) in of {
            assert_eq!((what.as_str(), advice.as_str()), (says, then));
        }
    }
}
