//! Which causes a person is shown: enough to cover what may be wrong, and never too many.
//!
//! The same fault at several cylinders with the same number is one row. Must not word anything.

use super::chance;
use super::names;
use crate::diagnosis::{Cause, Ranking};

/// Share of the expected number of faults that the list covers. Own judgement.
const COVERED: f64 = 0.95;
/// Fewest and most rows, the fixed last one not counted. Own judgement.
const FEWEST: usize = 3;
const MOST: usize = 8;

/// One row: one cause, or the same fault at several cylinders with equal numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<'r> {
    /// The cause; the first of those that share the row.
    pub cause: &'r Cause,
    /// Cylinders that share the row, in order; empty for a cause without one.
    pub cylinders: Vec<u8>,
}

/// The rows of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Rows<'r> {
    /// Rows, likeliest first.
    pub rows: Vec<Row<'r>>,
    /// The fixed last row: something not listed.
    pub other: Option<&'r Cause>,
    /// Causes that are not shown.
    pub hidden: usize,
}

/// Rows of the ranking: all of them, or until 95 % of the expected number of faults is covered.
#[must_use]
pub fn rows(ranking: &Ranking, all: bool) -> Rows<'_> {
    let other = ranking.causes.iter().find(|c| names::is_other(c));
    let expected: f64 = ranking.causes.iter().map(|c| c.chance).sum();
    let mut grouped: Vec<Row<'_>> = Vec::new();
    for cause in ranking.causes.iter().filter(|c| !names::is_other(c)) {
        match grouped.iter_mut().find(|r| same(r.cause, cause)) {
            Some(row) => row.cylinders.extend(cause.cylinder),
            None => grouped.push(Row {
                cause,
                cylinders: cause.cylinder.into_iter().collect(),
            }),
        }
    }
    for row in &mut grouped {
        row.cylinders.sort_unstable();
    }
    let mut covered = other.map_or(0.0, |c| c.chance);
    let mut shown = 0;
    for row in &grouped {
        let enough = shown >= FEWEST && covered >= COVERED * expected;
        if !all && (enough || shown >= MOST) {
            break;
        }
        covered += row.cause.chance * size(row);
        shown += 1;
    }
    let hidden = grouped[shown..]
        .iter()
        .map(|r| r.cylinders.len().max(1))
        .sum();
    grouped.truncate(shown);
    Rows {
        rows: grouped,
        other,
        hidden,
    }
}

#[expect(clippy::cast_precision_loss, reason = "a few cylinders")]
fn size(row: &Row<'_>) -> f64 {
    row.cylinders.len().max(1) as f64
}

/// Whether two causes would read the same but for the cylinder.
fn same(a: &Cause, b: &Cause) -> bool {
    let shown = |c: &Cause| {
        (
            chance::whole(c.chance),
            c.before.map(chance::whole),
            c.standing,
        )
    };
    a.part == b.part
        && a.fault == b.fault
        && a.cylinder.is_some()
        && b.cylinder.is_some()
        && shown(a) == shown(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::{Misfit, Standing};

    fn cause(part: &str, cylinder: Option<u8>, chance: f64) -> Cause {
        Cause {
            cause: part.to_owned(),
            part: part.to_owned(),
            fault: "f".to_owned(),
            cylinder,
            label: part.to_owned(),
            system: "s".to_owned(),
            chance,
            low: None,
            high: None,
            base: 0.01,
            standing: Standing::InTheRunning,
            before: None,
        }
    }

    fn ranking(causes: Vec<Cause>) -> Ranking {
        Ranking {
            log_evidence: 0.0,
            healthy: 0.01,
            causes,
            systems: Vec::new(),
            misfit: Misfit::default(),
            kinds: Vec::new(),
        }
    }

    #[test]
    fn the_list_stops_when_enough_is_covered_but_not_before_three() {
        let ranking = ranking(vec![
            cause("a", None, 0.9),
            cause("b", None, 0.05),
            cause("c", None, 0.01),
            cause("d", None, 0.01),
            cause(names::OTHER, None, 0.02),
        ]);
        let shown = rows(&ranking, false);
        assert_eq!(shown.rows.len(), 3);
        assert_eq!(shown.hidden, 1);
        assert!(shown.other.is_some());
        assert_eq!(rows(&ranking, true).rows.len(), 4);
    }

    #[test]
    fn never_more_than_eight_rows() {
        let many = (0..20)
            .map(|i| cause(&format!("p{i}"), None, 0.1))
            .collect();
        let ranking = ranking(many);
        let shown = rows(&ranking, false);
        assert_eq!((shown.rows.len(), shown.hidden), (8, 12));
    }

    #[test]
    fn equal_numbers_at_several_cylinders_are_one_row() {
        let ranking = ranking(vec![
            cause("plug", Some(2), 0.301),
            cause("plug", Some(1), 0.299),
            cause("plug", Some(3), 0.21),
            cause("battery", None, 0.2),
        ]);
        let shown = rows(&ranking, true).rows;
        assert_eq!(shown[0].cylinders, vec![1, 2]);
        assert_eq!(shown[1].cylinders, vec![3]);
        assert_eq!(shown.len(), 3);
    }
}
