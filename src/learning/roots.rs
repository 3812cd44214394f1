//! Starting chances fitted so that, given the complaint, each fault has its share.
//!
//! Iterative proportional fitting: a lane with the code's states ruled out gives
//! `P(code | complaint) = 1 - P(complaint, not code) / P(complaint)`; the odds of the code's
//! faults are moved by the ratio of wanted to had, until nothing moves. Must not move anything
//! but roots.

use std::collections::BTreeMap;

use super::shares::{Target, targets};
use crate::knowledge::{ContextCell, ContextOffset, Knowledge, RootLayer};
use crate::network::build::{
    BuildError, Builder, Condition, Model, RootChances, Shape, root_chances,
};
use crate::network::clamp::Clamped;
use crate::network::{CompileError, KernelError, Seen, Shelf, Slot};

/// Passes of the fitting at most.
const PASSES: usize = 200;
/// Fitting stops when no share is off by more than this fraction of itself.
const ENOUGH: f64 = 1e-4;
/// Least share per hundred that is fitted: below it a fault is given this much, for it could
/// still be there.
const LEAST_SHARE: f64 = 0.002;
/// Greatest starting chance a fault may be given. Own judgement: no fault is there in every
/// second engine.
const GREATEST: f64 = 0.45;

/// Why roots cannot be fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RootFitError {
    /// The network cannot be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The network is too wide.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// The kernel refused.
    #[error(transparent)]
    Kernel(#[from] KernelError),
}

/// The fit of one context.
#[derive(Debug, Clone, PartialEq)]
pub struct CellFit {
    /// Starting chances by `part.fault`.
    pub chance: BTreeMap<String, f64>,
    /// Shares reached, per hundred, brought to a hundred, by code.
    pub reached: BTreeMap<String, f64>,
    /// Shares wanted.
    pub wanted: Target,
    /// Chance of two or more different faults given the complaint.
    pub two_or_more: f64,
    /// Chance of no fault given the complaint.
    pub none: f64,
    /// Chance of the complaint when everything is sound.
    pub complaint_sound: f64,
    /// Chance of the complaint given each code alone, everything else sound.
    pub complaint_alone: BTreeMap<String, f64>,
}

/// Fits one context of one engine.
///
/// # Errors
/// When the network cannot be built or solved.
pub fn fit_cell(
    knowledge: &Knowledge,
    shape: &Shape,
    temperature: f64,
    wanted: Target,
    start: Option<&BTreeMap<String, f64>>,
) -> Result<CellFit, RootFitError> {
    let mut chance = start
        .cloned()
        .unwrap_or_else(|| first_guess(knowledge, shape, &wanted));
    let level = knowledge.engines.faults_per_complaint;
    let mut cell = Cell::new(knowledge, shape, temperature, &chance)?;
    for _ in 0..PASSES {
        let had = cell.shares(&chance)?;
        let total: f64 = wanted.share.values().sum();
        let mut worst = 0.0_f64;
        for (code, share) in &wanted.share {
            let want = (share.max(LEAST_SHARE) / total * level).min(0.95);
            let have = had.get(code).copied().unwrap_or(0.0).max(1e-9);
            let ratio = odds(want) / odds(have.min(0.999_999));
            worst = worst.max((want / have - 1.0).abs());
            for fault in faults_of(knowledge, shape, code) {
                if let Some(c) = chance.get_mut(&fault) {
                    let moved = odds(*c) * ratio.clamp(0.2, 5.0);
                    *c = (moved / (1.0 + moved)).min(GREATEST);
                }
            }
        }
        if worst < ENOUGH {
            break;
        }
    }
    cell.summary(chance, wanted)
}

/// What the starting chances of the root layer give in one context: the fit, without moving
/// anything.
///
/// # Errors
/// When the network cannot be built or solved.
pub fn summarise_cell(
    knowledge: &Knowledge,
    shape: &Shape,
    temperature: f64,
    wanted: Target,
    contexts: &[String],
) -> Result<CellFit, RootFitError> {
    let chance = root_chances(knowledge, shape, temperature, contexts).0;
    Cell::new(knowledge, shape, temperature, &chance)?.summary(chance, wanted)
}

