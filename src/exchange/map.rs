//! The column map: what a person says about a foreign table, as TOML.
//!
//! Holds what was said, with places for messages. Must not look at the table.

use std::collections::BTreeMap;

use serde::Deserialize;
use toml::Spanned;

use super::error::MapProblem;

/// A quoted key with its place.
pub type Key = Spanned<String>;

/// The whole map.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Map {
    /// Version of the format, 1.
    pub format: Option<i64>,
    /// The file.
    pub file: FileSaid,
    /// The key of a record.
    pub key: KeySaid,
    /// What holds for every job of the file.
    pub job: JobSaid,
    /// What holds for every engine of the file, by the keys of job files.
    pub engine: BTreeMap<Key, toml::Value>,
    /// Date columns by heading.
    pub date: BTreeMap<Key, DateSaid>,
    /// Columns of values by heading; `{cyl}` and `{trial}` stand for a number.
    pub col: BTreeMap<Key, ColumnSaid>,
    /// Columns of free text by heading.
    pub text: BTreeMap<Key, TextSaid>,
}

/// `[file]`
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FileSaid {
    /// Encoding.
    pub encoding: Option<String>,
    /// Delimiter: one character, or `tab`.
    pub delimiter: Option<Spanned<String>>,
    /// Decimal sign of all columns: `,` or `.`.
    pub decimal: Option<Spanned<String>>,
    /// Thousands sign of all columns.
    pub thousands: Option<String>,
    /// Line of the heading, from 1; 0 for none (columns are then `column_1` ...).
    pub header_line: Option<u64>,
    /// Number of heading rows, 1 if not said.
    pub header_rows: Option<u64>,
    /// First cells of records that are totals or notes; `*` at the end stands for anything.
    pub footer: Footers,
}

/// Footers: one or several.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(from = "toml::Value")]
pub struct Footers(pub Vec<String>);

impl From<toml::Value> for Footers {
    fn from(value: toml::Value) -> Self {
        Footers(texts(value))
    }
}

fn texts(value: toml::Value) -> Vec<String> {
    match value {
        toml::Value::String(one) => vec![one],
        toml::Value::Array(many) => many.into_iter().flat_map(texts).collect(),
        _ => Vec::new(),
    }
}

/// `[key]`
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct KeySaid {
    /// Heading, or list of headings, that name a job.
    pub job: Footers,
}

/// `[job]`
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct JobSaid {
    /// Complaint of jobs whose record has none.
    pub complaint: Option<String>,
    /// How findings of this shop are shown, if no column says (`believed`, `guess`, ...).
    pub proof: Option<Spanned<String>>,
}

/// `[date."..."]`
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct DateSaid {
    /// Patterns with `%d`, `%m`, `%Y` or `%y`.
    pub patterns: Vec<Spanned<String>>,
    /// `1900` or `1904`: day numbers are dates.
    pub serial: Option<Spanned<String>>,
    /// Two-digit years below this are of 2000 and later.
    pub pivot: Option<i16>,
    /// Heading of a column with the time of day.
    pub time: Option<String>,
}

/// `[col."..."]`
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ColumnSaid {
    /// What it holds: a check, a sign, `start.soak`, `engine.hours`, `complaint`, `extra`, ...
    pub to: Option<Spanned<String>>,
    /// Unit of bare numbers, code or spelling.
    pub unit: Option<Spanned<String>>,
    /// The heading states a wrong unit; `unit` holds.
    pub heading_wrong: bool,
    /// Values plausible only in another unit are converted to it.
    pub guess_units: bool,
    /// Decimal sign of this column.
    pub decimal: Option<Spanned<String>>,
    /// Thousands sign of this column.
    pub thousands: Option<String>,
    /// Separator of repeats within a cell.
    pub repeat: Option<String>,
    /// Repeats in a cell are `trials` (if not said) or `cylinders`.
    pub repeat_is: Option<Spanned<String>>,
    /// Cylinder of the whole column, where the heading has no `{cyl}`.
    pub cylinder: Option<u8>,
    /// Times are fractions of a day.
    pub day_fraction: bool,
    /// The sign is to be turned: a vacuum written as a positive number.
    pub turn_sign: bool,
    /// Words of results: a state, a reason, or `{ cmp = ">", value = 60 }`.
    pub words: BTreeMap<String, toml::Value>,
    /// Currency, for what parts cost.
    pub currency: Option<String>,
}

