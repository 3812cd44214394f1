//! What is wrong with a record or a cell, or was assumed about it, and where.
//!
//! Must not decide what happens to a record; `import` does that.

use std::io::Write;

use serde::Serialize;
use serde_json::Value;

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
#[derive(Serialize)]
struct Told<'i> {
    file: &'i str,
    sha256: &'i str,
    line_from: u64,
    line_to: u64,
    record: u64,
    column: Option<usize>,
    header: &'i str,
    raw: &'i str,
    code: &'static str,
    level: &'static str,
    message: &'i str,
    hint: &'i str,
}

impl Issue {
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
    ///
    /// # Errors
    /// Those of the place it is written to.
    pub fn write(&self, mut out: impl Write, file: &str, sha256: &str) -> std::io::Result<()> {
        serde_json::to_writer(&mut out, &self.told(file, sha256))?;
        out.write_all(b"\n")
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