/// Fits the whole root layer: every band of every engine kind, and each other context in the
/// ordinary one.
///
/// # Errors
/// When a network cannot be built or solved.
pub fn fit_roots(knowledge: &Knowledge) -> Result<RootLayer, RootFitError> {
    let mut layer = RootLayer::default();
    for chamber in ["swirl", "prechamber", "direct"] {
        for preheat in ["plugs", "plugs_series", "intake_grid", "flame", "none"] {
            let shape = ordinary(chamber, preheat);
            let mut start: Option<BTreeMap<String, f64>> = None;
            for band in &knowledge.engines.band {
                let wanted = targets(knowledge, &shape, &band.id, None);
                let fit = fit_cell(knowledge, &shape, band.middle, wanted, start.as_ref())?;
                start = Some(fit.chance.clone());
                layer.cell.push(ContextCell {
                    band: band.id.clone(),
                    chamber: chamber.to_owned(),
                    preheat: preheat.to_owned(),
                    chance: rounded(&fit.chance),
                });
            }
        }
    }
    let shape = ordinary("swirl", "plugs");
    let base = layer
        .cell
        .iter()
        .find(|c| c.band == "chill" && c.chamber == "swirl" && c.preheat == "plugs")
        .map(|c| c.chance.clone())
        .unwrap_or_default();
    for context in [
        "worn",
        "young",
        "recent_fuel_work",
        "recent_pump_work",
        "laid_up",
        "plugs_renewed",
    ] {
        let wanted = targets(knowledge, &shape, "chill", Some(context));
        let fit = fit_cell(knowledge, &shape, 0.0, wanted, Some(&base))?;
        let offset = fit
            .chance
            .iter()
            .map(|(fault, c)| (fault.clone(), (odds(*c) / odds(base[fault])).ln()))
            .filter(|(_, o)| o.abs() > 0.001)
            .map(|(f, o)| (f, (o * 1e4).round() / 1e4))
            .collect();
        layer.other.push(ContextOffset {
            context: crate::knowledge::Spanned::new(0..0, context.to_owned()),
            offset,
        });
    }
    Ok(layer)
}

/// The engine the fit is made on: four cylinders, everything else not known.
#[must_use]
pub fn ordinary(chamber: &str, preheat: &str) -> Shape {
    let series = preheat == "plugs_series";
    Shape {
        cylinders: 4,
        chamber: chamber.to_owned(),
        preheat: if series { "plugs" } else { preheat }.to_owned(),
        wiring: if series { "series" } else { "unknown" }.to_owned(),
        pump: "unknown".to_owned(),
    }
}

fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

fn rounded(chance: &BTreeMap<String, f64>) -> BTreeMap<String, f64> {
    // Six significant digits: more would only store the noise of the last pass.
    chance
        .iter()
        .map(|(fault, c)| (fault.clone(), format!("{c:.5e}").parse().unwrap_or(*c)))
        .collect()
}

/// Faults of a code on this engine, as `part.fault`. A set that is merely aged moves with the
/// code its members show most.
fn faults_of(knowledge: &Knowledge, shape: &Shape, code: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for part in knowledge.parts.iter().filter(|p| shape.has(&p.needs)) {
        for fault in &part.fault {
            let with_set = fault.moves_with.as_deref() == Some(code);
            if fault.code.get_ref() == code || with_set {
                faults.push(format!("{}.{}", part.id.get_ref(), fault.id.get_ref()));
            }
        }
    }
    faults
}

fn first_guess(knowledge: &Knowledge, shape: &Shape, wanted: &Target) -> BTreeMap<String, f64> {
    let mut chance = BTreeMap::new();
    for part in knowledge.parts.iter().filter(|p| shape.has(&p.needs)) {
        for fault in &part.fault {
            let share = wanted
                .share
                .get(fault.code.get_ref())
                .copied()
                .unwrap_or(1.0)
                .max(LEAST_SHARE);
            let copies = match part.scope {
                crate::knowledge::Scope::Engine => 1.0,
                crate::knowledge::Scope::Cylinder => f64::from(shape.cylinders),
            };
            let of_code = fault.part_of_code.unwrap_or(1.0);
            let guess = fault.starts_at.unwrap_or(share / 150.0 * of_code / copies);
            chance.insert(
                format!("{}.{}", part.id.get_ref(), fault.id.get_ref()),
                guess,
            );
        }
    }
    chance
}

/// One context's network, refilled with new chances each pass.
struct Cell<'a> {
    knowledge: &'a Knowledge,
    shape: &'a Shape,
    temperature: f64,
    clamped: Clamped,
    codes: Vec<String>,
}

