//! Checks a shop does and what it reads.
//!
//! The habit: quick checks first, those of systems the shop likes more readily, none for which a
//! tool is missing; how many does not depend on what comes out. Readings come from the rows and
//! laws of the figures. Must not judge.

use std::collections::BTreeMap;

use super::looks::{digits, typed};
use super::luck::Luck;
use super::settings::SimulationSettings;
use super::shop::Shop;
use super::world::{World, simulated};
use crate::evidence::reading::{Looked, Scale, law_of, row_for};
use crate::job::{Entry, EntryBody, Measured, Reading, ReadingValue};
use crate::knowledge::{Check, CheckKind, Knowledge, Law, Per, Relative};
use crate::network::build::Shape;
use crate::units::{Dimension, Unit};

/// Minutes by which the weight of a check falls to a third; own judgement.
const PATIENCE: f64 = 15.0;
/// Rated values are drawn within so many spreads, as readings are judged.
const REACH: f64 = 3.0;
/// Ways in which a result is not there, with weights: not recorded, not tested, could not test,
/// unreadable; own judgement.
const ABSENT: [(ReadingValue, f64); 4] = [
    (ReadingValue::NotRecorded, 0.5),
    (ReadingValue::NotTested, 0.3),
    (ReadingValue::CouldNotTest, 0.1),
    (ReadingValue::Unreadable, 0.1),
];
/// A number written down wrongly is off by up to this factor; own judgement.
const MISREAD_FACTOR: f64 = 2.0;

/// What a shop needs to read an engine.
pub(super) struct Bench<'a> {
    pub knowledge: &'a Knowledge,
    pub shop: &'a Shop,
    pub settings: &'a SimulationSettings,
    pub shape: &'a Shape,
    pub temperature: f64,
    pub system_volts: f64,
}

