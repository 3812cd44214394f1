//! The descriptor that stands beside our tables: a Data Package, version 2.
//!
//! Path, encoding, bytes, hash, dialect, fields with types, missing values with labels, keys.
//! Must not read what a value means.

use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

use rayon::prelude::*;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::encoding::hex;
use super::error::ExchangeError;
use super::tokens;
use crate::job::Absent;

/// Name of the descriptor.
pub const NAME: &str = "datapackage.json";
/// Profile of the descriptor.
const PROFILE: &str = "https://datapackage.org/profiles/2.0/datapackage.json";

/// Columns of our long table that hold numbers.
const NUMBERS: &[&str] = &["value_num", "supply_v", "rest_before_s", "lead_ohm"];
/// Columns that hold whole numbers.
const WHOLE: &[&str] = &["seq", "cylinder", "trial", "_line"];

/// Size and hash of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sum {
    /// Number of bytes.
    pub bytes: u64,
    /// Hash of them, hexadecimal.
    pub sha256: String,
}

/// The descriptor of every table and job file in a directory, in the order of names. Files in
/// `summed` are not read again.
///
/// # Errors
/// When they cannot be read.
pub fn of_directory(directory: &Path, summed: &[(String, Sum)]) -> Result<String, ExchangeError> {
    let mut names: Vec<String> = fs::read_dir(directory)?
        .flatten()
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .filter(|n| !n.starts_with('.') && (n.ends_with(".csv") || n.ends_with(".ndjson")))
        .collect();
    names.sort();
    // Each in its place, whichever was hashed first.
    let known = |name: &String| summed.iter().find(|(n, _)| n == name).map(|(_, s)| s);
    let resources: Result<Vec<Value>, ExchangeError> = names
        .par_iter()
        .map(|n| resource(directory, n, known(n)))
        .collect();
    let package = json!({
        "$schema": PROFILE,
        "name": "hardstart-jobs",
        "resources": resources?,
    });
    Ok(format!("{package:#}\n"))
}

fn resource(directory: &Path, file: &str, known: Option<&Sum>) -> Result<Value, ExchangeError> {
    let path = directory.join(file);
    let Sum { bytes, sha256 } = match known {
        Some(sum) => sum.clone(),
        None => hashed(&path)?,
    };
    let name: String = file
        .to_lowercase()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    let mut resource = json!({
        "name": name,
        "path": file,
        "encoding": "utf-8",
        "bytes": bytes,
        "hash": format!("sha256:{sha256}"),
    });
    if file.ends_with(".ndjson") {
        resource["format"] = "ndjson".into();
        resource["mediatype"] = "application/x-ndjson".into();
        return Ok(resource);
    }
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_path(&path)
        .map_err(|e| ExchangeError::Read(e.to_string()))?;
    let headings = reader
        .headers()
        .map_err(|e| ExchangeError::Read(e.to_string()))?;
    let headings: Vec<String> = headings.iter().map(str::to_owned).collect();
    resource["format"] = "csv".into();
    resource["mediatype"] = "text/csv".into();
    resource["type"] = "table".into();
    resource["dialect"] = json!({ "delimiter": ",", "header": true });
    resource["schema"] = schema(&headings);
    Ok(resource)
}

/// Fields of a table of ours. Cells with a unit of their own are texts: the numbers in them are
/// read by us, not stripped by others.
#[must_use]
pub fn schema(headings: &[String]) -> Value {
    let fields: Vec<Value> = headings
        .iter()
        .map(|h| {
            let kind = if NUMBERS.contains(&h.as_str()) {
                "number"
            } else if WHOLE.contains(&h.as_str()) {
                "integer"
            } else {
                "string"
            };
            json!({ "name": h, "type": kind })
        })
        .collect();
    let missing: Vec<Value> = Absent::ALL
        .iter()
        .map(|a| json!({ "value": tokens::short(*a), "label": a.id() }))
        .collect();
    let has = |name: &str| headings.iter().any(|h| h == name);
    let mut schema = json!({
        "fieldsMatch": "subset",
        "fields": fields,
        "missingValues": missing,
    });
    if has("job_id") {
        schema["primaryKey"] = if has("seq") {
            json!(["job_id", "seq", "property"])
        } else {
            json!(["job_id"])
        };
    }
    schema
}

fn hashed(path: &Path) -> Result<Sum, ExchangeError> {
    let mut file = File::open(path).map_err(|e| ExchangeError::Read(e.to_string()))?;
    let mut hash = Sha256::new();
    let mut chunk = vec![0; 1 << 18];
    let mut bytes = 0;
    loop {
        let read = file
            .read(&mut chunk)
            .map_err(|e| ExchangeError::Read(e.to_string()))?;
        if read == 0 {
            let sha256 = hex(&hash.finalize());
            return Ok(Sum { bytes, sha256 });
        }
        hash.update(&chunk[..read]);
        bytes += read as u64;
    }
}
