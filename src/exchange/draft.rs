//! A first map for a foreign table, drafted from its headings, to be edited.
//!
//! Only what a heading says plainly is mapped; the rest is kept under its heading. Must not
//! look at cells.

use std::collections::BTreeMap;

use super::headings::{self, stem};
use super::target::{self, Place, Shape};
use crate::knowledge::Knowledge;

/// What a column is drafted as.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Guess {
    Key,
    Date,
    Text(&'static str),
    Value(String),
}

/// Words of headings, longest match first (common practice of shop sheets, no source).
const STEMS: &[(&str, &str)] = &[
    ("job no", "key"),
    ("job number", "key"),
    ("job id", "key"),
    ("job", "key"),
    ("ticket", "key"),
    ("order no", "key"),
    ("auftrag", "key"),
    ("card no", "key"),
    ("date in", "date"),
    ("date", "date"),
    ("datum", "date"),
    ("opened at", "date"),
    ("day", "date"),
    ("found", "cause"),
    ("cause", "cause"),
    ("fault", "cause"),
    ("fault found", "cause"),
    ("befund", "cause"),
    ("done", "action"),
    ("work done", "action"),
    ("repair", "action"),
    ("action", "action"),
    ("proof", "proof"),
    ("how shown", "proof"),
    ("complaint", "complaint"),
    ("customer says", "complaint"),
    ("complaint text", "complaint"),
    ("notes", "note"),
    ("remarks", "note"),
    ("comment", "note"),
    ("note", "note"),
    ("ambient", "start.air_temperature"),
    ("ambient temp", "start.air_temperature"),
    ("air temp", "start.air_temperature"),
    ("engine temp", "start.engine_temperature"),
    ("coolant temp", "start.engine_temperature"),
    ("soak", "start.soak"),
    ("stood", "start.soak"),
    ("tries", "start.tries"),
    ("crank s", "crank_time"),
    ("crank time", "crank_time"),
    ("cranking time", "crank_time"),
    ("smoke", "smoke_cranking"),
    ("smoke cranking", "smoke_cranking"),
    ("smoke after", "smoke_after"),
    ("batt v crank", "cranking_volts"),
    ("battery cranking", "cranking_volts"),
    ("cranking volts", "cranking_volts"),
    ("batt v rest", "battery_rest_volts"),
    ("battery rest", "battery_rest_volts"),
    ("resting volts", "battery_rest_volts"),
    ("plug s", "plug_glow_time"),
    ("plug time", "plug_glow_time"),
    ("glow time", "plug_glow_time"),
    ("time to glow", "plug_glow_time"),
    ("plug ohm", "plug_ohms"),
    ("plug ohms", "plug_ohms"),
    ("plug a", "plug_current"),
    ("plug amps", "plug_current"),
    ("comp", "compression"),
    ("compression", "compression"),
    ("rpm", "crank_rpm"),
    ("cranking rpm", "crank_rpm"),
    ("cylinders", "engine.cylinders"),
    ("engine hours", "engine.hours"),
    ("system volts", "engine.system_volts"),
    ("hrs", "work_minutes"),
    ("hours", "work_minutes"),
    ("labour", "work_minutes"),
    ("minutes", "work_minutes"),
    ("minutes total", "work_minutes"),
    ("parts", "parts_cost"),
    ("parts cost", "parts_cost"),
];

/// Units of bare numbers where neither heading nor cells say (common practice, no source).
const UNITS: &[(&str, &str)] = &[
    ("start.air_temperature", "Cel"),
    ("start.engine_temperature", "Cel"),
    ("start.soak", "h"),
    ("crank_time", "s"),
    ("time_to_even", "s"),
    ("plug_glow_time", "s"),
    ("compression", "bar"),
    ("cranking_volts", "V"),
    ("battery_rest_volts", "V"),
    ("plug_ohms", "Ohm"),
    ("plug_current", "A"),
    ("plug_current_total", "A"),
    ("crank_rpm", "/min"),
    ("opening_pressure", "bar"),
];

/// The heading without its numbers: a pattern, if it has one.
fn pattern(heading: &str) -> Option<String> {
    let digits = heading
        .trim_end()
        .trim_end_matches(|c: char| c.is_ascii_digit());
    let number = heading.trim_end().get(digits.len()..)?;
    let fits = number.parse::<u8>().is_ok_and(|n| (1..=12).contains(&n));
    let end = &heading[digits.len() + number.len()..];
    (fits && !digits.trim().is_empty()).then(|| format!("{digits}{{cyl}}{end}"))
}

fn guess(knowledge: &Knowledge, name: &str) -> Option<Guess> {
    let plain = stem(name);
    let known = STEMS.iter().find(|(s, _)| *s == plain).map(|(_, to)| *to);
    // A heading that is an id of ours says so itself.
    let name = name
        .trim()
        .trim_end_matches("{cyl}")
        .trim_end_matches(['_', 'c', ' '])
        .to_owned();
    let own = target::find(knowledge, name.as_str()).map(|_| name.as_str());
    let without_unit = || {
        let words: Vec<&str> = plain.split(' ').collect();
        (1..words.len()).rev().find_map(|n| {
            let shorter = words[..n].join(" ");
            STEMS
                .iter()
                .find(|(s, _)| *s == shorter)
                .map(|(_, to)| *to)
                .filter(|_| words.len() - n <= 1)
        })
    };
    Some(match known.or(own).or_else(without_unit)? {
        "key" => Guess::Key,
        "date" => Guess::Date,
        "cause" => Guess::Text("cause"),
        "action" => Guess::Text("action"),
        "proof" => Guess::Text("proof"),
        other => Guess::Value(other.to_owned()),
    })
}

