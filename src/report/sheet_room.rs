//! How much room the parts of a sheet take on paper, and what is left out so that it stays one page.
//!
//! An estimate in lines of 10 pt, on the safe side; the browser breaks lines where it likes. Must not
//! choose what a part says.

use super::sheet::{Content, Part, in_words};

/// Height of a line of 10 pt at 1.25, millimetres.
const LINE: f64 = 10.0 * 1.25 * 25.4 / 72.0;
/// Height of a Letter page, the shorter one, between margins of 12 mm, millimetres.
const PAGE: f64 = 279.4 - 24.0;
/// Heading with the room above it, heading of the sheet, foot and its rule, in lines.
const HEADING: f64 = 1.65;
const TOP: f64 = 2.0;
const FOOT: f64 = 2.7;
/// A line for the pen: 7 mm and its rule, in lines.
const PEN: f64 = 7.3 / LINE;
/// The strip of timings: 28 mm, in lines.
const STRIP: f64 = 28.0 / LINE;
/// Letters on a line of a field, of the four columns of a table, and beside the dots of a cause: counted
/// on paper in a wide face, with some to spare.
const FIELD: usize = 80;
const COLUMNS: [usize; 4] = [38, 6, 10, 34];
const THREE: [usize; 3] = [44, 42, 11];
const CAUSE: usize = 60;
/// Fewest rows of a table and fewest causes that stay; own judgement.
const FEWEST: usize = 1;
const FEWEST_CAUSES: usize = 3;

fn wrapped(text: &str, letters: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a few lines")]
    let lines = text.chars().count().div_ceil(letters).max(1) as f64;
    lines
}

fn row(cells: &[String]) -> f64 {
    if cells.iter().all(String::is_empty) {
        return PEN;
    }
    let columns = match cells.len() {
        3 => THREE.as_slice(),
        _ => COLUMNS.as_slice(),
    };
    let cells = cells.iter().zip(columns);
    cells
        .map(|(cell, letters)| wrapped(cell, *letters))
        .fold(1.0, f64::max)
}

/// Lines that a part takes.
fn lines(part: &Part) -> f64 {
    let inner: f64 = match &part.content {
        Content::Fields(fields) => fields
            .iter()
            .map(|(_, v)| if v.is_empty() { PEN } else { wrapped(v, FIELD) })
            .sum(),
        Content::Table { rows, left_out, .. } => {
            let more = if *left_out > 0 { 1.0 } else { 0.0 };
            1.1 + rows.iter().map(|r| row(r)).sum::<f64>() + more
        }
        Content::Strip(_) => STRIP,
        Content::Causes(causes) => causes
            .iter()
            .map(|c| wrapped(&format!("{}: {}", c.name, in_words(c)), CAUSE))
            .sum(),
    };
    HEADING + inner
}

/// Leaves out the last rows of the longest table until the sheet is one page; how many is said in it.
pub(super) fn fit(parts: &mut [Part]) {
    let room = PAGE / LINE - TOP - FOOT;
    loop {
        let taken: f64 = parts.iter().map(lines).sum();
        if taken <= room {
            return;
        }
        if !shorten(parts) {
            return;
        }
    }
}

/// Takes the last row of the longest table, then the least likely cause but for what is on no list;
/// false where nothing is left to take.
fn shorten(parts: &mut [Part]) -> bool {
    let tables = parts.iter_mut().filter_map(|p| match &mut p.content {
        Content::Table { rows, left_out, .. } => Some((rows, left_out)),
        _ => None,
    });
    if let Some((rows, left_out)) = tables.max_by_key(|(rows, _)| rows.len())
        && rows.len() > FEWEST
    {
        let cut = rows.pop();
        *left_out += usize::from(cut.is_some_and(|cut| cut.iter().any(|c| !c.is_empty())));
        return true;
    }
    let mut causes = parts.iter_mut().filter_map(|p| match &mut p.content {
        Content::Causes(causes) if causes.len() > FEWEST_CAUSES + 1 => Some(causes),
        _ => None,
    });
    causes.next().is_some_and(|causes| {
        causes.remove(causes.len() - 2);
        true
    })
}
