//! Readings of one check, judged together: siblings share the unknown rated value, repeats lean
//! on the first reading, timings go through the trials.
//!
//! Must not know what else the job holds.

use std::collections::BTreeMap;

use super::gather::{EvidenceError, Gathering};
use super::item::{Item, Remark, Source};
use super::nominal::{NominalGrid, catalogue, siblings};
use super::reading::{Looked, Scale, in_unit, wants_leads};
use super::repeat::repeated;
use super::timed::{TIMED, timing};
use super::trials::{Bench, Catalogue, Figures, shared_pace};
use crate::job::{EntryBody, Measured, Reading, ReadingValue};
use crate::knowledge::{Check, Relative};
use crate::network::build::{Condition, Counted};
use crate::network::{Seen, Slot, VarId};

/// Spread of the logarithm about a rated value that somebody stated. Own judgement.
const RATED_LOG_SD: f64 = 0.06;
/// Middle and log spread of a rated value no catalogue figure is known for: a factor of e either
/// way. Own judgement.
const NO_CATALOGUE: [f64; 2] = [1.0, 1.0];
/// Points of the shared pace the network carries.
const PACE_POINTS: usize = 12;
/// Share of slow verdicts a shielded plug gives; with three trials. Own judgement.
const SHIELDED_SLOW: f64 = 0.15;
/// The check that is a start.
const BY_THE_BOOK: &str = "start_by_the_book";
/// Number from which starts by the book are counted, apart from those of the entries.
const BOOK_START: usize = 1000;
/// Likelihood of "starts well" and of "starts as badly" by crank time, least to no start; own
/// judgement.
const GOOD_START: [f64; 5] = [1.0, 0.6, 0.06, 0.01, 0.001];
const BAD_START: [f64; 5] = [0.05, 0.3, 1.0, 1.0, 1.0];

