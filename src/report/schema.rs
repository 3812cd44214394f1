//! The JSON Schemas of every document, written by hand beside the writers.
//!
//! Must not validate.

/// Names of the documents with the text of their schema.
pub const SCHEMAS: [(&str, &str); 21] = [
    ("causes", include_str!("schema/causes-1.json")),
    ("next", include_str!("schema/next-1.json")),
    ("plan", include_str!("schema/plan-1.json")),
    ("suppose", include_str!("schema/suppose-1.json")),
    ("policy", include_str!("schema/policy-1.json")),
    ("why", include_str!("schema/why-1.json")),
    ("trials", include_str!("schema/trials-1.json")),
    ("network", include_str!("schema/network-1.json")),
    ("vocab", include_str!("schema/vocab-1.json")),
    ("units", include_str!("schema/units-1.json")),
    ("selftest", include_str!("schema/selftest-1.json")),
    ("import", include_str!("schema/import-1.json")),
    ("peek", include_str!("schema/peek-1.json")),
    ("score", include_str!("schema/score-1.json")),
    ("score_summary", include_str!("schema/score_summary-1.json")),
    ("compare", include_str!("schema/compare-1.json")),
    ("fit", include_str!("schema/fit-1.json")),
    ("fit_run", include_str!("schema/fit_run-1.json")),
    ("params", include_str!("schema/params-1.json")),
    ("params_diff", include_str!("schema/params_diff-1.json")),
    ("error", include_str!("schema/error-1.json")),
];

/// Name of the schema of job files, which the job reader holds.
pub const JOB: &str = "job";

/// Names of all documents.
#[must_use]
pub fn names() -> Vec<&'static str> {
    let own = SCHEMAS.iter().map(|(name, _)| *name);
    std::iter::once(JOB).chain(own).collect()
}

/// Text of the schema of that document.
#[must_use]
pub fn text(name: &str) -> Option<&'static str> {
    if name == JOB {
        return Some(crate::job::schema_json());
    }
    SCHEMAS
        .iter()
        .find(|(n, _)| *n == name)
        .map(|(_, text)| *text)
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;

    #[test]
    fn every_schema_is_json_and_names_its_document() {
        for name in names() {
            let schema: Value = serde_json::from_str(text(name).unwrap()).unwrap();
            let wanted = format!("hardstart/{name}/1");
            assert_eq!(schema["properties"]["schema"]["const"], wanted, "{name}");
            assert!(schema["required"].is_array(), "{name}");
        }
    }
}
