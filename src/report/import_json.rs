//! An import and a first look, for programs; and the record that stands beside imported jobs.
//!
//! Must not count; the report has counted.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::exchange::encoding::How;
use crate::exchange::import::{Report, Table};
use crate::exchange::peek::Look;

/// Schema of an import.
pub const SCHEMA: &str = "hardstart/import/1";
/// Schema of a first look.
pub const PEEK: &str = "hardstart/peek/1";

fn how(how: How) -> Value {
    match how {
        How::Stated => "stated".into(),
        How::Mark => "mark".into(),
        How::Fits => "fits".into(),
        How::Zeros => "zeros".into(),
        How::Guessed { byte, line } => format!("guessed: byte {byte:02X} at line {line}").into(),
    }
}

fn delimiter(table: &Table) -> String {
    char::from(table.layout.delimiter).to_string()
}

/// The document of an import.
#[must_use]
pub fn import(report: &Report, figures_sha256: &str) -> Value {
    let table = &report.table;
    let issues: Vec<Value> = report
        .issues
        .iter()
        .map(|i| i.json(&table.file, &table.bytes.sha256))
        .collect();
    let codes: BTreeMap<&str, u64> = report.codes.iter().map(|(c, n)| (c.word(), *n)).collect();
    let decimal: BTreeMap<&str, String> = report
        .decimals
        .iter()
        .map(|(h, c)| (h.as_str(), c.to_string()))
        .collect();
    let b = &report.balance;
    json!({
        "schema": SCHEMA,
        "figures_sha256": figures_sha256,
        "file": table.file,
        "sha256": table.bytes.sha256,
        "bytes": table.bytes.size,
        "lines": table.bytes.lines,
        "encoding": table.bytes.coding.encoding.name(),
        "encoding_how": how(table.bytes.coding.how),
        "delimiter": delimiter(table),
        "header_line": table.layout.header_line,
        "decimal": decimal,
        "map_sha256": report.map_sha256,
        "map_drafted": report.drafted,
        "records": b.records,
        "accepted": b.accepted,
        "duplicates": b.duplicates,
        "already": b.already,
        "quarantined": b.quarantined,
        "ignored": b.ignored,
        "codes": codes,
        "phrases": {
            "all": report.causes.phrases,
            "mapped": report.causes.mapped,
            "negated": report.causes.negated,
            "unmapped": report.causes.unmapped,
        },
        "unmapped": report.unmapped.iter().map(|(t, n)| json!({ "text": t, "count": n })).collect::<Vec<_>>(),
        "issues": issues,
    })
}

/// The record kept beside the jobs: what was used and decided, and the counts. `started` is
/// left out where the same bytes are wanted twice.
#[must_use]
pub fn record(
    report: &Report,
    figures_sha256: &str,
    rules: &BTreeMap<String, String>,
    strict: bool,
    started: Option<&str>,
) -> String {
    let mut record = import(report, figures_sha256);
    if let Value::Object(map) = &mut record {
        map.remove("issues");
        map.insert("rules_sha256".to_owned(), json!(rules));
        map.insert("strict".to_owned(), strict.into());
        map.insert(
            "program".to_owned(),
            json!({ "name": "hardstart", "version": env!("CARGO_PKG_VERSION") }),
        );
        if let Some(started) = started {
            map.insert("started".to_owned(), started.into());
        }
    }
    format!("{record:#}\n")
}

/// The document of a first look.
#[must_use]
pub fn peek(look: &Look) -> Value {
    let table = &look.table;
    let columns: Vec<Value> = look
        .columns
        .iter()
        .map(|c| {
            json!({
                "heading": c.heading,
                "kind": c.kind.word(),
                "decimal": c.decimal.map(|d| d.to_string()),
                "filled": c.filled,
                "without": c.without,
                "odd": c.odd,
                "different": c.different,
                "samples": c.samples,
            })
        })
        .collect();
    json!({
        "schema": PEEK,
        "file": table.file,
        "sha256": table.bytes.sha256,
        "bytes": table.bytes.size,
        "lines": table.bytes.lines,
        "encoding": table.bytes.coding.encoding.name(),
        "encoding_how": how(table.bytes.coding.how),
        "delimiter": delimiter(table),
        "header_line": table.layout.header_line,
        "records": look.records,
        "more": look.more,
        "columns": columns,
    })
}
