//! What is wrong with a record or a cell, or was assumed about it, and where.
//!
//! Must not decide what happens to a record; `import` does that.

use serde::Serialize;
use serde_json::Value;

use super::draft_job::{push_digits, push_said};

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Something was assumed.
    Note,
    /// One value cannot be used; the record is taken.
    Cell,
    /// The record cannot be used; it goes to quarantine.
    Row,
}

impl Level {
    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Level::Note => "note",
            Level::Cell => "cell",
            Level::Row => "row",
        }
    }

    /// One level up, for strict imports.
    #[must_use]
    pub fn promoted(self) -> Level {
        match self {
            Level::Note => Level::Cell,
            Level::Cell | Level::Row => Level::Row,
        }
    }
}

macro_rules! codes {
    ($($name:ident = $word:literal,)*) => {
        /// Stable codes; what each means stands in the vocabulary.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $(#[doc = concat!("`", $word, "`")] $name,)*
        }

        impl Code {
            /// Every code.
            pub const ALL: &'static [Code] = &[$(Code::$name,)*];

            /// The code as written.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Code::$name => $word,)* }
            }
        }
    };
}

codes! {
    Already = "ALREADY",
    BadByte = "BAD_BYTE",
    Blank = "BLANK",
    CauseHedged = "CAUSE_HEDGED",
    CauseMultiple = "CAUSE_MULTIPLE",
    CauseNegated = "CAUSE_NEGATED",
    CellCount = "CELL_COUNT",
    DamagedBySheet = "DAMAGED_BY_SHEET",
    DateAmbiguous = "DATE_AMBIGUOUS",
    DateImpossible = "DATE_IMPOSSIBLE",
    DateSerial = "DATE_SERIAL",
    DupExact = "DUP_EXACT",
    EncodingGuess = "ENCODING_GUESS",
    Footer = "FOOTER",
    FormulaLike = "FORMULA_LIKE",
    HeaderJoined = "HEADER_JOINED",
    KeyClash = "KEY_CLASH",
    KeyMissing = "KEY_MISSING",
    LettersLost = "LETTERS_LOST",
    MustBeStated = "MUST_BE_STATED",
    NearDup = "NEAR_DUP",
    NumberBad = "NUMBER_BAD",
    OpenQuote = "OPEN_QUOTE",
    OutOfWindow = "OUT_OF_WINDOW",
    PrivateText = "PRIVATE_TEXT",
    TextUnmapped = "TEXT_UNMAPPED",
    TrialNumbered = "TRIAL_NUMBERED",
    UnitOverride = "UNIT_OVERRIDE",
    UnitSuspect = "UNIT_SUSPECT",
    UnitUnknown = "UNIT_UNKNOWN",
}

/// One thing that is wrong or was assumed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issue {
    /// Physical line on which the record starts, from 1.
    pub line_from: u64,
    /// Physical line on which it ends.
    pub line_to: u64,
    /// Number of the record below the heading, from 1; 0 for the file as a whole.
    pub record: u64,
    /// Column from 1, for a cell.
    pub column: Option<usize>,
    /// Heading of that column.
    pub header: String,
    /// The cell as it stands in the file.
    pub raw: String,
    /// Code.
    pub code: Code,
    /// How bad.
    pub level: Level,
    /// What is wrong or was assumed.
    pub message: String,
    /// What to try; empty if nothing is asked.
    pub hint: String,
}

/// An issue with the file it belongs to.
#[derive(Debug, Clone, Copy, Serialize)]
pub(super) struct Told<'i> {
    pub file: &'i str,
    pub sha256: &'i str,
    pub line_from: u64,
    pub line_to: u64,
    pub record: u64,
    pub column: Option<usize>,
    pub header: &'i str,
    pub raw: &'i str,
    pub code: &'static str,
    pub level: &'static str,
    pub message: &'i str,
    pub hint: &'i str,
}

