//! A job as it is put together from one record, written as one line of JSON.
//!
//! Must not judge; the line is one the job reader accepts.

use crate::job::SCHEMA;

/// Pieces of JSON, key and value.
pub type Fields = Vec<(String, String)>;

/// A job in the making. Values are JSON already.
#[derive(Debug, Clone, Default)]
pub struct DraftJob {
    /// Number of the job.
    pub job: String,
    /// The complaint.
    pub complaint: String,
    /// Fields of the engine.
    pub engine: Fields,
    /// What was told.
    pub told: Fields,
    /// The start the record tells of.
    pub start: Fields,
    /// The start after the work.
    pub after: Fields,
    /// Readings and what is written down beside them, whole entries.
    pub readings: Vec<String>,
    /// Work and findings, whole entries.
    pub closing: Vec<String>,
    /// What is kept under its heading.
    pub extra: Fields,
    /// Date of the record.
    pub at: Option<String>,
}

/// Text as a JSON string.
pub fn push_json(out: &mut String, text: &str) {
    out.push('"');
    // Most texts have nothing to escape.
    if !text
        .bytes()
        .any(|b| b < 0x20 || matches!(b, b'"' | b'\\' | 0x7f))
    {
        out.push_str(text);
        out.push('"');
        return;
    }
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if (c as u32) < 0x20 || c == '\u{7f}' => {
                out.push_str(&format!("\\u{:04x}", c as u32))
            }
            c => out.push(c),
        }
    }
    out.push('"');
}

/// Text as a JSON string.
#[must_use]
pub fn json(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    push_json(&mut out, text);
    out
}

fn push_fields(out: &mut String, fields: &Fields) {
    out.push('{');
    for (at, (key, value)) in fields.iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        push_json(out, key);
        out.push(':');
        out.push_str(value);
    }
    out.push('}');
}

/// Sets a field, once: the first value of a key stands.
pub fn set(fields: &mut Fields, key: &str, value: String) -> bool {
    let new = fields.iter().all(|(k, _)| k != key);
    if new {
        fields.push((key.to_owned(), value));
    }
    new
}

/// A key that needs no escaping.
fn key_of(out: &mut String, key: &str) {
    out.push('"');
    out.push_str(key);
    out.push_str("\":");
}

fn number(out: &mut String, n: u32) {
    if n < 10 {
        out.push(char::from_digit(n, 10).unwrap_or('0'));
    } else {
        out.push_str(&n.to_string());
    }
}

/// One reading as an entry.
#[must_use]
pub fn reading(
    check: &str,
    cylinder: Option<u8>,
    trial: Option<u32>,
    value: &str,
    set_aside: Option<&str>,
    note: Option<&str>,
) -> String {
    let mut out = String::with_capacity(96);
    out.push('{');
    for (key, text) in [("set_aside", set_aside), ("note", note)] {
        if let Some(text) = text {
            key_of(&mut out, key);
            push_json(&mut out, text);
            out.push(',');
        }
    }
    out.push_str("\"reading\":{\"check\":\"");
    out.push_str(check);
    out.push('"');
    if let Some(cylinder) = cylinder {
        out.push_str(",\"cylinder\":");
        number(&mut out, u32::from(cylinder));
    }
    if let Some(trial) = trial {
        out.push_str(",\"trial\":");
        number(&mut out, trial);
    }
    out.push_str(",\"value\":");
    push_json(&mut out, value);
    out.push_str("}}");
    out
}

/// An entry with one body and perhaps a note.
#[must_use]
pub fn entry(body: &str, fields: &Fields, note: Option<&str>) -> String {
    let mut out = String::with_capacity(96);
    out.push('{');
    if let Some(note) = note {
        out.push_str("\"note\":");
        push_json(&mut out, note);
        out.push(',');
    }
    key_of(&mut out, body);
    push_fields(&mut out, fields);
    out.push('}');
    out
}

/// An entry that is only a note.
#[must_use]
pub fn note(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 11);
    out.push_str("{\"note\":");
    push_json(&mut out, text);
    out.push('}');
    out
}

impl DraftJob {
    /// The whole job as one line, without the line end. `origin` is a JSON object that says
    /// where it came from.
    #[must_use]
    pub fn line(&self, origin: &str) -> String {
        let mut out = String::with_capacity(1024);
        out.push_str("{\"schema\":\"");
        out.push_str(SCHEMA);
        out.push_str("\",\"job\":");
        push_json(&mut out, &self.job);
        out.push_str(",\"complaint\":");
        push_json(&mut out, &self.complaint);
        if !self.extra.is_empty() {
            out.push_str(",\"extra\":");
            push_fields(&mut out, &self.extra);
        }
        out.push_str(",\"import\":");
        out.push_str(origin);
        if !self.engine.is_empty() {
            out.push_str(",\"engine\":");
            push_fields(&mut out, &self.engine);
        }
        out.push_str(",\"entry\":[");
        let mut bodies: Vec<std::borrow::Cow<'_, str>> = Vec::new();
        for (name, fields) in [("told", &self.told), ("start", &self.start)] {
            if !fields.is_empty() {
                bodies.push(entry(name, fields, None).into());
            }
        }
        bodies.extend(self.readings.iter().map(|r| r.as_str().into()));
        bodies.extend(self.closing.iter().map(|r| r.as_str().into()));
        if !self.after.is_empty() {
            bodies.push(entry("start", &self.after, None).into());
        }
        if bodies.is_empty() && self.at.is_some() {
            bodies.push(note("nothing else is written down").into());
        }
        for (at, body) in bodies.iter().enumerate() {
            if at > 0 {
                out.push(',');
            }
            match &self.at {
                // The date stands on the first entry, before its other keys.
                Some(date) if at == 0 => {
                    out.push_str("{\"at\":");
                    push_json(&mut out, date);
                    out.push(',');
                    out.push_str(&body[1..]);
                }
                _ => out.push_str(body),
            }
        }
        out.push_str("]}");
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::read_json;
    use crate::knowledge::{KnowledgeFiles, load};

    #[test]
    fn the_line_is_a_job() {
        let draft = DraftJob {
            job: "A \"1\"".to_owned(),
            complaint: "tab\there\u{1}".to_owned(),
            start: vec![("soak".to_owned(), json("12 h"))],
            readings: vec![reading(
                "compression",
                Some(2),
                None,
                "28 bar",
                Some("doubtful"),
                None,
            )],
            at: Some("2023-12-03".to_owned()),
            extra: vec![("Hrs".to_owned(), json("1,5"))],
            ..DraftJob::default()
        };
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let job = read_json(&draft.line("{}"), "x", &knowledge).unwrap().job;
        assert_eq!(job.job, "A \"1\"");
        assert_eq!(job.entries.len(), 2);
        assert_eq!(job.entries[0].at.as_deref(), Some("2023-12-03"));
        assert!(!job.entries[1].is_used());
    }
}
