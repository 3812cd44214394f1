//! A cold start's insides: which cylinders light, how many lag, how the engine catches.
//!
//! ```text
//! T2     = (T + 273.15) * ratio^exponent
//! margin = T2(T) - T2(half unheated) + glow - seal - spray - steps * step
//! P(at once) = (1 - stray) * logistic(margin / width)
//! P(not)     = logistic(-(margin + late band) / width)
//! ```
//! Must not hold signs.

use std::collections::BTreeMap;

use super::builder::{BuildError, Builder};
use super::shape::Condition;
use crate::network::fold::{Contribution, Fold, Step};
use crate::network::variable::{Role, VarId};

/// Share of lagging heat above which most cylinders count as not lighting; own judgement.
const MOST: f64 = 0.55;
const KELVIN: f64 = 273.15;

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn words(list: &[&str]) -> Vec<String> {
    list.iter().map(|w| (*w).to_owned()).collect()
}

/// The count over cylinders: half-steps of lag (late 1, not 2) and how many lag, up to two.
pub(super) struct Count {
    states: Vec<(usize, usize)>,
}

impl Count {
    pub(super) fn new(cylinders: u8) -> Self {
        let most = 2 * usize::from(cylinders);
        let mut states = vec![(0, 0), (1, 1), (2, 1)];
        if cylinders > 1 {
            states.extend((2..=most).map(|s| (s, 2)));
        }
        Self { states }
    }

    fn names(&self) -> Vec<String> {
        self.states
            .iter()
            .map(|(s, k)| format!("{s}h{k}"))
            .collect()
    }

    /// State after one more cylinder that lags by `z` half-steps.
    fn step(&self) -> Step {
        let next = self
            .states
            .iter()
            .flat_map(|(s, k)| (0..3).map(move |z| (s + z, (k + usize::from(z > 0)).min(2))))
            .map(|to| {
                // Sums beyond the number of cylinders cannot happen; they keep the last state.
                let at = self.states.iter().position(|s| *s == to);
                u16::try_from(at.unwrap_or(self.states.len() - 1)).expect("few states")
            })
            .collect();
        Step::Table { width: 3, next }
    }
}

