//! Readings that are hard to believe beside the others, taken again as checks of their own.
//!
//! A reading is *suspect* as far as the chances of all readings together lie on hypotheses under
//! which it would rarely show: somewhere among them an error sits. Each way to take it again
//! leans on the first reading by its own chance `c` to copy:
//!
//! ```text
//! P(o | first, h) = c [o = first] + (1 - c) P(o | h)
//! ```
//!
//! Whether a repeat is worth its minutes is for the planner; `clash` says when it comes first
//! whatever it is worth. Must not search.

use std::collections::BTreeMap;

use super::checks::{Bench, Offered};
use super::looking::Looking;
use crate::evidence::reading::{in_measure, in_unit};
use crate::evidence::repeat::copies;
use crate::job::{EntryBody, Measured, Reading, ReadingValue, Repeat};
use crate::knowledge::{Check, CheckKind, Per, Relative};

/// A hypothesis speaks against a reading that shows less than this share as often under it as
/// its commonest outcome. Own judgement.
const RARE: f64 = 0.2;
/// Chance of an error from which taking a reading again is considered. Own judgement.
const SUSPECT: f64 = 0.1;
/// A reading is a gross error under a hypothesis by which it shows less than this share as often
/// as the commonest outcome. Own judgement.
const GROSS: f64 = 0.05;
/// Most places at which readings are considered again; the most suspect ones. Own judgement.
const PLACES: usize = 4;
/// Readings of one check at one place after which no more are proposed. Own judgement.
const ENOUGH: usize = 3;
/// Minutes to make a contact afresh or to fetch another meter; own judgement.
const PREPARE: f64 = 2.0;
/// Minutes to let two neighbours change places once they can be got at; own judgement.
const CHANGE_PLACES: f64 = 10.0;

/// A place read before: check and cylinder.
type Place<'a> = (&'a str, Option<u8>);

/// Suspect readings.
pub(super) struct Repeats<'k> {
    /// Each taken again in every way that can be done here.
    pub offered: Vec<Offered<'k>>,
    /// Positions in the job of the readings they repeat.
    pub entries: Vec<usize>,
    /// Chance that some reading is a gross error.
    pub doubt: f64,
}

impl<'a> Bench<'a> {
    /// Suspect readings, and how sure it is that some reading is wrong.
    pub(super) fn repeats(&self) -> Repeats<'a> {
        let mut found: Vec<(f64, usize, Vec<Offered<'a>>)> = Vec::new();
        let mut gross = vec![false; self.hypotheses.sets.len()];
        for ((id, cylinder), readings) in self.read_before() {
            let Some(check) = self.knowledge.checks.iter().find(|c| c.id.get_ref() == id) else {
                continue;
            };
            let Some((entry, last)) = readings.last().filter(|_| readings.len() < ENOUGH) else {
                continue;
            };
            if self.possible(check).is_err() || self.is_put_off(check, cylinder) {
                continue;
            }
            let again = self.again(check, cylinder, last, &mut gross);
            found.extend(again.map(|(suspicion, list)| (suspicion, *entry, list)));
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        found.truncate(PLACES);
        let weights = gross.iter().zip(&self.hypotheses.weights);
        let doubt: f64 = weights.filter(|(g, _)| **g).map(|(_, w)| w).sum();
        Repeats {
            entries: found.iter().map(|f| f.1).collect(),
            offered: found.into_iter().flat_map(|f| f.2).collect(),
            doubt,
        }
    }

    /// Results by place, since the last work, with their positions in the job.
    fn read_before(&self) -> BTreeMap<Place<'_>, Vec<(usize, &Reading)>> {
        let mut read: BTreeMap<Place<'_>, Vec<(usize, &Reading)>> = BTreeMap::new();
        let entries = self.job.entries.iter().enumerate();
        for (at, entry) in entries.filter(|(_, e)| e.is_used()) {
            match &entry.body {
                EntryBody::Work(_) => read.clear(),
                EntryBody::Reading(r) if r.value.has_result() => {
                    read.entry((&r.check, r.cylinder))
                        .or_default()
                        .push((at, r));
                }
                _ => {}
            }
        }
        read
    }

    /// How suspect a reading is, and the ways to take it again; `None` where it is not. Marks the
    /// hypotheses under which it is a gross error.
    fn again(
        &self,
        check: &'a Check,
        cylinder: Option<u8>,
        last: &Reading,
        gross: &mut [bool],
    ) -> Option<(f64, Vec<Offered<'a>>)> {
        let names = self.outcome_names(check);
        let shown = self.shown(check, last)?;
        let mut look = Looking::new(self, check, cylinder, names.len());
        let mut suspicion = 0.0;
        let mut fresh = Vec::new();
        for (at, weight) in self.hypotheses.weights.iter().enumerate() {
            let row = look.outcome(at)?;
            let most = row.iter().copied().fold(0.0, f64::max);
            if row[shown] < RARE * most {
                suspicion += weight;
            }
            gross[at] |= row[shown] < GROSS * most;
            fresh.push(row);
        }
        if suspicion < SUSPECT {
            return None;
        }
        let list = self.ways(check).into_iter().map(|way| {
            let c = copies(check, Some(way));
            let lean = |row: &Vec<f64>| -> Vec<f64> {
                let each = row.iter().enumerate();
                each.map(|(o, p)| c * f64::from(u8::from(o == shown)) + (1.0 - c) * p)
                    .collect()
            };
            Offered {
                check,
                cylinder,
                repeat: Some(way),
                names: names.clone(),
                chances: fresh.iter().flat_map(lean).collect(),
                minutes: minutes(check, way),
                access: self.way_in(check, way),
            }
        });
        Some((suspicion, list.collect()))
    }

