//! What one reading says: the likelihood of its value for every joint state it looks at.
//!
//! Must not build variables or decide what a reading is worth.

use std::collections::BTreeMap;

use super::law::NumberLaw;
use crate::job::{Measured, Reading, ReadingValue};
use crate::knowledge::{Check, CheckKind, CheckRow, Knowledge, Law, Relative};
use crate::units::physics::battery_minimum_volts;
use crate::units::{Cmp, Dimension, Unit};

/// Chance of an outcome that the row does not list at all, so that nothing is impossible.
const FLOOR: f64 = 1e-4;
/// How far from the ordinary centre a number still counts as "looked normal", in spreads.
const NORMAL_WITHIN: f64 = 2.0;
/// System volts for which the battery table is printed.
const VOLTS_OF_TABLE: f64 = 12.0;

/// What is left at least when the leads are taken off a low reading, ohm.
pub const LEAST_OHMS: f64 = 0.01;

/// Below this, ohm, the 0.1 to 0.3 ohm of a meter's own leads is a tenth and more of the reading.
/// Own judgement.
const LEADS_MATTER: f64 = 3.0;
/// The meter that reads through the leads it measures with.
const ORDINARY_METER: &str = "multimeter";

/// State that stands for "all cylinders" in rows about open plugs.
const ALL: &str = "all";
/// The count of open plugs.
const OPEN: &str = "plugs_open";

/// First states of the variables checks look at.
const FIRST: [&str; 8] = [
    "sound", "full", "good", "tight", "right", "at_once", "0", "none",
];

/// A state of the variables a check looks at, by name.
pub type Looked<'a> = BTreeMap<&'a str, &'a str>;

/// What a reading is measured against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Rated value, in the unit of the check (1 where the check is absolute).
    pub nominal: f64,
    /// Engine temperature, degC, for tables that depend on it.
    pub temperature: f64,
    /// Volts of the system.
    pub system_volts: f64,
}

/// The row that holds for a state of the variables.
#[must_use]
pub fn row_for<'c>(check: &'c Check, looked: &Looked<'_>, cylinders: u8) -> Option<&'c CheckRow> {
    let every = cylinders.to_string();
    check.row.iter().find(|row| {
        row.given
            .iter()
            .all(|(name, allowed)| match looked.get(name.as_str()) {
                Some(state) => allowed
                    .iter()
                    .any(|a| a == state || (a == ALL && name == OPEN && *state == every)),
                // What this engine does not have is in its first state.
                None => allowed.iter().any(|a| FIRST.contains(&a.as_str())),
            })
    })
}

/// The law of a number in a row.
#[must_use]
pub fn law_of(
    knowledge: &Knowledge,
    check: &Check,
    row: &CheckRow,
    looked: &Looked<'_>,
    cylinders: u8,
    scale: Scale,
) -> Option<NumberLaw> {
    let (mean, sd) = (row.mean?, row.sd?);
    let law = check.law.unwrap_or(Law::Normal);
    // Plugs that are open draw nothing: what flows is the share of those that are not.
    let open = looked
        .get(OPEN)
        .and_then(|n| n.parse::<f64>().ok())
        .unwrap_or(0.0);
    let total = check.relative == Some(Relative::NominalTimesCylinders);
    let mean = if total {
        mean * (1.0 - open / f64::from(cylinders))
    } else {
        mean
    };
    let (mean, sd) = match (check.relative.unwrap_or(Relative::Absolute), law) {
        (Relative::Nominal | Relative::NominalTimesCylinders, Law::Normal) => {
            (mean * scale.nominal, sd * scale.nominal)
        }
        (Relative::Nominal | Relative::NominalTimesCylinders, Law::LogNormal) => {
            (mean * scale.nominal, sd)
        }
        (Relative::BatteryTable, _) => (in_measure(check, mean, scale), sd),
        (Relative::Absolute, _) => (mean, sd),
    };
    Some(NumberLaw {
        law,
        mean,
        sd,
        wide_share: knowledge.starts.wide_share,
        wide_factor: knowledge.starts.wide_factor,
    })
}

/// Likelihood of a reading in a row; `None` where the value says nothing.
#[must_use]
pub fn likelihood(
    knowledge: &Knowledge,
    check: &Check,
    reading: &Reading,
    looked: &Looked<'_>,
    cylinders: u8,
    scale: Scale,
) -> Option<f64> {
    let row = row_for(check, looked, cylinders)?;
    let value = match check.kind {
        CheckKind::States => {
            let chances = row.chance.as_ref()?.get_ref();
            let at = match &reading.value {
                ReadingValue::JudgedNormal => 0,
                value => {
                    let state = value.state()?;
                    check.states.iter().position(|s| s == state)?
                }
            };
            chances.get(at).copied()?
        }
        CheckKind::Number => number(knowledge, check, row, reading, looked, cylinders, scale)?,
    };
    Some(value)
}

