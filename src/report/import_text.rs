//! An import and a first look, for people.
//!
//! Must not count; the report has counted.

use std::fmt::Write;

use super::page::{Layout, Page};
use crate::exchange::Code;
use crate::exchange::encoding::{Coding, How};
use crate::exchange::import::{Report, Table};
use crate::exchange::layout::Chosen;
use crate::exchange::peek::Look;

/// Texts without a phrase that are listed.
const MOST_TEXTS: usize = 10;

/// `Windows-1252 (byte B0 at line 4 is not UTF-8)`.
#[must_use]
pub fn coding(coding: &Coding) -> String {
    let name = coding.encoding.name();
    match coding.how {
        How::Stated => format!("{name} (as stated)"),
        How::Mark => format!("{name} (mark at the start)"),
        How::Fits => name.to_owned(),
        How::Zeros => format!("{name} (zeros at every second byte)"),
        How::Guessed { byte, line } => {
            format!("{name} (byte {byte:02X} at line {line} is not UTF-8)")
        }
    }
}

/// `";" (sep= line)`.
#[must_use]
pub fn separator(table: &Table) -> String {
    let sign = match table.layout.delimiter {
        b'\t' => "tab".to_owned(),
        other => format!("\"{}\"", char::from(other)),
    };
    match table.layout.chosen {
        Chosen::Stated => format!("{sign} (as stated)"),
        Chosen::SepLine => format!("{sign} (sep= line)"),
        Chosen::Constant(share) => {
            let of_100 = (share * 100.0).round();
            format!(
                "{sign} ({} cells in {of_100} of 100 records)",
                table.layout.cells
            )
        }
    }
}

fn decimals(report: &Report) -> String {
    let mut signs: Vec<char> = report.decimals.iter().map(|(_, c)| *c).collect();
    signs.sort_unstable();
    signs.dedup();
    match signs.as_slice() {
        [] => String::new(),
        [one] => format!(", decimal \"{one}\""),
        _ => ", decimal sign by column".to_owned(),
    }
}

/// What the cells gave, in words, only what there was.
fn cells(report: &Report) -> String {
    const WORDS: &[(Code, &str)] = &[
        (Code::DateAmbiguous, "date unclear"),
        (Code::DateImpossible, "date impossible"),
        (Code::DateSerial, "date from a day number"),
        (Code::DamagedBySheet, "damaged by a spreadsheet"),
        (Code::UnitSuspect, "unit doubtful"),
        (Code::OutOfWindow, "hard to believe"),
        (Code::UnitOverride, "unit taken from the cell"),
        (Code::UnitUnknown, "unit not known"),
        (Code::NumberBad, "no number"),
        (Code::MustBeStated, "to be stated in the map"),
        (Code::TextUnmapped, "text without a meaning"),
        (Code::BadByte, "byte out of place"),
        (Code::LettersLost, "letters lost"),
        (Code::FormulaLike, "like a formula"),
        (Code::PrivateText, "perhaps private"),
    ];
    let said = WORDS.iter().filter_map(|(code, words)| {
        let n = report.codes.get(code)?;
        Some(format!("{n} {words}"))
    });
    let said: Vec<String> = said.collect();
    said.join(" | ")
}

/// What an import found; `done` says what was written, or that nothing was.
#[must_use]
pub fn import(report: &Report, done: &str, layout: Layout) -> String {
    let mut page = Page::new(layout);
    let table = &report.table;
    let lines = match table.bytes.lines {
        1 => "1 line".to_owned(),
        n => format!("{n} lines"),
    };
    let read = format!(
        "{lines}, {}, separator {}{}",
        coding(&table.bytes.coding),
        separator(table),
        decimals(report)
    );
    page.hang("Read     ", &read);
    if report.drafted {
        page.hang(
            "Map      ",
            "none given; drafted from the headings (see: hardstart map new)",
        );
    }
    page.hang("Balance  ", &report.balance.line());
    let cells = cells(report);
    if !cells.is_empty() {
        page.hang("Cells    ", &cells);
    }
    let causes = &report.causes;
    if causes.phrases > 0 {
        let mut said = format!("{} phrases: {} mapped", causes.phrases, causes.mapped);
        if causes.negated > 0 {
            let _ = write!(said, ", {} negated", causes.negated);
        }
        if causes.unmapped > 0 {
            let _ = write!(said, ", {} not mapped", causes.unmapped);
        }
        page.hang("Causes   ", &said);
    }
    for (text, n) in report.unmapped.iter().take(MOST_TEXTS) {
        page.hang("         ", &format!("{n} x \"{text}\""));
    }
    page.say(done);
    page.finish()
}

/// What a table looks like.
#[must_use]
pub fn peek(look: &Look, layout: Layout) -> String {
    let mut page = Page::new(layout);
    let table = &look.table;
    page.hang(
        "File     ",
        &format!(
            "{}, {} bytes, {} lines",
            table.file, table.bytes.size, table.bytes.lines
        ),
    );
    page.hang("Encoding ", &coding(&table.bytes.coding));
    page.hang("Cells    ", &format!("separator {}", separator(table)));
    let heading = match table.layout.header_line {
        0 => "none; columns are numbered".to_owned(),
        line => format!("line {line}"),
    };
    page.hang("Heading  ", &heading);
    let more = if look.more { " (there are more)" } else { "" };
    page.hang("Records  ", &format!("{}{more}", look.records));
    page.gap();
    for column in &look.columns {
        let mut said = column.kind.word().to_owned();
        if let Some(sign) = column.decimal {
            let _ = match sign {
                '?' => write!(said, ", decimal sign must be stated"),
                sign => write!(said, ", decimal \"{sign}\""),
            };
        }
        let _ = write!(said, ", {} filled", column.filled);
        if column.without > 0 {
            let _ = write!(said, ", {} without a value", column.without);
        }
        if column.odd > 0 {
            let _ = write!(said, ", {} unlike the rest", column.odd);
        }
        page.hang(&format!("{}  ", column.heading), &said);
        let samples: Vec<String> = column.samples.iter().map(|s| format!("\"{s}\"")).collect();
        if !samples.is_empty() {
            page.hang("    ", &samples.join("  "));
        }
    }
    page.gap();
    page.say("Nothing written. A map to edit: hardstart map new FILE");
    page.finish()
}
