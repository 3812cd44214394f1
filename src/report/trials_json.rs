//! The judgement of repeated timings as `hardstart/trials/1`.
//!
//! Must not judge; the shapes are those of the judgement itself.

use serde_json::{Value, json};

use super::round;
use crate::evidence::trials::{Judgement, Reference, TrialsAnswer};
use crate::job::Job;

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/trials/1";

/// The document. Times are in seconds at the reference volts unless named otherwise.
#[must_use]
pub fn trials(answer: &TrialsAnswer, reference_volts: f64, job: &Job, figures: &str) -> Value {
    let mut document = json!({
        "schema": SCHEMA,
        "job": job.job,
        "figures_sha256": figures,
        "reference_volts": reference_volts,
    });
    let with = answer.with_set_aside.as_ref().map(judgement);
    let rest = json!({
        "with_set_aside": with,
        "supply_note": plain(&answer.supply_note),
        "notes": plain(&answer.notes),
        "counts": plain(&answer.counts),
        "reference": reference(&answer.reference),
        "reference_medians": reference(&answer.reference_medians),
    });
    if let (Some(document), Value::Object(main), Value::Object(rest)) =
        (document.as_object_mut(), judgement(&answer.judgement), rest)
    {
        document.extend(main);
        document.extend(rest);
    }
    document
}

fn judgement(judgement: &Judgement) -> Value {
    let mut value = plain(judgement);
    hold_chances(&mut value);
    value
}

fn reference(reference: &Reference) -> Value {
    plain(reference)
}

/// The value as it serialises, numbers rounded.
fn plain(value: &impl serde::Serialize) -> Value {
    round::all(serde_json::to_value(value).unwrap_or(Value::Null))
}

/// Keys whose numbers are chances: they lie in (0, 1).
const CHANCES: [&str; 9] = [
    "chance",
    "slow",
    "odd",
    "in_line",
    "odd_trial",
    "odd_cylinder",
    "all_alike_but_slow",
    "drifting",
    "late",
];

fn hold_chances(value: &mut Value) {
    match value {
        Value::Array(list) => list.iter_mut().for_each(hold_chances),
        Value::Object(map) => {
            for (key, value) in map.iter_mut() {
                match value.as_f64() {
                    Some(x) if CHANCES.contains(&key.as_str()) => *value = round::chance(x),
                    _ => hold_chances(value),
                }
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::trials::{Bench, Catalogue, Figures, Timing, judge};

    /// The worked case: cylinder 3 has one trial of 15.1 s among eights.
    #[test]
    fn the_document_has_the_keys_of_the_contract() {
        let times = [
            [8.1, 8.4, 8.2],
            [8.0, 8.3, 8.1],
            [8.2, 15.1, 8.3],
            [8.5, 8.2, 8.4],
        ];
        let mut timings = Vec::new();
        for (c, row) in (1..).zip(times) {
            for (t, seconds) in (1..).zip(row) {
                timings.push(Timing::new(c, t, seconds));
            }
        }
        let answer = judge(
            &timings,
            &Bench::default(),
            &Figures::default(),
            &Catalogue::default(),
        )
        .unwrap();
        let document = trials(&answer, 12.0, &Job::new("A", ""), "00");
        for key in [
            "schema",
            "pace",
            "supply_note",
            "cylinders",
            "reference",
            "advice",
        ] {
            assert!(!document[key].is_null(), "{key}");
        }
        for key in ["value", "low", "high", "source"] {
            assert!(!document["pace"][key].is_null(), "{key}");
        }
        for key in ["grubbs", "dixon", "esd", "mad"] {
            assert!(!document["reference"][key].is_null(), "{key}");
        }
        let third = &document["cylinders"][2];
        assert_eq!(third["verdict"], "odd_trial");
        assert_eq!(third["trials"][1]["value"], 15.1);
        assert_eq!(third["trials"][1]["set_aside"], false);
        // Median and spread of the twelve numbers: 8.25 and 0.15 (worked by hand).
        let mad = &document["reference"]["mad"];
        assert_eq!(mad["median"], 8.25);
        assert!((mad["mad"].as_f64().unwrap() - 0.15).abs() < 1e-9);
        // 0.6745 x (15.1 - 8.25) / 0.15 = 30.8.
        assert!((mad["scores"][7].as_f64().unwrap() - 30.8).abs() < 0.05);
    }
}
