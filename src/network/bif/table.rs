//! The rows of one probability block into a table `[parents.., state]`, last axis fastest.
//! Must not know other blocks.

use super::problem::Problems;
use super::syntax::{ProbabilityBlock, Row, RowKind, VariableBlock};

/// Rows this near to one are taken as they are, so that what was written comes back bit by bit.
const EXACT: f64 = 1e-9;
/// Rows this near to one were rounded by their writer and are brought to one; own judgement.
const ROUNDED: f64 = 0.02;
/// Cells of one table that are read; own judgement, half a gigabyte.
const MOST_CELLS: usize = 1 << 26;

/// The table, or nothing when a problem was told.
pub(super) fn table(
    block: &ProbabilityBlock,
    child: &VariableBlock,
    parents: &[&VariableBlock],
    problems: &mut Problems,
) -> Option<Vec<f64>> {
    let own = child.states.len();
    let count = parents
        .iter()
        .try_fold(1_usize, |n, p| n.checked_mul(p.states.len()))
        .filter(|n| n.checked_mul(own).is_some_and(|c| c <= MOST_CELLS));
    let Some(count) = count else {
        let what = format!("the table of `{}` is too large", block.child.text);
        problems.add(
            block.child.place,
            what,
            "put variables between it and its parents",
        );
        return None;
    };
    let mut rows: Vec<Option<Vec<f64>>> = vec![None; count];
    let mut default = None;
    let mut sound = true;
    for row in &block.rows {
        let one = |wanted: usize, problems: &mut Problems| {
            let fits = row.chances.len() == wanted;
            if !fits {
                let what = format!("{} chances stand, {wanted} are wanted", row.chances.len());
                problems.add(row.place, what, "give one chance for each state");
            }
            fits
        };
        match &row.kind {
            RowKind::Default if one(own, problems) => default = Some(row),
            RowKind::Table if one(own * count, problems) => {
                for (at, chances) in whole(&row.chances, own, count).into_iter().enumerate() {
                    rows[at] = made_one(chances, block, row, problems);
                    sound &= rows[at].is_some();
                }
            }
            RowKind::Given(states) if one(own, problems) => {
                let at = joint(row, states, parents, problems);
                if let Some(at) = at {
                    if rows[at].is_some() {
                        problems.add(row.place, "this row is there already", "leave out one");
                    }
                    rows[at] = made_one(row.chances.clone(), block, row, problems);
                }
                sound &= at.is_some_and(|at| rows[at].is_some());
            }
            _ => sound = false,
        }
    }
    let default = match default {
        Some(row) => Some(made_one(row.chances.clone(), block, row, problems)?),
        None => None,
    };
    let missing = rows.iter().filter(|r| r.is_none()).count();
    if sound && missing > 0 && default.is_none() {
        let what = format!(
            "{missing} of {count} rows of `{}` are missing",
            block.child.text
        );
        let hint = "give a row for each joint state of the parents, or a default";
        problems.add(block.child.place, what, hint);
        sound = false;
    }
    sound.then(|| {
        rows.into_iter()
            .flat_map(|r| r.or_else(|| default.clone()).unwrap_or_default())
            .collect()
    })
}

/// Splits a whole table. The format puts the child slowest; some writers put it fastest, which
/// shows in which reading adds to one.
fn whole(chances: &[f64], own: usize, count: usize) -> Vec<Vec<f64>> {
    let slowest = (0..count)
        .map(|r| (0..own).map(|s| chances[s * count + r]).collect::<Vec<_>>())
        .collect::<Vec<_>>();
    let fastest = chances.chunks(own.max(1)).map(<[f64]>::to_vec).collect();
    let off = |rows: &Vec<Vec<f64>>| {
        rows.iter()
            .map(|r| (r.iter().sum::<f64>() - 1.0).abs())
            .fold(0.0, f64::max)
    };
    if off(&slowest) <= ROUNDED || off(&fastest) > ROUNDED {
        slowest
    } else {
        fastest
    }
}

fn joint(
    row: &Row,
    states: &[super::syntax::Name],
    parents: &[&VariableBlock],
    problems: &mut Problems,
) -> Option<usize> {
    if states.len() != parents.len() {
        let what = format!(
            "{} states stand for {} parents",
            states.len(),
            parents.len()
        );
        problems.add(
            row.place,
            what,
            "give one state for each parent, in their order",
        );
        return None;
    }
    let mut at = 0;
    for (state, parent) in states.iter().zip(parents) {
        let Some(s) = parent.states.iter().position(|n| n.text == state.text) else {
            let what = format!("`{}` has no state `{}`", parent.name.text, state.text);
            let known = parent.states.iter().map(|n| n.text.as_str());
            let hint = format!("use one of: {}", known.collect::<Vec<_>>().join(", "));
            problems.add(state.place, what, hint);
            return None;
        };
        at = at * parent.states.len() + s;
    }
    Some(at)
}

/// A row that adds to one; what a writer rounded is brought to one, anything else is a problem.
fn made_one(
    mut chances: Vec<f64>,
    block: &ProbabilityBlock,
    row: &Row,
    problems: &mut Problems,
) -> Option<Vec<f64>> {
    let total: f64 = chances.iter().sum();
    let off = (total - 1.0).abs();
    if !off.is_finite() || off > ROUNDED {
        let what = format!(
            "a row of `{}` adds to {total}, not to one",
            block.child.text
        );
        problems.add(row.place, what, "the chances of the states must add to one");
        return None;
    }
    if off > EXACT {
        chances.iter_mut().for_each(|c| *c /= total);
    }
    Some(chances)
}