    /// Outcome an earlier reading showed.
    fn shown(&self, check: &Check, reading: &Reading) -> Option<usize> {
        let names = self.outcome_names(check);
        match &reading.value {
            ReadingValue::JudgedNormal => Some(self.sound_outcome(check)),
            ReadingValue::Measured(Measured::State(s) | Measured::OffScale(s)) => {
                names.iter().position(|n| n == s)
            }
            ReadingValue::Measured(Measured::Number(number)) => {
                let y = in_unit(check, reading, number.quantity.value)?;
                let mut scale = self.scale();
                scale.nominal = self.rated(check);
                let above = |bound: &&f64| y >= in_measure(check, **bound, scale);
                Some(check.bounds.iter().filter(above).count())
            }
            _ => None,
        }
    }

    /// Rated value a number is held against: as stated, else the middle of its siblings', else
    /// the catalogue's.
    fn rated(&self, check: &Check) -> f64 {
        let times = match check.relative {
            Some(Relative::NominalTimesCylinders) => f64::from(self.shape.cylinders),
            Some(Relative::Nominal) => 1.0,
            _ => return 1.0,
        };
        let engine = &self.job.engine;
        let stated = match check.quantity.as_ref().map(|q| q.get_ref().as_str()) {
            Some("current") => engine.plug_rated_amps,
            Some("resistance") => engine.plug_rated_ohms,
            _ => None,
        };
        let mut numbers: Vec<f64> = self
            .job
            .entries
            .iter()
            .filter(|e| e.is_used())
            .filter_map(|e| match &e.body {
                EntryBody::Reading(r) if r.check == *check.id.get_ref() => {
                    in_unit(check, r, r.value.number()?.quantity.value)
                }
                _ => None,
            })
            .collect();
        numbers.sort_by(f64::total_cmp);
        let siblings = (check.per == Per::Cylinder)
            .then(|| numbers.get(numbers.len() / 2).copied())
            .flatten();
        let catalogue = check.nominal.map(|n| n[0]);
        times * stated.or(siblings).or(catalogue).unwrap_or(1.0)
    }

    /// Ways to take a reading again that this bench admits.
    fn ways(&self, check: &Check) -> Vec<Repeat> {
        let mut ways = vec![Repeat::AsItIs];
        let instruments = |any: &&Vec<String>| any.iter().any(|t| !self.always(t));
        let mut by_instrument = check.tools.iter().filter(instruments).peekable();
        if by_instrument.peek().is_some() {
            ways.push(Repeat::ContactRemade);
        }
        let two_at_hand = |any: &Vec<String>| any.iter().filter(|t| self.at_hand(t)).count() > 1;
        if check.kind == CheckKind::Number && by_instrument.any(two_at_hand) {
            ways.push(Repeat::OtherMeter);
        }
        if self.shape.cylinders > 1 && taken_out(check).is_some() {
            ways.push(Repeat::Swapped);
        }
        ways
    }

    /// Access groups of a way: to change places a part must come out.
    fn way_in(&self, check: &Check, way: Repeat) -> Vec<usize> {
        let own = check.access.iter().map(|a| a.get_ref().as_str());
        let out = taken_out(check).filter(|_| way == Repeat::Swapped);
        self.access(own.chain(out))
    }
}

/// Access group behind which the part of one cylinder that a check looks at can be taken out.
fn taken_out(check: &Check) -> Option<&'static str> {
    if check.per != Per::Cylinder {
        return None;
    }
    check
        .looks_at
        .iter()
        .find_map(|l| match l.get_ref().as_str() {
            "plug" => Some("plugs_out"),
            "nozzle" => Some("injectors_out"),
            _ => None,
        })
}

fn minutes(check: &Check, way: Repeat) -> f64 {
    let once = match check.per {
        Per::Engine => check.minutes,
        Per::Cylinder => check.minutes_each.unwrap_or(check.minutes),
    };
    match way {
        Repeat::AsItIs => once,
        Repeat::ContactRemade | Repeat::OtherMeter => once + PREPARE,
        // Both neighbours are read once they have changed places.
        Repeat::Swapped => 2.0 * once + CHANGE_PLACES,
    }
}
