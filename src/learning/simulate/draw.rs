//! One job, from the shop that takes it in to its last entry.
//!
//! Must not write it.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::checks::Bench;
use super::ending::Ending;
use super::looks;
use super::luck::Luck;
use super::settings::{SimulationError, SimulationSettings};
use super::shop::{Shop, shops};
use super::world::Kind;
use crate::job::{
    Bench as JobBench, Chamber, Engine, Entry, EntryBody, Extra, Job, Kept, PreheatKind, PumpKind,
    SHOP, Wiring,
};
use crate::knowledge::Knowledge;
use crate::network::build::Shape;
use crate::units::Dimension;

/// Spread of one shop's mornings, degC; own judgement.
const MORNINGS: f64 = 6.0;
/// Coldest and warmest cold start that is drawn, degC.
const TEMPERATURES: (f64, f64) = (-25.0, 18.0);
/// Contexts and how common they are; own judgement.
const CONTEXTS: [(&str, f64); 7] = [
    ("", 0.58),
    ("worn", 0.14),
    ("young", 0.04),
    ("recent_fuel_work", 0.06),
    ("recent_pump_work", 0.03),
    ("laid_up", 0.08),
    ("plugs_renewed", 0.07),
];
/// Wirings of plugs and how common they are; own judgement.
const WIRINGS: [(Wiring, f64); 4] = [
    (Wiring::Strip, 0.7),
    (Wiring::SingleWires, 0.1),
    (Wiring::Series, 0.05),
    (Wiring::Unknown, 0.15),
];
/// Kinds of engine kept ready; each is some hundred kilobytes.
const KEPT: usize = 128;
/// Key under which a simulated job carries what is truly wrong.
pub const TRUTH: &str = "simulated";

type KindKey = (Shape, i64, Vec<String>, usize);

/// One drawn job with what is truly wrong with its engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The job, its truth and shop among the unknown keys.
    pub job: Job,
    /// Faults that are there, `part.fault` or `part.fault:cylinder`.
    pub truth: Vec<String>,
}

/// Draws jobs.
#[derive(Debug)]
pub struct Simulator<'k> {
    knowledge: &'k Knowledge,
    settings: SimulationSettings,
    shops: Vec<Shop>,
    kinds: Mutex<BTreeMap<KindKey, Arc<Kind>>>,
}

impl<'k> Simulator<'k> {
    /// A simulator over figures.
    #[must_use]
    pub fn new(knowledge: &'k Knowledge, settings: SimulationSettings) -> Self {
        Self {
            knowledge,
            shops: shops(knowledge, &settings),
            settings,
            kinds: Mutex::new(BTreeMap::new()),
        }
    }

    /// The shops.
    #[must_use]
    pub fn shops(&self) -> &[Shop] {
        &self.shops
    }

    /// Job number `n`, the same whatever else was drawn.
    ///
    /// # Errors
    /// When its network cannot be built, or such an engine never complains.
    pub fn job(&self, n: u64) -> Result<Drawn, SimulationError> {
        let mut luck = Luck::new(self.settings.seed, n);
        let at = luck.one_of(self.shops.len());
        let shop = &self.shops[at];
        let (engine, shape) = self.engine(&mut luck);
        let weights = CONTEXTS.map(|(_, w)| w);
        let context = CONTEXTS[luck.position(&weights)].0;
        let routine = self.settings.routine.as_ref();
        let context = if routine.is_some() { "" } else { context };
        let contexts = if context.is_empty() {
            Vec::new()
        } else {
            vec![context.to_owned()]
        };
        let temperature = luck
            .normal(shop.winter, MORNINGS)
            .round()
            .clamp(TEMPERATURES.0, TEMPERATURES.1);
        let temperature = match routine {
            Some(r) if !r.temperatures.is_empty() => {
                r.temperatures[luck.one_of(r.temperatures.len())]
            }
            _ => temperature,
        };
        let kind = self.kind(&shape, temperature, &contexts, at)?;
        let world = kind.complaining(&mut luck)?;
        let mut job = Job::new(&format!("{}-{n:06}", shop.name), "hard to start when cold");
        job.engine = aged(engine, context);
        job.bench = JobBench {
            tools: Some(shop.tools.clone()),
            ..JobBench::default()
        };
        let mut told = looks::facts(&contexts);
        told.extend(looks::told(
            self.knowledge,
            &world,
            &self.settings,
            &mut luck,
        ));
        if !told.is_empty() {
            job.entries.push(Entry::new(EntryBody::Told(told)));
        }
        let start = looks::start(
            self.knowledge,
            &world,
            shop,
            &self.settings,
            temperature,
            &mut luck,
        );
        job.entries.push(start);
        let bench = Bench {
            knowledge: self.knowledge,
            shop,
            settings: &self.settings,
            shape: &shape,
            temperature,
            system_volts: job.engine.system_volts.unwrap_or(12.0),
        };
        job.entries.extend(bench.readings(&world, &mut luck));
        let ending = Ending {
            knowledge: self.knowledge,
            shop,
            settings: &self.settings,
            temperature,
        };
        job.entries.extend(ending.entries(&world, &mut luck));
        job.entries[0].at = Some(morning(&mut luck));
        let truth = world.faults();
        let list = truth.iter().cloned().map(Kept::Text).collect();
        let kept = Extra::from([("true".to_owned(), Kept::List(list))]);
        job.extra.insert(TRUTH.to_owned(), Kept::Table(kept));
        job.extra
            .insert(SHOP.to_owned(), Kept::Text(shop.name.clone()));
        Ok(Drawn { job, truth })
    }