impl Told<'_> {
    /// Writes it as one line of JSON, with its end. There are millions of them, so it is done by
    /// hand.
    pub fn line(&self, out: &mut String) {
        let numbers = [
            (",\"line_from\":", self.line_from),
            (",\"line_to\":", self.line_to),
            (",\"record\":", self.record),
        ];
        let before = [("{\"file\":", self.file), (",\"sha256\":", self.sha256)];
        let texts = [
            (",\"header\":", self.header),
            (",\"raw\":", self.raw),
            (",\"code\":", self.code),
            (",\"level\":", self.level),
            (",\"message\":", self.message),
            (",\"hint\":", self.hint),
        ];
        for (key, text) in before {
            out.push_str(key);
            push_said(out, text);
        }
        for (key, number) in numbers {
            out.push_str(key);
            push_digits(out, number);
        }
        out.push_str(",\"column\":");
        match self.column {
            Some(column) => push_digits(out, column as u64),
            None => out.push_str("null"),
        }
        for (key, text) in texts {
            out.push_str(key);
            push_said(out, text);
        }
        out.push_str("}\n");
    }
}

impl Issue {
    pub(super) fn of(told: &Told<'_>, code: Code, level: Level) -> Self {
        Self {
            line_from: told.line_from,
            line_to: told.line_to,
            record: told.record,
            column: told.column,
            header: told.header.to_owned(),
            raw: told.raw.to_owned(),
            code,
            level,
            message: told.message.to_owned(),
            hint: told.hint.to_owned(),
        }
    }

    fn told<'i>(&'i self, file: &'i str, sha256: &'i str) -> Told<'i> {
        Told {
            file,
            sha256,
            line_from: self.line_from,
            line_to: self.line_to,
            record: self.record,
            column: self.column,
            header: &self.header,
            raw: &self.raw,
            code: self.code.word(),
            level: self.level.word(),
            message: &self.message,
            hint: &self.hint,
        }
    }

    /// As one object, with the file it belongs to (`sha256` in hexadecimal).
    #[must_use]
    pub fn json(&self, file: &str, sha256: &str) -> Value {
        // Texts and whole numbers can always be said in JSON.
        serde_json::to_value(self.told(file, sha256)).unwrap_or_default()
    }

    /// The same object as one line, with its end.
    pub fn line(&self, out: &mut String, file: &str, sha256: &str) {
        self.told(file, sha256).line(out);
    }
}

/// Where every record went. Nothing is dropped: the parts add up to the records.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Balance {
    /// Records read below the heading.
    pub records: u64,
    /// Taken.
    pub accepted: u64,
    /// Equal to an earlier record of this file.
    pub duplicates: u64,
    /// Imported before.
    pub already: u64,
    /// Put aside to be mended.
    pub quarantined: u64,
    /// Blank lines and footers.
    pub ignored: u64,
}

impl Balance {
    /// Whether the parts add up.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.records
            == self.accepted + self.duplicates + self.already + self.quarantined + self.ignored
    }

    /// `13 records = 7 accepted + 1 duplicate + 3 quarantined + 2 ignored`; records imported
    /// before are named only if there are any.
    #[must_use]
    pub fn line(&self) -> String {
        let many = |n: u64, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
        let already = match self.already {
            0 => String::new(),
            n => format!(" + {n} already there"),
        };
        format!(
            "{} = {} accepted + {}{already} + {} quarantined + {} ignored",
            many(self.records, "record"),
            self.accepted,
            many(self.duplicates, "duplicate"),
            self.quarantined,
            self.ignored
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: the bytes a library writes for the same object.
    #[test]
    fn a_line_is_what_a_library_would_write() {
        let texts = [
            "",
            "plain",
            "\u{b0}F \u{1f600}",
            "a\"b\\c/",
            "\u{0}\u{8}\t\r\n\u{c}\u{1f}\u{7f}",
        ];
        for (at, text) in texts.iter().enumerate() {
            let issue = Issue {
                line_from: 0,
                line_to: 10_u64.pow(at as u32),
                record: u64::MAX / (at as u64 + 1),
                column: (at % 2 == 0).then_some(at + 9),
                header: (*text).to_owned(),
                raw: format!("{text}{text}"),
                code: Code::ALL[at],
                level: Level::Cell,
                message: (*text).to_owned(),
                hint: (*text).to_owned(),
            };
            let mut line = String::new();
            issue.line(&mut line, text, "abc");
            let wanted = serde_json::to_string(&issue.told(text, "abc")).unwrap();
            assert_eq!(line, wanted + "\n");
        }
    }
}