impl Bench<'_> {
    /// The readings of the checks that the shop happens to do, in order.
    pub(super) fn readings(&self, world: &World<'_>, luck: &mut Luck) -> Vec<Entry> {
        if let Some(routine) = &self.settings.routine {
            let mut entries = Vec::new();
            let known = self.knowledge.checks.iter();
            for check in known.filter(|c| routine.checks.contains(c.id.get_ref())) {
                self.read(check, world, luck, &mut entries);
            }
            return entries;
        }
        let mut open = self
            .knowledge
            .checks
            .iter()
            .filter(|c| self.can(c))
            .collect::<Vec<_>>();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few checks"
        )]
        let wanted = (luck.share() * 2.0 * self.shop.checks).ceil() as usize;
        let mut entries = Vec::new();
        for _ in 0..wanted.min(self.settings.most_checks) {
            if open.is_empty() {
                break;
            }
            let weights = open.iter().map(|c| self.weight(c)).collect::<Vec<_>>();
            let check = open.remove(luck.position(&weights));
            self.read(check, world, luck, &mut entries);
        }
        entries
    }

    fn can(&self, check: &Check) -> bool {
        let owned = |tool: &String| {
            let always = |t: &&crate::knowledge::Tool| t.always && t.id.get_ref() == tool;
            self.shop.tools.contains(tool) || self.knowledge.tools.iter().any(|t| always(&t))
        };
        self.shape.has(&check.needs)
            && simulated(check.id.get_ref())
            && check.tools.iter().all(|any| any.iter().any(owned))
    }

    fn weight(&self, check: &Check) -> f64 {
        let liking = self.shop.liking.get(&check.system).copied().unwrap_or(1.0);
        liking * (-check.minutes / PATIENCE).exp()
    }

    fn read(&self, check: &Check, world: &World<'_>, luck: &mut Luck, entries: &mut Vec<Entry>) {
        let nominal = self.nominal(check, luck);
        let cylinders = match check.per {
            Per::Engine => vec![None],
            Per::Cylinder => (1..=self.shape.cylinders).map(Some).collect(),
        };
        for cylinder in cylinders {
            let read = self.value(check, cylinder, world, nominal, luck);
            let missing = luck.happens(self.settings.missing);
            let weights = ABSENT.map(|(_, w)| w);
            let absent = &ABSENT[luck.position(&weights)].0;
            let Some((value, typed)) = read else {
                continue;
            };
            let (value, typed) = if missing {
                (absent.clone(), absent.state_id().to_owned())
            } else {
                (value, typed)
            };
            entries.push(Entry::new(EntryBody::Reading(Reading {
                check: check.id.get_ref().clone(),
                cylinder,
                trial: None,
                repeat: None,
                value,
                typed,
                supply: None,
                rest: None,
                leads: None,
                tool: None,
                why_not: None,
                suspect: None,
                confirmed: false,
            })));
        }
    }

    /// The rated value of this engine, in the unit of the check.
    fn nominal(&self, check: &Check, luck: &mut Luck) -> f64 {
        let Some([middle, log_sd]) = check.nominal else {
            return 1.0;
        };
        let z = loop {
            let z = luck.normal(0.0, 1.0);
            if z.abs() <= REACH {
                break z;
            }
        };
        let total = check.relative == Some(Relative::NominalTimesCylinders);
        let times = if total {
            f64::from(self.shape.cylinders)
        } else {
            1.0
        };
        middle * (z * log_sd).exp() * times
    }

    fn value(
        &self,
        check: &Check,
        cylinder: Option<u8>,
        world: &World<'_>,
        nominal: f64,
        luck: &mut Luck,
    ) -> Option<(ReadingValue, String)> {
        let misread = luck.happens(self.settings.misread);
        if let Some(id) = world.kind.spoken.get(check.id.get_ref()) {
            return Some(state(check, world.states[id.at()], misread, luck));
        }
        let ids = check
            .looks_at
            .iter()
            .filter_map(|l| {
                Some((
                    l.get_ref().as_str(),
                    world.looked_at(l.get_ref(), cylinder)?,
                ))
            })
            .collect::<BTreeMap<_, _>>();
        let looked: Looked<'_> = ids
            .iter()
            .map(|(name, id)| (*name, world.state(*id)))
            .collect();
        let row = row_for(check, &looked, self.shape.cylinders)?;
        if check.kind == CheckKind::States {
            let at = luck.position(row.chance.as_ref()?.get_ref());
            return Some(state(check, at, misread, luck));
        }
        if luck.happens(row.off_scale.unwrap_or(0.0)) {
            let name = check.off_scale.clone()?;
            let value = ReadingValue::Measured(Measured::OffScale(name.clone()));
            return Some((value, name));
        }
        let scale = Scale {
            nominal,
            temperature: self.temperature,
            system_volts: self.system_volts,
        };
        let law = law_of(
            self.knowledge,
            check,
            row,
            &looked,
            self.shape.cylinders,
            scale,
        )?;
        let wide = luck.happens(law.wide_share);
        let sd = if wide {
            law.sd * law.wide_factor
        } else {
            law.sd
        };
        let mut y = match law.law {
            Law::Normal => luck.normal(law.mean, sd),
            Law::LogNormal => luck.normal(law.mean.max(f64::MIN_POSITIVE).ln(), sd).exp(),
        };
        if misread {
            y *= MISREAD_FACTOR.powf(2.0 * luck.share() - 1.0);
        }
        number(check, y)
    }
}

fn state(check: &Check, at: usize, misread: bool, luck: &mut Luck) -> (ReadingValue, String) {
    let at = if misread {
        luck.one_of(check.states.len())
    } else {
        at
    };
    let name = check.states[at].clone();
    (ReadingValue::Measured(Measured::State(name.clone())), name)
}

/// A number as it is written down. No meter of a loss shows less than nothing.
fn number(check: &Check, y: f64) -> Option<(ReadingValue, String)> {
    let dimension = Dimension::from_name(check.quantity.as_ref()?.get_ref())?;
    let word = check.unit.as_ref()?.get_ref();
    let unit = Unit::by_code(dimension, word)
        .or_else(|| Unit::meant_by(dimension, word).into_iter().next())?;
    let text = format!("{} {}", digits(y.max(0.0)), unit.code());
    let parsed = typed(&text, dimension)?;
    Some((ReadingValue::Measured(Measured::Number(parsed)), text))
}
