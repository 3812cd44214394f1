//! The job sheet as plain text: the twin of the printed page.
//!
//! Must not choose what is on it.

use super::page::{Layout, Page};
use super::sheet::{Content, Sheet, in_words};
use super::{chance, trials_strip};

/// A line for the pen.
const PEN: &str = "........................";

/// The sheet.
#[must_use]
pub fn text(sheet: &Sheet, layout: Layout) -> String {
    let mut page = Page::new(layout);
    for part in &sheet.parts {
        page.say(part.heading);
        match &part.content {
            Content::Fields(fields) => {
                for (name, value) in fields {
                    let value = if value.is_empty() { PEN } else { value };
                    page.hang(&format!("  {name}: "), value);
                }
            }
            Content::Table {
                head,
                rows,
                left_out,
            } => table(&mut page, head, rows, *left_out),
            Content::Strip(judgement) => {
                let lines = trials_strip::strip(judgement, layout.width.saturating_sub(2));
                lines.iter().for_each(|l| page.line(&format!("  {l}")));
            }
            Content::Causes(causes) => {
                for cause in causes {
                    let dots = chance::dots(cause.chance, layout.symbols);
                    page.hang(
                        &format!("  {dots}  "),
                        &format!("{}: {}", cause.name, in_words(cause)),
                    );
                }
            }
        }
        page.gap();
    }
    page.say(&sheet.foot);
    page.finish()
}

fn table(page: &mut Page, head: &[&str], rows: &[Vec<String>], left_out: usize) {
    if rows.is_empty() {
        page.say("  nothing yet");
        return;
    }
    for row in rows {
        if row.iter().all(String::is_empty) {
            let cells = head.iter().map(|h| format!("{h}: {}", &PEN[..8]));
            page.line(&format!("  {}", cells.collect::<Vec<_>>().join("  ")));
            continue;
        }
        let cells = row.iter().zip(head).filter(|(c, _)| !c.is_empty());
        let cells = cells.enumerate().map(|(at, (cell, head))| {
            if at == 0 {
                cell.clone()
            } else {
                format!("{}: {cell}", head.to_lowercase())
            }
        });
        page.hang("  ", &cells.collect::<Vec<_>>().join("; "));
    }
    if left_out > 0 {
        page.say(&format!("  and {left_out} more in the job"));
    }
}
