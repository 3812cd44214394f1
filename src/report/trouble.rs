//! What went wrong, in three parts: what, where, what to try; as text and as JSON.
//!
//! Must not decide an exit code.

use std::fmt;

use serde_json::{Value, json};

use crate::job::JobErrors;
use crate::knowledge::{KnowledgeErrors, KnowledgeFiles};

/// Schema of the JSON document.
pub const SCHEMA: &str = "hardstart/error/1";

/// A place in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// File as named by the person, `-` for the standard input.
    pub file: String,
    /// Line, from 1; `None` for the file as a whole.
    pub line: Option<usize>,
    /// Column in characters, from 1.
    pub column: Option<usize>,
}

impl fmt::Display for Place {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(&self.file)?;
        for number in [self.line, self.column].into_iter().map_while(|n| n) {
            write!(to, ":{number}")?;
        }
        Ok(())
    }
}

/// One thing that went wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What.
    pub what: String,
    /// Where, if it has a place.
    pub place: Option<Place>,
    /// What to try.
    pub advice: String,
    /// The place drawn with a caret, if it can be.
    pub drawn: Option<String>,
}

impl Trouble {
    /// Something without a place.
    #[must_use]
    pub fn new(what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            place: None,
            advice: advice.into(),
            drawn: None,
        }
    }

    /// Something with a file as a whole.
    #[must_use]
    pub fn in_file(
        file: impl Into<String>,
        what: impl Into<String>,
        advice: impl Into<String>,
    ) -> Self {
        let place = Place {
            file: file.into(),
            line: None,
            column: None,
        };
        Self {
            place: Some(place),
            ..Self::new(what, advice)
        }
    }
}

/// Every problem of a job file; `text` is what was read.
#[must_use]
pub fn of_job(errors: &JobErrors, text: &str) -> Vec<Trouble> {
    errors
        .problems
        .iter()
        .map(|p| Trouble {
            what: p.what.clone(),
            place: Some(Place {
                file: p.file.clone(),
                line: Some(p.line),
                column: Some(p.column),
            }),
            advice: p.try_.clone(),
            drawn: Some(p.render(text)),
        })
        .collect()
}

/// Every problem of the knowledge files.
#[must_use]
pub fn of_knowledge(errors: &KnowledgeErrors, files: &KnowledgeFiles) -> Vec<Trouble> {
    errors
        .problems
        .iter()
        .map(|p| Trouble {
            what: p.what.clone(),
            place: Some(Place {
                file: p.file.clone(),
                line: Some(p.line),
                column: Some(p.column),
            }),
            advice: p.advice.clone(),
            drawn: files.text(&p.file).map(|text| p.render(text)),
        })
        .collect()
}

/// The troubles for people.
#[must_use]
pub fn text(troubles: &[Trouble]) -> String {
    let mut text = String::new();
    for (at, trouble) in troubles.iter().enumerate() {
        if at > 0 {
            text.push('\n');
        }
        match (&trouble.drawn, &trouble.place) {
            (Some(drawn), _) => text.push_str(drawn),
            (None, Some(place)) => {
                text.push_str(&format!("error: {place}: {}", trouble.what));
            }
            (None, None) => text.push_str(&format!("error: {}", trouble.what)),
        }
        if trouble.drawn.is_none() {
            text.push_str(&format!("\nTry: {}", trouble.advice));
        }
        text.push('\n');
    }
    text
}

/// The troubles for programs.
#[must_use]
pub fn json(troubles: &[Trouble]) -> Value {
    let list: Value = troubles
        .iter()
        .map(|t| {
            let place = t.place.as_ref();
            json!({
                "what": t.what,
                "file": place.map(|p| p.file.as_str()),
                "line": place.and_then(|p| p.line),
                "column": place.and_then(|p| p.column),
                "try": t.advice,
            })
        })
        .collect();
    json!({ "schema": SCHEMA, "errors": list })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_parts_in_both_forms() {
        let list = [Trouble::in_file(
            "a.toml",
            "cannot be read",
            "check the name",
        )];
        assert_eq!(
            text(&list),
            "error: a.toml: cannot be read\nTry: check the name\n"
        );
        let error = &json(&list)["errors"][0];
        assert_eq!(error["what"], "cannot be read");
        assert_eq!(error["file"], "a.toml");
        assert_eq!(error["line"], Value::Null);
        assert_eq!(error["try"], "check the name");
    }
}
