//! The words of job files: identifiers with their labels, kind by kind.
//!
//! Must not add a word that the knowledge files do not hold.

use serde_json::{Value, json};

use super::page::{Layout, Page};
use super::round;
use crate::knowledge::{CheckKind, Cold, Knowledge, Per, Scope, When};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/vocab/1";

/// Kinds of words.
pub const KINDS: [&str; 10] = [
    "parts",
    "faults",
    "signs",
    "checks",
    "repairs",
    "tools",
    "access",
    "words",
    "issue-codes",
    "hazards",
];

/// The words of one kind, each an object with `id`, `label` and what else belongs to it.
#[must_use]
pub fn entries(knowledge: &Knowledge, kind: &str) -> Vec<Value> {
    match kind {
        "parts" => parts(knowledge),
        "faults" => faults(knowledge),
        "signs" => signs(knowledge),
        "checks" => checks(knowledge),
        "repairs" => repairs(knowledge),
        "tools" => {
            let tools = knowledge.tools.iter();
            tools
                .map(|t| json!({ "id": t.id.get_ref(), "label": t.label, "always": t.always }))
                .collect()
        }
        "access" => {
            let access = knowledge.access.iter();
            access
                .map(|a| {
                    json!({
                        "id": a.id.get_ref(),
                        "label": a.label,
                        "minutes": round::number(a.minutes),
                    })
                })
                .collect()
        }
        "words" => {
            let words = knowledge.words.iter();
            words
                .map(|w| json!({ "id": w.word.get_ref(), "label": w.means.get_ref() }))
                .collect()
        }
        "issue-codes" => {
            let codes = knowledge.issue_codes.iter();
            codes
                .map(|c| json!({ "id": c.code, "label": c.text }))
                .collect()
        }
        "hazards" => {
            let hazards = knowledge.hazards.iter();
            hazards
                .map(|h| json!({ "id": h.id.get_ref(), "label": h.text }))
                .collect()
        }
        _ => Vec::new(),
    }
}

fn parts(knowledge: &Knowledge) -> Vec<Value> {
    let parts = knowledge.parts.iter();
    parts
        .map(|p| {
            json!({
                "id": p.id.get_ref(),
                "label": p.label,
                "system": p.system,
                "each_cylinder": p.scope == Scope::Cylinder,
                "states": p.states(),
            })
        })
        .collect()
}

fn faults(knowledge: &Knowledge) -> Vec<Value> {
    let mut list = Vec::new();
    for part in &knowledge.parts {
        for fault in part.fault.iter().filter(|f| !f.wear_only) {
            list.push(json!({
                "id": format!("{}.{}", part.id.get_ref(), fault.id.get_ref()),
                "label": fault.label,
                "code": fault.code.get_ref(),
                "system": part.system,
                "each_cylinder": part.scope == Scope::Cylinder,
                "mechanism": fault.mechanism,
            }));
        }
    }
    list
}

fn signs(knowledge: &Knowledge) -> Vec<Value> {
    let signs = knowledge.signs.iter();
    signs
        .map(|s| {
            let when = match s.when {
                When::Start => "start",
                When::Lasting => "lasting",
            };
            json!({
                "id": s.id.get_ref(),
                "label": s.label,
                "code": s.code.get_ref(),
                "when": when,
                "states": s.states,
                "look": s.look,
            })
        })
        .collect()
}

fn checks(knowledge: &Knowledge) -> Vec<Value> {
    let checks = knowledge.checks.iter();
    checks
        .map(|c| {
            let states = match c.kind {
                CheckKind::States => &c.states,
                CheckKind::Number => &c.bound_names,
            };
            let access: Vec<&str> = c.access.iter().map(|a| a.get_ref().as_str()).collect();
            json!({
                "id": c.id.get_ref(),
                "label": c.label,
                "code": c.code.get_ref(),
                "system": c.system,
                "each_cylinder": c.per == Per::Cylinder,
                "states": states,
                "unit": c.unit.as_ref().map(|u| u.get_ref()),
                "minutes": round::number(c.minutes),
                "access": access,
                "cold": cold(c.cold),
            })
        })
        .collect()
}

/// Word for what a check does to the cold.
#[must_use]
pub fn cold(cold: Cold) -> &'static str {
    match cold {
        Cold::Keeps => "keeps",
        Cold::Needs => "needs",
        Cold::UsesUp => "uses_up",
    }
}

fn repairs(knowledge: &Knowledge) -> Vec<Value> {
    let repairs = knowledge.repairs.iter();
    repairs
        .map(|r| {
            let fixes: Vec<&str> = r.fixes.iter().map(|f| f.fault.get_ref().as_str()).collect();
            json!({
                "id": r.id.get_ref(),
                "label": r.label,
                "system": r.system,
                "each_cylinder": r.per == Per::Cylinder,
                "fixes": fixes,
                "minutes": round::number(r.minutes),
                "verify": r.verify,
            })
        })
        .collect()
}

/// The document.
#[must_use]
pub fn json(knowledge: &Knowledge, kind: &str) -> Value {
    json!({
        "schema": SCHEMA,
        "figures_sha256": knowledge.sha256,
        "kind": kind,
        "entries": entries(knowledge, kind),
    })
}

/// The kinds as a document, with the number of words in each.
#[must_use]
pub fn kinds_json(knowledge: &Knowledge) -> Value {
    let kinds: Value = KINDS
        .iter()
        .map(|kind| json!({ "id": kind, "label": kind, "count": entries(knowledge, kind).len() }))
        .collect();
    json!({
        "schema": SCHEMA,
        "figures_sha256": knowledge.sha256,
        "kind": null,
        "entries": kinds,
    })
}

/// The list for people: identifier, label, and the states where there are some.
#[must_use]
pub fn text(knowledge: &Knowledge, kind: &str, layout: Layout) -> String {
    let mut page = Page::new(layout);
    for entry in entries(knowledge, kind) {
        let word = |key: &str| entry[key].as_str().unwrap_or_default().to_owned();
        page.hang(&format!("{}  ", word("id")), &word("label"));
        let states: Vec<&str> = entry["states"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .collect();
        if !states.is_empty() {
            page.hang("    ", &states.join(" | "));
        }
    }
    page.finish()
}

/// The kinds with the number of words in each, for people.
#[must_use]
pub fn kinds(knowledge: &Knowledge, layout: Layout) -> String {
    let mut page = Page::new(layout);
    page.say("Say which words: hardstart vocab KIND");
    for kind in KINDS {
        let count = entries(knowledge, kind).len();
        page.hang(&format!("  {kind:<12} "), &count.to_string());
    }
    page.finish()
}