    fn engine(&self, luck: &mut Luck) -> (Engine, Shape) {
        let wanted = &self.settings.kinds;
        let kinds = &self.knowledge.engines.kind;
        let allowed = |c: &str, p: &str| {
            wanted.is_empty() || wanted.iter().any(|(wc, wp)| wc == c && wp == p)
        };
        let weights = kinds
            .iter()
            .map(|k| {
                if allowed(&k.chamber, &k.preheat) {
                    k.share
                } else {
                    0.0
                }
            })
            .collect::<Vec<_>>();
        let kind = &kinds[luck.position(&weights)];
        let weights = self
            .settings
            .cylinders
            .iter()
            .map(|c| c.1)
            .collect::<Vec<_>>();
        let cylinders = self.settings.cylinders[luck.position(&weights)].0;
        let wiring = WIRINGS[luck.position(&WIRINGS.map(|(_, w)| w))].0;
        let wiring = if kind.preheat == "plugs" {
            wiring
        } else {
            Wiring::Unknown
        };
        let pump = [PumpKind::Rotary, PumpKind::Inline, PumpKind::Unknown][luck.one_of(3)];
        let (wiring, pump) = match self.settings.routine {
            Some(_) => (Wiring::Unknown, PumpKind::Rotary),
            None => (wiring, pump),
        };
        let shape = Shape {
            cylinders,
            chamber: kind.chamber.clone(),
            preheat: kind.preheat.clone(),
            wiring: wiring.id().to_owned(),
            pump: pump.id().to_owned(),
        };
        let engine = Engine {
            cylinders: Some(cylinders),
            chamber: Chamber::from_id(&kind.chamber).unwrap_or(Chamber::Unknown),
            preheat: PreheatKind::from_id(&kind.preheat).unwrap_or(PreheatKind::Unknown),
            preheat_wiring: wiring,
            pump,
            system_volts: Some(12.0),
            ..Engine::default()
        };
        (engine, shape)
    }

    fn kind(
        &self,
        shape: &Shape,
        temperature: f64,
        contexts: &[String],
        shop: usize,
    ) -> Result<Arc<Kind>, SimulationError> {
        let offset = &self.shops[shop].offset;
        let alike = self.settings.shops_differ == 0.0;
        #[expect(clippy::cast_possible_truncation, reason = "whole degrees")]
        let degrees = temperature as i64;
        let key = (
            shape.clone(),
            degrees,
            contexts.to_vec(),
            if alike { 0 } else { shop },
        );
        let lock = || self.kinds.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kind) = lock().get(&key) {
            return Ok(Arc::clone(kind));
        }
        let system = |fault: &str| {
            let part = fault.split('.').next().unwrap_or(fault);
            let part = self.knowledge.parts.iter().find(|p| p.id.get_ref() == part);
            part.map_or("", |p| p.system.as_str())
        };
        let shift = |fault: &str, chance: f64| {
            let by = offset.get(system(fault)).copied().unwrap_or(0.0);
            let odds = chance / (1.0 - chance) * by.exp();
            odds / (1.0 + odds)
        };
        let kind = Kind::new(self.knowledge, shape, temperature, contexts, &shift)?;
        let kind = Arc::new(kind);
        let mut kinds = lock();
        if kinds.len() >= KEPT {
            // Which one is dropped changes no job, only the time to build it again.
            kinds.pop_first();
        }
        kinds.insert(key, Arc::clone(&kind));
        Ok(kind)
    }
}

/// The engine with the distance that its age says.
fn aged(mut engine: Engine, context: &str) -> Engine {
    let km = match context {
        "worn" => "420000 km",
        "young" => "80000 km",
        _ => return engine,
    };
    engine.distance = looks::typed(km, Dimension::Length).map(|p| p.quantity);
    engine
}

/// A morning of one of four winters.
fn morning(luck: &mut Luck) -> String {
    const MONTHS: [(&str, usize); 5] = [("11", 0), ("12", 0), ("01", 1), ("02", 1), ("03", 1)];
    let winter = 2021 + luck.one_of(4);
    let (month, later) = MONTHS[luck.one_of(MONTHS.len())];
    let day = 1 + luck.one_of(28);
    format!("{}-{month}-{day:02}T07:30:00+01:00", winter + later)
}
