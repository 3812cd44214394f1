//! Where a figure stands in the knowledge, and how it is moved.
//!
//! Moving one chance of a row by `z` multiplies its weight by `e^z` and brings the row back to
//! one: `p_i e^{z_i} / sum_j p_j e^{z_j}`. Chances of exactly nought or one stay. Must not decide
//! how far to move.

use std::collections::BTreeMap;

use crate::knowledge::Knowledge;

/// Where a row of figures, or one figure, stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Place {
    /// Starting chances of the faults of a part, in every context alike.
    Root(usize),
    /// Chances of the faults of a part given a state of another.
    Given(usize, String),
    /// Leak of a function.
    Leak(usize),
    /// What a parent contributes to a function.
    Gives(usize, usize),
    /// A row of a sign's table.
    SignRow(usize, usize),
    /// What a parent contributes to a sign.
    SignGives(usize, usize),
    /// Chance that a link of a sign speaks.
    Speaks(usize, usize),
    /// What it says.
    Says(usize, usize),
    /// Outcomes of a check in a row.
    CheckRow(usize, usize),
    /// Chance that a number is off the end.
    OffScale(usize, usize),
    /// Centre of a number, moved in its own unit.
    Mean(usize, usize),
    /// Centre of a number, moved by a factor.
    MeanFactor(usize, usize),
    /// Spread of a number.
    Deviation(usize, usize),
    /// Chance that a link of a check speaks.
    CheckSpeaks(usize, usize),
    /// What it says.
    CheckSays(usize, usize),
    /// Share of a number's density that is spread wide.
    WideShare,
    /// Reliability of what is told.
    Told,
    /// Chance that a link of the complaint speaks.
    ComplaintSpeaks(usize),
    /// Complaints though nothing is wrong.
    ComplaintLeak,
    /// A figure of the heat margin by name, K.
    Heat(&'static str),
    /// A figure of the heat margin of one chamber.
    Chamber(String, &'static str),
    /// A figure of catching by name.
    Catch(&'static str),
    /// How common a kind of engine is.
    Kind(usize),
    /// Chance that a new part is bad.
    BadNew(usize),
    /// Chance that a repair removes a fault.
    Surely(usize, usize),
}

/// The figures at a place.
pub(super) enum Cells<'a> {
    /// Rows that add to one, moved alike.
    Rows(Vec<Vec<&'a mut f64>>),
    /// Rows that lack their first chance, what is left to one.
    Rests(Vec<Vec<&'a mut f64>>),
    /// Numbers moved by adding.
    Plus(Vec<&'a mut f64>),
    /// A number moved by a factor.
    Times(&'a mut f64),
}

/// Whether a chance may move.
pub(super) fn moves(p: f64) -> bool {
    p > 0.0 && p < 1.0
}

impl Cells<'_> {
    /// Values as they stand, of the first row.
    pub fn values(&self) -> Vec<f64> {
        match self {
            Cells::Rows(rows) | Cells::Rests(rows) => rows
                .first()
                .map_or(Vec::new(), |r| r.iter().map(|c| **c).collect()),
            Cells::Plus(list) => list.first().map(|c| **c).into_iter().collect(),
            Cells::Times(cell) => vec![**cell],
        }
    }

    /// Every number at the place, to be put back later.
    pub fn kept(&self) -> Vec<f64> {
        match self {
            Cells::Rows(rows) | Cells::Rests(rows) => rows.iter().flatten().map(|c| **c).collect(),
            Cells::Plus(list) => list.iter().map(|c| **c).collect(),
            Cells::Times(cell) => vec![**cell],
        }
    }

    /// Puts back what was kept.
    pub fn put_back(self, kept: &[f64]) {
        let cells: Vec<&mut f64> = match self {
            Cells::Rows(rows) | Cells::Rests(rows) => rows.into_iter().flatten().collect(),
            Cells::Plus(list) => list,
            Cells::Times(cell) => vec![cell],
        };
        cells.into_iter().zip(kept).for_each(|(c, k)| *c = *k);
    }

    /// Moves the figures; one move a figure of the row.
    pub fn shift(self, z: &[f64]) {
        match self {
            Cells::Rows(rows) => rows.into_iter().for_each(|row| row_by(row, z, 0.0)),
            Cells::Rests(rows) => {
                for row in rows {
                    let rest = 1.0 - row.iter().map(|c| **c).sum::<f64>();
                    row_by(row, z, rest.max(0.0));
                }
            }
            Cells::Plus(list) => list.into_iter().for_each(|c| *c += z[0]),
            Cells::Times(cell) => *cell *= z[0].exp(),
        }
    }
}

fn row_by(row: Vec<&mut f64>, z: &[f64], rest: f64) {
    let before: f64 = rest + row.iter().map(|c| **c).sum::<f64>();
    let weight = |p: f64, z: f64| if moves(p) { p * z.exp() } else { p };
    let after: f64 = rest + row.iter().zip(z).map(|(c, z)| weight(**c, *z)).sum::<f64>();
    for (cell, z) in row.into_iter().zip(z) {
        if moves(*cell) {
            *cell = weight(*cell, *z) * before / after;
        }
    }
}

/// The figures at a place, to be read or moved; `None` where there is nothing.
pub(super) fn cells<'k>(knowledge: &'k mut Knowledge, place: &Place) -> Option<Cells<'k>> {
    let one = |cell: &'k mut f64| Some(Cells::Rests(vec![vec![cell]]));
    let row = |cells: &'k mut Vec<f64>| Some(Cells::Rows(vec![cells.iter_mut().collect()]));
    let shares =
        |says: &'k mut BTreeMap<String, f64>| Some(Cells::Rows(vec![says.values_mut().collect()]));
    match place {
        Place::Root(part) => {
            let part = &knowledge.parts[*part];
            let wanted = part
                .fault
                .iter()
                .map(|f| format!("{}.{}", part.id.get_ref(), f.id.get_ref()))
                .collect::<Vec<_>>();
            let mut rows = Vec::new();
            for cell in &mut knowledge.roots.cell {
                let row = cell.chance.iter_mut();
                let row = row
                    .filter(|(name, _)| wanted.contains(name))
                    .map(|(_, c)| c);
                let row = row.collect::<Vec<_>>();
                // A fault that a context has no chance for keeps the figure of last resort.
                if row.len() == wanted.len() {
                    rows.push(row);
                }
            }
            Some(Cells::Rests(rows))
        }
        Place::Given(part, state) => {
            let row = knowledge.parts[*part].given_rows.get_mut(state)?;
            Some(Cells::Rests(vec![row.iter_mut().collect()]))
        }
        Place::Leak(f) => row(knowledge.functions[*f].leak.get_mut()),
        Place::Gives(f, at) => row(knowledge.functions[*f].from[*at].gives.get_mut()),
        Place::SignRow(s, at) => row(knowledge.signs[*s].row[*at].chance.get_mut()),
        Place::SignGives(s, at) => row(knowledge.signs[*s].from[*at].gives.get_mut()),
        Place::Speaks(s, at) => one(&mut knowledge.signs[*s].link[*at].speaks),
        Place::Says(s, at) => shares(knowledge.signs[*s].link[*at].says.get_mut()),
        Place::CheckRow(c, at) => row(knowledge.checks[*c].row[*at].chance.as_mut()?.get_mut()),
        Place::OffScale(c, at) => one(knowledge.checks[*c].row[*at].off_scale.as_mut()?),
        Place::Mean(c, at) => Some(Cells::Plus(vec![
            knowledge.checks[*c].row[*at].mean.as_mut()?,
        ])),
        Place::MeanFactor(c, at) => {
            Some(Cells::Times(knowledge.checks[*c].row[*at].mean.as_mut()?))
        }
        Place::Deviation(c, at) => Some(Cells::Times(knowledge.checks[*c].row[*at].sd.as_mut()?)),
        Place::CheckSpeaks(c, at) => one(&mut knowledge.checks[*c].link[*at].speaks),
        Place::CheckSays(c, at) => shares(knowledge.checks[*c].link[*at].says.get_mut()),
        Place::WideShare => one(&mut knowledge.starts.wide_share),
        Place::Told => one(&mut knowledge.starts.told),
        Place::ComplaintSpeaks(at) => one(&mut knowledge.starts.complaint.link[*at].speaks),
        Place::ComplaintLeak => one(&mut knowledge.starts.complaint.leak),
        Place::Heat(name) => {
            let heat = &mut knowledge.starts.heat;
            match *name {
                "width" => Some(Cells::Times(&mut heat.width)),
                "late_band" => Some(Cells::Times(&mut heat.late_band)),
                "step" => Some(Cells::Times(&mut heat.step)),
                "seal_low" => Some(Cells::Plus(vec![&mut heat.seal[0]])),
                "seal_very_low" => Some(Cells::Plus(vec![&mut heat.seal[1]])),
                "spray" => Some(Cells::Plus(vec![&mut heat.spray])),
                "no_spray_late" => one(&mut heat.no_spray_late),
                _ => one(&mut heat.stray),
            }
        }
        Place::Chamber(chamber, name) => {
            let heat = knowledge.starts.heat.chamber.get_mut(chamber)?;
            Some(Cells::Plus(vec![match *name {
                "half_unheated" => &mut heat.half_unheated,
                "glow_full" => &mut heat.glow_full,
                _ => &mut heat.glow_some,
            }]))
        }
        Place::Catch(name) => {
            let catch = &mut knowledge.starts.catch;
            Some(match *name {
                "base" => Cells::Plus(catch.base.iter_mut().collect()),
                "cold" => Cells::Times(&mut catch.cold),
                "unlit" => Cells::Times(&mut catch.unlit),
                _ => Cells::Times(&mut catch.unlit_cold),
            })
        }
        Place::Kind(at) => Some(Cells::Times(&mut knowledge.engines.kind[*at].share)),
        Place::BadNew(r) => one(&mut knowledge.repairs[*r].bad_new),
        Place::Surely(r, at) => one(&mut knowledge.repairs[*r].fixes[*at].surely),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected values: the softmax by hand.
    #[test]
    fn a_row_stays_a_row_and_certain_chances_stay() {
        let mut row = [0.0, 0.2, 0.8];
        let cells = Cells::Rows(vec![row.iter_mut().collect()]);
        cells.shift(&[5.0, 2.0_f64.ln(), 0.0]);
        assert_eq!(row[0], 0.0);
        assert!((row[1] - 0.4 / 1.2).abs() < 1e-15 && (row[2] - 0.8 / 1.2).abs() < 1e-15);
        let mut faults = [0.1, 0.3];
        let cells = Cells::Rests(vec![faults.iter_mut().collect()]);
        cells.shift(&[3.0_f64.ln(), 0.0]);
        assert!((faults[0] - 0.3 / 1.2).abs() < 1e-15 && (faults[1] - 0.25).abs() < 1e-15);
        let mut sure = [1.0];
        Cells::Rests(vec![sure.iter_mut().collect()]).shift(&[-1.0]);
        assert_eq!(sure, [1.0]);
    }
}