/// The map as text.
#[must_use]
pub fn text(own: &[String], knowledge: &Knowledge) -> String {
    let mut key: Option<&str> = None;
    let mut dates: Vec<&str> = Vec::new();
    let mut texts: Vec<(&str, &str)> = Vec::new();
    let mut values: BTreeMap<usize, (String, String, bool)> = BTreeMap::new();
    let mut kept: Vec<&str> = Vec::new();
    for (at, heading) in own.iter().enumerate() {
        let spread = pattern(heading);
        let name = spread.as_deref().map_or(heading.as_str(), |p| p);
        match guess(knowledge, &name.replace("{cyl}", "")) {
            Some(Guess::Key) if key.is_none() => key = Some(heading),
            Some(Guess::Date) if dates.is_empty() => dates.push(heading),
            Some(Guess::Text(role)) if !texts.iter().any(|(_, r)| *r == role) => {
                texts.push((heading, role))
            }
            Some(Guess::Value(to)) => {
                let each = matches!(
                    target::find(knowledge, &to),
                    Some((Place::Reading { each: true, .. }, _))
                );
                let name = match spread {
                    Some(pattern) if each => pattern,
                    _ if each => {
                        kept.push(heading);
                        continue;
                    }
                    _ => heading.clone(),
                };
                let twice = values
                    .values()
                    .any(|(n, t, _)| *n == name || (*t == to && !n.contains("{cyl}")));
                if !twice {
                    values.insert(at, (name, to, each));
                }
            }
            _ => kept.push(heading),
        }
    }
    let key = key
        .or_else(|| own.first().map(String::as_str))
        .unwrap_or_default();
    write(key, &dates, &texts, values.values(), &kept, knowledge, own)
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

fn write<'v>(
    key: &str,
    dates: &[&str],
    texts: &[(&str, &str)],
    values: impl Iterator<Item = &'v (String, String, bool)>,
    kept: &[&str],
    knowledge: &Knowledge,
    own: &[String],
) -> String {
    let mut out = String::from(
        "# Column map. Lines that begin with # are proposals or notes; edit, then try\n\
         # `hardstart import FILE --map THIS --dry-run`.\nformat = 1\n\n\
         [file]\n# encoding = \"windows-1252\"\n# delimiter = \";\"\n# decimal = \",\"\n# header_line = 1\n# footer = \"TOTAL\"\n\n",
    );
    out.push_str(&format!(
        "[key]\n# Several headings make visits: job = [\"number\", \"date\"]\njob = {}\n\n",
        quoted(key)
    ));
    out.push_str("[job]\n# complaint = \"hard to start cold\"\n# proof = \"believed\"\n\n");
    out.push_str("[engine]\n# cylinders = 4\n# chamber = \"swirl\"\n# preheat = \"plugs\"\n# system_volts = 12\n");
    for heading in dates {
        out.push_str(&format!(
            "\n[date.{}]\n# patterns = [\"%d.%m.%Y\"]\n# serial = \"1900\"\n# pivot = 50\n",
            quoted(heading)
        ));
    }
    for (heading, to, _) in values {
        out.push_str(&format!(
            "\n[col.{}]\nto = {}\n",
            quoted(heading),
            quoted(to)
        ));
        let Some((_, Shape::Quantity { dimension, .. })) = target::find(knowledge, to) else {
            continue;
        };
        let example = own.iter().find(|h| headings::fits(heading, h).is_some());
        let stated = example.and_then(|h| headings::unit(h, dimension));
        let unit = match (stated, to.as_str()) {
            (Some(unit), _) => unit.code(),
            // Hours are what work is written in unless the heading says minutes.
            (None, "work_minutes") if stem(heading).starts_with("min") => "min",
            (None, "work_minutes") => "h",
            (None, to) => UNITS.iter().find(|(t, _)| *t == to).map_or("", |(_, u)| *u),
        };
        match unit {
            "" => out.push_str("# unit = \"...\"\n"),
            unit => out.push_str(&format!("unit = {}\n", quoted(unit))),
        }
        out.push_str("# words = { \"no glow\" = { cmp = \">\", value = 60 } }\n");
    }
    for (heading, role) in texts {
        out.push_str(&format!(
            "\n[text.{}]\nrole = {}\n",
            quoted(heading),
            quoted(role)
        ));
        if *role == "cause" {
            out.push_str("# rules = \"causes.csv\"     # phrase,cause\n");
        }
    }
    if !kept.is_empty() {
        out.push_str("\n# Kept as they are, not understood:\n");
        for heading in kept {
            out.push_str(&format!("# [col.{}]\n# to = \"...\"\n", quoted(heading)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::{lay, map, plan};
    use crate::knowledge::{KnowledgeFiles, load};

    #[test]
    fn a_draft_fits_the_table_it_was_made_for() {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let own: Vec<String> = [
            "Job No",
            "Date in",
            "Ambient (\u{b0}F)",
            "Batt V crank",
            "Plug s 1",
            "Plug s 2",
            "Comp 1",
            "Comp 2",
            "Smoke",
            "Found",
            "Done",
            "Hrs",
            "Parts \u{20ac}",
            "odd \"one\"",
        ]
        .map(str::to_owned)
        .to_vec();
        let text = text(&own, &knowledge);
        let map = map::read(&text).unwrap();
        let plan = lay::make(&map, &text, &own, &[], &knowledge).unwrap();
        assert_eq!(plan.key, [0]);
        for wanted in [
            "to = \"plug_glow_time\"",
            "[col.\"Plug s {cyl}\"]",
            "to = \"compression\"",
            "unit = \"[degF]\"",
            "to = \"parts_cost\"",
            "to = \"work_minutes\"\nunit = \"h\"",
        ] {
            assert!(text.contains(wanted), "{wanted}\n{text}");
        }
        assert!(matches!(plan.columns[9], plan::Column::Cause));
    }
}