impl Builder<'_> {
    /// The condition's index; adds its variables when no earlier condition is the same.
    ///
    /// # Errors
    /// When the knowledge has no figures for the chamber.
    pub fn condition(&mut self, condition: Condition) -> Result<usize, BuildError> {
        let slice = self.slice;
        let same = |c: &Condition| {
            (c.temperature - condition.temperature).abs() < f64::EPSILON
                && c.primed == condition.primed
        };
        let known = self.conditions.iter().position(|(c, names)| {
            same(c) && names.get("slice") == Some(&VarId(u32::try_from(slice).expect("few slices")))
        });
        if let Some(at) = known {
            return Ok(at);
        }
        let at = self.conditions.len();
        let mut names = BTreeMap::new();
        names.insert(
            "slice".to_owned(),
            VarId(u32::try_from(slice).expect("few slices")),
        );
        let count = Count::new(self.shape.cylinders);
        let mut from = Vec::new();
        for c in self.cylinders() {
            let lights = self.lights(c, at, condition.temperature)?;
            names.insert(format!("lights:{c}"), lights);
            let rows = vec![1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0];
            from.push(Contribution {
                parent: lights,
                rows,
            });
        }
        let mut init = vec![0.0; count.states.len()];
        init[0] = 1.0;
        let local = Fold {
            drivers: Vec::new(),
            init,
            step: count.step(),
            from,
        };
        let counted = self.add(&format!("count@{at}"), &count.names(), Role::Start, local)?;
        names.insert("count".to_owned(), counted);
        let catch = self.catch(at, counted, &count, condition.temperature)?;
        names.insert("catch".to_owned(), catch);
        let laggards = self.laggards(at, counted, &count)?;
        names.insert("laggards".to_owned(), laggards);
        self.conditions.push((condition, names));
        let crank_time = self.crank_time(at)?;
        self.conditions[at]
            .1
            .insert("crank_time".to_owned(), crank_time);
        Ok(at)
    }

    /// A variable of a condition: `lights:2`, `catch`, `laggards`, `crank_time`.
    ///
    /// # Errors
    /// When there is none of that name.
    pub fn of_condition(&self, condition: usize, name: &str) -> Result<VarId, BuildError> {
        self.conditions[condition]
            .1
            .get(name)
            .copied()
            .ok_or_else(|| BuildError::NoVariable(name.to_owned()))
    }

    fn lights(&mut self, cylinder: u8, at: usize, temperature: f64) -> Result<VarId, BuildError> {
        let heat = &self.knowledge.starts.heat;
        let chamber = heat
            .chamber
            .get(&self.shape.chamber)
            .ok_or_else(|| BuildError::NoChamber(self.shape.chamber.clone()))?;
        let end = |t: f64| (t + KELVIN) * chamber.ratio.powf(heat.exponent_less_one);
        let bare = end(temperature) - end(chamber.half_unheated);
        let glow = self.now.get(&format!("glow:{cylinder}")).copied();
        let aid = heat.aid.get(&self.shape.preheat).copied().unwrap_or(0.0);
        let wins = if glow.is_some() {
            vec![chamber.glow_full, chamber.glow_some, 0.0]
        } else {
            vec![aid]
        };
        let seal = self.variable(&format!("seal:{cylinder}"))?;
        let spray = self.variable(&format!("spray:{cylinder}"))?;
        let start_heat = self.variable("start_heat")?;
        let steps = self.network.size(start_heat);
        let mut init = Vec::new();
        for win in wins {
            for seal in [0.0, heat.seal[0], heat.seal[1]] {
                for spray in 0..3 {
                    for lost in 0..steps {
                        #[expect(clippy::cast_precision_loss, reason = "a handful of steps")]
                        let lost = lost as f64 * heat.step;
                        let poor = if spray == 1 { heat.spray } else { 0.0 };
                        let margin = bare + win - seal - poor - lost;
                        let at_once = (1.0 - heat.stray) * logistic(margin / heat.width);
                        let not = logistic(-(margin + heat.late_band) / heat.width);
                        if spray == 2 {
                            let late = at_once * heat.no_spray_late;
                            init.extend([0.0, late, 1.0 - late]);
                        } else {
                            init.extend([at_once, 1.0 - at_once - not, not]);
                        }
                    }
                }
            }
        }
        let drivers = glow.into_iter().chain([seal, spray, start_heat]).collect();
        let local = Fold::table(drivers, init);
        let name = format!("lights:{cylinder}@{at}");
        self.add(
            &name,
            &words(&["at_once", "late", "not"]),
            Role::Start,
            local,
        )
    }

    fn catch(
        &mut self,
        at: usize,
        counted: VarId,
        count: &Count,
        temperature: f64,
    ) -> Result<VarId, BuildError> {
        let figures = &self.knowledge.starts.catch;
        let reference = figures
            .reference
            .get(&self.shape.chamber)
            .ok_or_else(|| BuildError::NoChamber(self.shape.chamber.clone()))?;
        let d = (reference - temperature) / 10.0;
        let mut init = Vec::new();
        for (s, _) in &count.states {
            #[expect(clippy::cast_precision_loss, reason = "a handful of half-steps")]
            let u = *s as f64 / (2.0 * f64::from(self.shape.cylinders));
            let worse = figures
                .base
                .iter()
                .map(|base| {
                    logistic(
                        base + figures.cold * d
                            + (figures.unlit + figures.unlit_cold * d).max(0.0) * u,
                    )
                })
                .collect::<Vec<_>>();
            let mut above = 1.0;
            for chance in worse {
                init.push(above - chance);
                above = chance;
            }
            init.push(above);
        }
        let states = words(&["at_once", "quick", "long", "very_long", "no_start"]);
        self.add(
            &format!("catch@{at}"),
            &states,
            Role::Start,
            Fold::table(vec![counted], init),
        )
    }

    fn laggards(&mut self, at: usize, counted: VarId, count: &Count) -> Result<VarId, BuildError> {
        let mut init = Vec::new();
        for (s, k) in &count.states {
            #[expect(clippy::cast_precision_loss, reason = "a handful of half-steps")]
            let u = *s as f64 / (2.0 * f64::from(self.shape.cylinders));
            let state = match k {
                0 => 0,
                1 => 1,
                _ if u < MOST => 2,
                _ => 3,
            };
            init.extend((0..4).map(|i| f64::from(i == state)));
        }
        let states = words(&["none", "one", "several", "most"]);
        self.add(
            &format!("laggards@{at}"),
            &states,
            Role::Start,
            Fold::table(vec![counted], init),
        )
    }
}
