//! A job as it is put together from one record, written as one line of JSON.
//!
//! Must not judge; the line is one the job reader accepts.

use std::borrow::Cow;

use crate::job::SCHEMA;

/// Pieces of JSON, key and value.
pub type Fields<'k> = Vec<(Cow<'k, str>, String)>;

/// Whole entries, one behind the other with commas between.
#[derive(Debug, Clone, Default)]
pub struct Entries(String);

impl Entries {
    /// Takes everything out and keeps the room.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// Adds an entry.
    pub fn push(&mut self, entry: &str) {
        self.next().push_str(entry);
    }

    /// The text, ready for the next entry to be written to its end.
    pub fn next(&mut self) -> &mut String {
        if !self.0.is_empty() {
            self.0.push(',');
        }
        &mut self.0
    }
}

/// A job in the making. Values are JSON already.
#[derive(Debug, Clone, Default)]
pub struct DraftJob<'k> {
    /// Number of the job.
    pub job: Cow<'k, str>,
    /// The complaint.
    pub complaint: Cow<'k, str>,
    /// What holds for every engine, where the record does not say otherwise.
    pub usual: &'k [(String, String)],
    /// Fields of the engine from the record.
    pub engine: Fields<'k>,
    /// What was told.
    pub told: Fields<'k>,
    /// The start the record tells of.
    pub start: Fields<'k>,
    /// The start after the work.
    pub after: Fields<'k>,
    /// Readings and what is written down beside them.
    pub readings: Entries,
    /// Work and findings.
    pub closing: Entries,
    /// What is kept under its heading.
    pub extra: Fields<'k>,
    /// Date of the record.
    pub at: Option<String>,
}

/// Text as a JSON string.
pub fn push_json(out: &mut String, text: &str) {
    out.push('"');
    push_escaped(out, text);
    out.push('"');
}

/// Whether a byte has to be escaped, looked for in all bytes so that many are looked at at once.
fn escapes(bytes: &[u8]) -> bool {
    let odd = |b: u8| b < 0x20 || b == b'"' || b == b'\\' || b == 0x7f;
    bytes.iter().fold(false, |any, b| any | odd(*b))
}