/// `[text."..."]`
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TextSaid {
    /// `cause`, `action`, `proof`, `complaint` or `note`.
    pub role: Option<Spanned<String>>,
    /// File with phrases, beside the map.
    pub rules: Option<String>,
    /// Words of proof: word = level.
    pub words: BTreeMap<String, String>,
}

/// Version of the format that is read.
const FORMAT: i64 = 1;

/// Only the version, whatever else stands there.
#[derive(Deserialize)]
struct Version {
    format: Option<Spanned<i64>>,
}

/// Longest run of dots that is read in one line of a map.
const MOST_DOTS: usize = 200;

/// Reads a map.
///
/// # Errors
/// What the syntax or the keys have wrong, with line and column.
pub fn read(text: &str) -> Result<Map, Vec<MapProblem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    // Each dot of a key nests a table; refuse it before the parser builds them.
    if let Some(at) = text
        .lines()
        .position(|l| l.matches('.').count() > MOST_DOTS)
    {
        return Err(vec![MapProblem {
            line: at + 1,
            column: 1,
            what: "a line with too many dots".to_owned(),
            try_: "write one key a line".to_owned(),
            is_of_another_format: false,
        }]);
    }
    // What another format has more must not be what is complained of.
    if let Ok(Version {
        format: Some(format),
    }) = toml::from_str(text)
        && *format.get_ref() != FORMAT
    {
        let what = format!("the map is of another format: {}", format.get_ref());
        let try_ = "write the map anew with `hardstart map new`; this program reads format = 1";
        return Err(vec![MapProblem {
            is_of_another_format: true,
            ..problem_at(text, format.span().start, what, try_)
        }]);
    }
    toml::from_str(text).map_err(|error| {
        let at = error.span().map_or(0, |s| s.start);
        vec![problem_at(
            text,
            at,
            error.message(),
            "compare with `hardstart map new`",
        )]
    })
}

/// A problem at a byte of the map.
pub(super) fn problem_at(
    text: &str,
    at: usize,
    what: impl Into<String>,
    try_: impl Into<String>,
) -> MapProblem {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let before = &text[..at];
    let line_start = before.rfind('\n').map_or(0, |n| n + 1);
    MapProblem {
        line: before.matches('\n').count() + 1,
        column: before[line_start..].chars().count() + 1,
        what: what.into(),
        try_: try_.into(),
        is_of_another_format: false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_map_says_where_it_is_wrong() {
        let problems = read("[file]\ndelimitr = \";\"\n").unwrap_err();
        assert_eq!((problems[0].line, problems[0].column), (2, 1));
        assert!(problems[0].what.contains("delimitr"), "{problems:?}");
        let other = read("[file]\nnew_key = 1\n").unwrap_err();
        assert!(!other[0].is_of_another_format, "{other:?}");
        let other = read("# Map\nformat = 2\n[file]\nnew_key = 1\n").unwrap_err();
        assert_eq!((other[0].line, other[0].column), (2, 10));
        assert!(other[0].is_of_another_format, "{other:?}");
        assert!(read(&"a.".repeat(5000)).is_err());
    }

    #[test]
    fn the_key_is_one_heading_or_several() {
        assert_eq!(read("[key]\njob = \"No\"\n").unwrap().key.job.0, ["No"]);
        let map = read("[key]\njob = [\"No\", \"Date\"]\n").unwrap();
        assert_eq!(map.key.job.0, ["No", "Date"]);
    }
}