/// Density or mass of a number, a named band, an off-scale result or "looked normal".
fn number(
    knowledge: &Knowledge,
    check: &Check,
    row: &CheckRow,
    reading: &Reading,
    looked: &Looked<'_>,
    cylinders: u8,
    scale: Scale,
) -> Option<f64> {
    let off = row.off_scale.unwrap_or(0.0);
    let law = law_of(knowledge, check, row, looked, cylinders, scale);
    let on = 1.0 - off;
    match &reading.value {
        ReadingValue::JudgedNormal => {
            let (_, band) = ordinary(knowledge, check, cylinders, scale)?;
            let (lo, hi) = match band.law {
                Law::Normal => (
                    band.mean - NORMAL_WITHIN * band.sd,
                    band.mean + NORMAL_WITHIN * band.sd,
                ),
                Law::LogNormal => {
                    let factor = (NORMAL_WITHIN * band.sd).exp();
                    (band.mean / factor, band.mean * factor)
                }
            };
            let mass = law.map_or(0.0, |l| l.below(hi) - l.below(lo));
            Some(FLOOR + on * mass)
        }
        ReadingValue::Measured(Measured::OffScale(_)) => Some(FLOOR + off),
        ReadingValue::Measured(Measured::State(name)) => {
            let at = check.bound_names.iter().position(|n| n == name)?;
            let l = law?;
            let below = |i: usize| {
                check
                    .bounds
                    .get(i)
                    .map_or(1.0, |b| l.below(in_measure(check, *b, scale)))
            };
            let lower = if at == 0 { 0.0 } else { below(at - 1) };
            Some(FLOOR + on * (below(at) - lower))
        }
        ReadingValue::Measured(Measured::Number(parsed)) => {
            let y = in_unit(check, reading, parsed.quantity.value)?;
            let l = law?;
            // Less than -40 kPa is a deeper vacuum.
            let cmp = match parsed.cmp {
                Cmp::Above if check.vacuum && parsed.quantity.value < 0.0 => Cmp::Below,
                Cmp::Below if check.vacuum && parsed.quantity.value < 0.0 => Cmp::Above,
                cmp => cmp,
            };
            let says = |y: f64, off: f64, l: &NumberLaw| match cmp {
                Cmp::Equal | Cmp::About => (1.0 - off) * l.density(y).max(f64::MIN_POSITIVE),
                Cmp::Above => FLOOR + off + (1.0 - off) * (1.0 - l.below(y)),
                Cmp::Below => FLOOR + (1.0 - off) * l.below(y),
            };
            let own = says(y, off, &l);
            let Some((usual, o)) = ordinary(knowledge, check, cylinders, scale) else {
                return Some(own);
            };
            if !beyond(y, o.mean, l.mean) {
                return Some(own);
            }
            // Better than the ordinary engine says no more for what makes it worse than the
            // ordinary reading does.
            let at_ordinary = says(o.mean, off, &l) / says(o.mean, usual, &o);
            Some(own.min(at_ordinary * says(y, usual, &o)))
        }
        _ => None,
    }
}

/// A bound, stated in the measure of `mean`, as a number of the reading.
#[must_use]
pub fn in_measure(check: &Check, bound: f64, scale: Scale) -> f64 {
    match check.relative.unwrap_or(Relative::Absolute) {
        Relative::Absolute => bound,
        Relative::Nominal | Relative::NominalTimesCylinders => bound * scale.nominal,
        Relative::BatteryTable => {
            battery_minimum_volts(scale.temperature) * scale.system_volts / VOLTS_OF_TABLE + bound
        }
    }
}

/// The off-scale share and the law of the ordinary engine.
fn ordinary(
    knowledge: &Knowledge,
    check: &Check,
    cylinders: u8,
    scale: Scale,
) -> Option<(f64, NumberLaw)> {
    let row = check
        .row
        .iter()
        .find(|r| r.mean.is_some() && is_ordinary(r))?;
    let law = law_of(knowledge, check, row, &Looked::new(), cylinders, scale)?;
    Some((row.off_scale.unwrap_or(0.0), law))
}

/// Whether `y` lies on the far side of the ordinary mean, seen from a row's own mean. There the
/// tail of a wide law would stand above that of a narrow one, and 17 V would tell of a flat battery.
fn beyond(y: f64, ordinary: f64, own: f64) -> bool {
    (y - ordinary) * (own - ordinary) < 0.0
}

/// Whether a row is that of the ordinary engine: every variable in its first state, or any.
fn is_ordinary(row: &CheckRow) -> bool {
    row.given
        .values()
        .all(|states| states.iter().any(|s| FIRST.contains(&s.as_str())))
}

/// Whether the resistance of the meter's own leads ought to be known for this reading.
#[must_use]
pub fn wants_leads(check: &Check, reading: &Reading) -> bool {
    let resistance = check
        .quantity
        .as_ref()
        .is_some_and(|q| q.get_ref() == Dimension::Resistance.name());
    let two_leads = check
        .tools
        .iter()
        .any(|any| any.iter().any(|tool| tool == ORDINARY_METER));
    let low = match &reading.value {
        ReadingValue::Measured(Measured::Number(parsed)) => parsed.quantity.value < LEADS_MATTER,
        _ => false,
    };
    resistance && two_leads && low && reading.leads.is_none()
}

/// A number of a reading in the unit of its check, with the meter's leads taken off low ohms; a
/// vacuum as a depth.
#[must_use]
pub fn in_unit(check: &Check, reading: &Reading, canonical: f64) -> Option<f64> {
    let dimension = Dimension::from_name(check.quantity.as_ref()?.get_ref())?;
    let word = check.unit.as_ref()?.get_ref();
    let unit = Unit::by_code(dimension, word)
        .or_else(|| Unit::meant_by(dimension, word).into_iter().next())?;
    let leads = match (&reading.leads, dimension) {
        (Some(leads), Dimension::Resistance) => leads.value,
        _ => 0.0,
    };
    let taken_off = if leads > 0.0 {
        (canonical - leads).max(LEAST_OHMS)
    } else {
        canonical
    };
    let read = unit.from_canonical(taken_off);
    Some(if check.vacuum { read.abs() } else { read })
}