fn push_escaped(out: &mut String, text: &str) {
    // Most texts have nothing to escape.
    if !escapes(text.as_bytes()) {
        out.push_str(text);
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
}

/// Text as a JSON string, escaped as libraries do it: lines about a table were always written so.
pub fn push_said(out: &mut String, text: &str) {
    if !escapes(text.as_bytes()) {
        out.push('"');
        out.push_str(text);
        out.push('"');
        return;
    }
    // A text can always be said in JSON.
    out.push_str(&serde_json::to_string(text).unwrap_or_default());
}

/// A number of any size.
pub fn push_digits(out: &mut String, n: u64) {
    /// Digits of the largest number.
    const MOST: usize = 20;
    let mut digits = [b'0'; MOST];
    let (mut at, mut left) = (MOST, n);
    while at == MOST || left > 0 {
        at -= 1;
        digits[at] = b'0' + (left % 10) as u8;
        left /= 10;
    }
    // Digits are always text.
    out.push_str(std::str::from_utf8(&digits[at..]).unwrap_or_default());
}

/// Text as a JSON string.
#[must_use]
pub fn json(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    push_json(&mut out, text);
    out
}

fn push_fields<'f>(out: &mut String, fields: impl Iterator<Item = (&'f str, &'f String)>) {
    out.push('{');
    for (at, (key, value)) in fields.enumerate() {
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
pub fn set<'k>(fields: &mut Fields<'k>, key: impl Into<Cow<'k, str>>, value: String) -> bool {
    let key = key.into();
    let new = fields.iter().all(|(k, _)| *k != key);
    if new {
        fields.push((key, value));
    }
    new
}

/// A key that needs no escaping.
pub fn key_of(out: &mut String, key: &str) {
    out.push('"');
    out.push_str(key);
    out.push_str("\":");
}

/// A whole number.
pub fn number(out: &mut String, n: u32) {
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

/// An entry with one body.
pub fn entry(out: &mut String, body: &str, fields: &Fields<'_>) {
    out.push('{');
    key_of(out, body);
    push_fields(out, fields.iter().map(|(k, v)| (k.as_ref(), v)));
    out.push('}');
}

/// An entry that is only a note: `mark` and the text.
pub fn note(out: &mut String, mark: &str, text: &str) {
    out.push_str("{\"note\":\"");
    push_escaped(out, mark);
    push_escaped(out, text);
    out.push_str("\"}");
}

impl DraftJob<'_> {
    /// Writes the whole job as one line, without the line end. `origin` writes a JSON object
    /// that says where it came from.
    pub fn line(&self, out: &mut String, origin: impl FnOnce(&mut String)) {
        out.push_str("{\"schema\":\"");
        out.push_str(SCHEMA);
        out.push_str("\",\"job\":");
        push_json(out, &self.job);
        out.push_str(",\"complaint\":");
        push_json(out, &self.complaint);
        if !self.extra.is_empty() {
            out.push_str(",\"extra\":");
            let extra = self.extra.iter().map(|(k, v)| (k.as_ref(), v));
            push_fields(out, extra);
        }
        out.push_str(",\"import\":");
        origin(out);
        if !self.engine.is_empty() || !self.usual.is_empty() {
            out.push_str(",\"engine\":");
            let own = self.engine.iter().map(|(k, v)| (k.as_ref(), v));
            let said = |key: &str| self.engine.iter().any(|(k, _)| k == key);
            let usual = self.usual.iter().filter(|(k, _)| !said(k));
            push_fields(out, usual.map(|(k, v)| (k.as_str(), v)).chain(own));
        }
        out.push_str(",\"entry\":[");
        self.entries(out);
        out.push_str("]}");
    }

    fn entries(&self, out: &mut String) {
        let from = out.len();
        let fields = |out: &mut String, name: &str, fields: &Fields<'_>| {
            if !fields.is_empty() {
                if out.len() > from {
                    out.push(',');
                }
                entry(out, name, fields);
            }
        };
        fields(out, "told", &self.told);
        fields(out, "start", &self.start);
        for whole in [&self.readings.0, &self.closing.0] {
            if !whole.is_empty() {
                if out.len() > from {
                    out.push(',');
                }
                out.push_str(whole);
            }
        }
        fields(out, "start", &self.after);
        let Some(date) = &self.at else {
            return;
        };
        if out.len() == from {
            note(out, "", "nothing else is written down");
        }
        // The date stands on the first entry, before its other keys.
        let mut dated = String::with_capacity(date.len() + 10);
        key_of(&mut dated, "at");
        push_json(&mut dated, date);
        dated.push(',');
        out.insert_str(from + 1, &dated);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::read_json;
    use crate::knowledge::{KnowledgeFiles, load};

    #[test]
    fn the_line_is_a_job() {
        let mut draft = DraftJob {
            job: "A \"1\"".into(),
            complaint: "tab\there\u{1}".into(),
            start: vec![("soak".into(), json("12 h"))],
            at: Some("2023-12-03".to_owned()),
            extra: vec![("Hrs".into(), json("1,5"))],
            ..DraftJob::default()
        };
        let aside = Some("doubtful");
        let entry = reading("compression", Some(2), None, "28 bar", aside, None);
        draft.readings.push(&entry);
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let mut line = String::new();
        draft.line(&mut line, |out| out.push_str("{}"));
        let job = read_json(&line, "x", &knowledge).unwrap().job;
        assert_eq!(job.job, "A \"1\"");
        assert_eq!(job.entries.len(), 2);
        assert_eq!(job.entries[0].at.as_deref(), Some("2023-12-03"));
        assert!(!job.entries[1].is_used());
    }
}