impl<'a> Cell<'a> {
    fn new(
        knowledge: &'a Knowledge,
        shape: &'a Shape,
        temperature: f64,
        chance: &BTreeMap<String, f64>,
    ) -> Result<Self, RootFitError> {
        let model = build(knowledge, shape, temperature, chance)?;
        let evidence = [Slot {
            scope: model.complaint.into_iter().collect(),
            seen: Seen::Hard(1),
        }];
        let clamped = Clamped::compile(&Shelf::none(), &model, &evidence, Vec::new(), 20)?;
        let mut codes = model
            .faults
            .iter()
            .map(|f| f.code.clone())
            .filter(|c| c != "-")
            .collect::<Vec<_>>();
        codes.sort();
        codes.dedup();
        Ok(Self {
            knowledge,
            shape,
            temperature,
            clamped,
            codes,
        })
    }

    /// P(code | complaint) by code.
    fn shares(
        &mut self,
        chance: &BTreeMap<String, f64>,
    ) -> Result<BTreeMap<String, f64>, RootFitError> {
        let model = build(self.knowledge, self.shape, self.temperature, chance)?;
        let bound = self.clamped.bind(&model.network)?;
        let mut lanes = vec![self.clamped.lane(&[], |_, _| true)];
        for code in &self.codes {
            lanes.push(self.clamped.lane(&[], |var, state| {
                !model
                    .faults
                    .iter()
                    .any(|f| f.variable == var && f.state == state && f.code == *code)
            }));
        }
        let weights = self.clamped.log_weights(&bound, &lanes)?;
        Ok(self
            .codes
            .iter()
            .zip(&weights[1..])
            .map(|(code, w)| (code.clone(), 1.0 - (w - weights[0]).exp()))
            .collect())
    }

    fn summary(
        &mut self,
        chance: BTreeMap<String, f64>,
        wanted: Target,
    ) -> Result<CellFit, RootFitError> {
        let had = self.shares(&chance)?;
        let model = build(self.knowledge, self.shape, self.temperature, &chance)?;
        let bound = self.clamped.bind(&model.network)?;
        let only = |code: &str| {
            self.clamped.lane(&[], |var, state| {
                let here = model
                    .faults
                    .iter()
                    .find(|f| f.variable == var && f.state == state);
                here.is_none_or(|f| f.wear_only || f.code == code)
            })
        };
        let mut lanes = vec![self.clamped.lane(&[], |_, _| true), only("")];
        lanes.extend(self.codes.iter().map(|c| only(c)));
        let weights = self.clamped.log_weights(&bound, &lanes)?;
        let none = (weights[1] - weights[0]).exp();
        let one: f64 = weights[2..]
            .iter()
            .map(|w| (w - weights[0]).exp() - none)
            .sum();
        // The same lanes without the complaint, for chances of the complaint given a state.
        let open = Clamped::compile(&Shelf::none(), &model, &[], Vec::new(), 5)?;
        let open_bound = open.bind(&model.network)?;
        let before = open.log_weights(&open_bound, &lanes)?;
        let complaint_sound = (weights[1] - before[1]).exp();
        let complaint_alone = self
            .codes
            .iter()
            .zip(weights[2..].iter().zip(&before[2..]))
            .map(|(code, (with, base))| {
                let with = with.exp() - weights[1].exp();
                let base = base.exp() - before[1].exp();
                (code.clone(), with / base)
            })
            .collect();
        let known = |code: &str| wanted.share.contains_key(code);
        let total: f64 = had.iter().filter(|(c, _)| known(c)).map(|(_, s)| s).sum();
        let reached = had
            .iter()
            .filter(|(c, _)| known(c))
            .map(|(c, s)| (c.clone(), s * 100.0 / total))
            .collect();
        Ok(CellFit {
            chance,
            reached,
            wanted,
            two_or_more: 1.0 - none - one,
            none,
            complaint_sound,
            complaint_alone,
        })
    }
}

/// The network of one context: one condition and the complaint.
pub(super) fn build(
    knowledge: &Knowledge,
    shape: &Shape,
    temperature: f64,
    chance: &BTreeMap<String, f64>,
) -> Result<Model, RootFitError> {
    let mut builder = Builder::new(knowledge, shape.clone(), RootChances(chance.clone()))?;
    builder.condition(Condition {
        temperature,
        primed: false,
    })?;
    builder.complaint()?;
    Ok(builder.finish())
}