impl Gathering<'_> {
    pub(super) fn readings(
        &mut self,
        entries: &[usize],
        remarks: &mut Vec<Remark>,
    ) -> Result<(), EvidenceError> {
        let job = self.job;
        let mut used = Vec::new();
        for at in entries {
            let EntryBody::Reading(reading) = &job.entries[*at].body else {
                continue;
            };
            match &reading.suspect {
                Some(why) if !reading.confirmed => remarks.push(Remark::Suspect {
                    entry: *at,
                    id: reading.check.clone(),
                    why: why.clone(),
                }),
                _ => used.push((*at, reading)),
            }
        }
        let Some((_, first)) = used.first() else {
            return Ok(());
        };
        let knowledge = self.knowledge;
        let Some(check) = knowledge
            .checks
            .iter()
            .find(|c| *c.id.get_ref() == first.check)
        else {
            return Ok(());
        };
        if !self.builder.shape().has(&check.needs) {
            remarks.push(Remark::NotOnEngine {
                entry: used[0].0,
                id: first.check.clone(),
            });
            return Ok(());
        }
        for (at, reading) in &used {
            if wants_leads(check, reading) {
                remarks.push(Remark::LeadsUnknown { entry: *at });
            }
        }
        if check.id.get_ref() == BY_THE_BOOK {
            return self.by_the_book(&used);
        }
        if check.id.get_ref() == TIMED && used.iter().any(|(_, r)| r.value.number().is_some()) {
            return self.timings(check, &used);
        }
        if !check.link.is_empty() {
            return self.spoken(check, &used);
        }
        let by_nominal = matches!(
            check.relative,
            Some(Relative::Nominal | Relative::NominalTimesCylinders)
        );
        let cylinders = used
            .iter()
            .filter(|(_, r)| says_number(r))
            .filter_map(|(_, r)| r.cylinder)
            .collect::<std::collections::BTreeSet<_>>();
        if by_nominal && cylinders.len() > 1 {
            self.sharing(check, &used)
        } else {
            self.apart(check, &used, by_nominal)
        }
    }

    /// A start with the routine kept: a start of the same engine, not a look at one part.
    fn by_the_book(&mut self, used: &[(usize, &Reading)]) -> Result<(), EvidenceError> {
        for (at, reading) in used {
            let values: [f64; 5] = match (&reading.value, reading.value.state()) {
                (ReadingValue::JudgedNormal, _) | (_, Some("good")) => GOOD_START,
                (_, Some(_)) => BAD_START,
                _ => continue,
            };
            let condition = self.builder.by_the_book(Condition {
                temperature: self.temperature,
                primed: false,
            })?;
            let variable = self.builder.of_condition(condition, "crank_time")?;
            let slot = Slot {
                scope: vec![variable],
                seen: Seen::Soft,
            };
            let mut slots = vec![(slot, values.to_vec())];
            if values == GOOD_START {
                // A good start also runs: it neither shakes for long nor dies.
                let number = BOOK_START + at;
                for sign in ["time_to_even", "dies"] {
                    let variable = self.builder.sign(sign, condition, number)?;
                    let slot = Slot {
                        scope: vec![variable],
                        seen: Seen::Hard(0),
                    };
                    slots.push((slot, Vec::new()));
                }
            }
            self.push(*at, reading, slots, 0.0);
        }
        Ok(())
    }

    /// A check any cylinder may speak for: an observed leaf.
    fn spoken(&mut self, check: &Check, used: &[(usize, &Reading)]) -> Result<(), EvidenceError> {
        for (at, reading) in used {
            let state = match &reading.value {
                ReadingValue::JudgedNormal => Some(0),
                value => value
                    .state()
                    .and_then(|s| check.states.iter().position(|x| x == s)),
            };
            let Some(state) = state else {
                continue;
            };
            let number = self.count(check, reading);
            let variable = self.builder.spoken_check(check, self.now(), number)?;
            self.push(
                *at,
                reading,
                vec![(
                    Slot {
                        scope: vec![variable],
                        seen: Seen::Hard(state),
                    },
                    Vec::new(),
                )],
                0.0,
            );
        }
        Ok(())
    }

    fn count(&mut self, check: &Check, reading: &Reading) -> usize {
        let key = (check.id.get_ref().clone(), reading.cylinder);
        let count = self.read.entry(key).or_insert(0);
        *count += 1;
        *count
    }

    fn push(&mut self, at: usize, reading: &Reading, slots: Vec<(Slot, Vec<f64>)>, log_scale: f64) {
        self.items.push(Item {
            entry: at,
            source: Source::Reading {
                check: reading.check.clone(),
                cylinder: reading.cylinder,
            },
            typed: reading.typed.clone(),
            shared: self.count_in(&slots),
            slots,
            log_scale,
        });
    }

    /// The count that a slot looks at, if any.
    fn count_in(&self, slots: &[(Slot, Vec<f64>)]) -> Option<VarId> {
        let name = |v: &VarId| &self.builder.network().variable(*v).name;
        let is_count = |v: &&VarId| Counted::of(name(v).split('/').next().unwrap_or("")).is_some();
        slots
            .iter()
            .flat_map(|(s, _)| &s.scope)
            .find(is_count)
            .copied()
    }

    /// Readings that stand alone; a rated value nobody knows is added up over its catalogue.
    fn apart(
        &mut self,
        check: &Check,
        used: &[(usize, &Reading)],
        by_nominal: bool,
    ) -> Result<(), EvidenceError> {
        let grid = by_nominal.then(|| self.grid(check, None));
        let mut before: BTreeMap<Option<u8>, &Reading> = BTreeMap::new();
        for (at, reading) in used {
            let scope = self.scope(check, reading.cylinder)?;
            let previous = before.insert(reading.cylinder, *reading);
            let values = self.over(&scope, |looked, gathering| {
                let at_nominal =
                    |scale: Scale| repeated(gathering, check, reading, previous, looked, scale);
                match &grid {
                    None => at_nominal(gathering.scale()),
                    Some(grid) => grid
                        .values
                        .iter()
                        .zip(&grid.weights)
                        .map(|(v, w)| at_nominal(gathering.scale_at(check, *v)).map(|l| l * w))
                        .sum(),
                }
            });
            if let Some((values, log_scale)) = values {
                let scope = scope.into_iter().map(|(_, id)| id).collect();
                self.push(
                    *at,
                    reading,
                    vec![(
                        Slot {
                            scope,
                            seen: Seen::Soft,
                        },
                        values,
                    )],
                    log_scale,
                );
            }
        }
        Ok(())
    }

    /// Readings at several cylinders that share one rated value: a variable on a grid.
    fn sharing(&mut self, check: &Check, used: &[(usize, &Reading)]) -> Result<(), EvidenceError> {
        let numbers = used
            .iter()
            .filter_map(|(_, r)| {
                r.value
                    .number()
                    .and_then(|n| in_unit(check, r, n.quantity.value))
            })
            .collect::<Vec<_>>();
        let grid = self.grid(check, Some(&numbers));
        let number = self.count(check, used[0].1);
        let nominal = self.builder.nominal(
            &format!("rated {}#{number}", check.id.get_ref()),
            grid.weights.clone(),
        )?;
        let mut before: BTreeMap<Option<u8>, &Reading> = BTreeMap::new();
        let mut slots = Vec::new();
        let mut log_scale = 0.0;
        for (_, reading) in used {
            let scope = self.scope(check, reading.cylinder)?;
            let previous = before.insert(reading.cylinder, *reading);
            let mut values = Vec::new();
            let mut says = true;
            for value in &grid.values {
                let row = self.raw(&scope, |looked, gathering| {
                    let scale = gathering.scale_at(check, *value);
                    repeated(gathering, check, reading, previous, looked, scale)
                });
                match row {
                    Some(row) => values.extend(row),
                    None => says = false,
                }
            }
            if !says {
                continue;
            }
            log_scale += normalise(&mut values);
            let ids = std::iter::once(nominal)
                .chain(scope.into_iter().map(|(_, id)| id))
                .collect();
            slots.push((
                Slot {
                    scope: ids,
                    seen: Seen::Soft,
                },
                values,
            ));
        }
        let (at, last) = used[used.len() - 1];
        let mut item = Item {
            entry: at,
            source: Source::Reading {
                check: last.check.clone(),
                cylinder: None,
            },
            typed: used
                .iter()
                .map(|(_, r)| r.typed.as_str())
                .collect::<Vec<_>>()
                .join(" / "),
            slots,
            shared: Some(nominal),
            log_scale,
        };
        if used.len() == 1 {
            item.source = Source::Reading {
                check: last.check.clone(),
                cylinder: last.cylinder,
            };
        }
        self.items.push(item);
        Ok(())
    }

    /// Glow times through the model of trials.
    fn timings(&mut self, check: &Check, used: &[(usize, &Reading)]) -> Result<(), EvidenceError> {
        let timings = used
            .iter()
            .filter_map(|(_, r)| timing(r, 1))
            .collect::<Vec<_>>();
        let reference = self.scale().system_volts;
        let figures = Figures::default();
        let catalogue = Catalogue::default();
        let bench = Bench {
            reference_volts: reference,
        };
        let Ok(pace) = shared_pace(&timings, &bench, &figures, &catalogue) else {
            return Ok(());
        };
        let pace = pace.coarse(PACE_POINTS, figures.pslow);
        let mut weights = pace
            .points
            .iter()
            .map(|p| p.log_weight.exp())
            .collect::<Vec<_>>();
        let total: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|w| *w /= total);
        let number = self.count(check, used[0].1);
        let nominal = self.builder.nominal(&format!("pace#{number}"), weights)?;
        let mut slots = Vec::new();
        let mut log_scale = pace.log_scale + total.ln();
        for (i, cylinder) in pace.cylinders.iter().enumerate() {
            let plug = self.builder.looked_at("plug", Some(*cylinder))?;
            let states = self.builder.network().variable(plug).states.clone();
            let mut values = Vec::new();
            for point in &pace.points {
                let [sound, slow, dead] = point.likelihood[i];
                for state in &states {
                    values.push(match state.as_str() {
                        "dead" => dead,
                        "weak" => slow,
                        "shielded" => (1.0 - SHIELDED_SLOW) * sound + SHIELDED_SLOW * slow,
                        _ => sound,
                    });
                }
            }
            log_scale += normalise(&mut values);
            slots.push((
                Slot {
                    scope: vec![nominal, plug],
                    seen: Seen::Soft,
                },
                values,
            ));
        }
        self.items.push(Item {
            entry: used[used.len() - 1].0,
            source: Source::Timings {
                check: check.id.get_ref().clone(),
            },
            typed: used
                .iter()
                .map(|(_, r)| r.typed.as_str())
                .collect::<Vec<_>>()
                .join(" / "),
            slots,
            shared: Some(nominal),
            log_scale,
        });
        Ok(())
    }

    fn scale_at(&self, check: &Check, nominal: f64) -> Scale {
        let times = match check.relative {
            Some(Relative::NominalTimesCylinders) => f64::from(self.builder.shape().cylinders),
            _ => 1.0,
        };
        Scale {
            nominal: nominal * times,
            ..self.scale()
        }
    }

    fn grid(&self, check: &Check, readings: Option<&[f64]>) -> NominalGrid {
        let quantity = check.quantity.as_ref().map_or("", |q| q.get_ref());
        let [middle, log_sd] = match self.rated(quantity) {
            Some(rated) => [rated, RATED_LOG_SD],
            None => check.nominal.unwrap_or(NO_CATALOGUE),
        };
        match readings {
            Some(readings) => siblings(middle, log_sd, readings),
            None => catalogue(middle, log_sd),
        }
    }

    fn scope(
        &mut self,
        check: &Check,
        cylinder: Option<u8>,
    ) -> Result<Vec<(String, VarId)>, EvidenceError> {
        let names = check
            .looks_at
            .iter()
            .map(|l| l.get_ref().as_str())
            .collect::<Vec<_>>();
        Ok(self.looked_at(&names, cylinder)?)
    }

    /// A value for every joint state of the scope, last variable fastest; `None` if any says nothing.
    fn raw(
        &self,
        scope: &[(String, VarId)],
        mut value: impl FnMut(&Looked<'_>, &Self) -> Option<f64>,
    ) -> Option<Vec<f64>> {
        let network = self.builder.network();
        let count: usize = scope.iter().map(|(_, id)| network.size(*id)).product();
        let mut values = Vec::with_capacity(count);
        for at in 0..count {
            let mut left = at;
            let mut looked = Looked::new();
            for (name, id) in scope.iter().rev() {
                let size = network.size(*id);
                looked.insert(name, &network.variable(*id).states[left % size]);
                left /= size;
            }
            values.push(value(&looked, self)?);
        }
        Some(values)
    }

    /// As `raw`, brought to a greatest value of one, with the logarithm taken out.
    fn over(
        &self,
        scope: &[(String, VarId)],
        value: impl FnMut(&Looked<'_>, &Self) -> Option<f64>,
    ) -> Option<(Vec<f64>, f64)> {
        let mut values = self.raw(scope, value)?;
        let log_scale = normalise(&mut values);
        Some((values, log_scale))
    }
}

fn says_number(reading: &Reading) -> bool {
    matches!(
        reading.value,
        ReadingValue::Measured(Measured::Number(_) | Measured::OffScale(_))
    )
}

/// Brings the greatest value to one; gives the logarithm taken out.
fn normalise(values: &mut [f64]) -> f64 {
    let most = values.iter().copied().fold(0.0, f64::max);
    if most <= 0.0 {
        return 0.0;
    }
    values.iter_mut().for_each(|v| *v /= most);
    most.ln()
}
