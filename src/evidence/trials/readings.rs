//! What was timed on the bench, checked as a whole, and brought to one supply voltage. Must not
//! judge.

use serde::Serialize;
use thiserror::Error;

use crate::units::physics::preheat_power_ratio;
use crate::units::{Cmp, Dimension, Parsed};

use super::reference::median;

/// Most cylinders an engine of this kind has.
pub(super) const MOST_CYLINDERS: u8 = 12;
/// Shorter rests leave heat in the plug: common practice, no source (a repeat within 60 s reads
/// 10–20 % short, after 120 s less than 5 %).
pub(super) const ENOUGH_REST: f64 = 120.0;

/// What the watch showed, in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Observed {
    /// This time.
    Exact(f64),
    /// About this time.
    About(f64),
    /// No glow within this time (`> 60 s`, `no glow` with the time watched).
    Above(f64),
    /// Glowed before this time.
    Below(f64),
}

impl Observed {
    /// The time on the watch, in seconds, whatever it bounds.
    pub fn seconds(self) -> f64 {
        match self {
            Observed::Exact(t) | Observed::About(t) | Observed::Above(t) | Observed::Below(t) => t,
        }
    }

    /// The same observation with its time multiplied by `factor`.
    pub(super) fn scaled(self, factor: f64) -> Observed {
        match self {
            Observed::Exact(t) => Observed::Exact(t * factor),
            Observed::About(t) => Observed::About(t * factor),
            Observed::Above(t) => Observed::Above(t * factor),
            Observed::Below(t) => Observed::Below(t * factor),
        }
    }

    /// From a parsed time; `None` if it measures something else.
    pub fn from_parsed(parsed: &Parsed) -> Option<Observed> {
        if parsed.quantity.dimension != Dimension::Time {
            return None;
        }
        let t = parsed.quantity.value;
        Some(match parsed.cmp {
            Cmp::Equal => Observed::Exact(t),
            Cmp::About => Observed::About(t),
            Cmp::Above => Observed::Above(t),
            Cmp::Below => Observed::Below(t),
        })
    }
}

/// One timed trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// Trial on this cylinder, from 1, in the order taken.
    pub trial: u32,
    /// What the watch showed.
    pub observed: Observed,
    /// Volts at the plug during the trial.
    pub supply_volts: Option<f64>,
    /// Seconds since this plug was last heated; `None` for the first trial or if not noted.
    pub rest: Option<f64>,
    /// Position of the trial among all trials on the bench, if noted.
    pub order: Option<u32>,
    /// A person set it aside, with a reason kept elsewhere.
    pub set_aside: bool,
}

impl Timing {
    /// A plain trial of `seconds`, nothing else noted.
    pub fn new(cylinder: u8, trial: u32, seconds: f64) -> Timing {
        Timing {
            cylinder,
            trial,
            observed: Observed::Exact(seconds),
            supply_volts: None,
            rest: None,
            order: None,
            set_aside: false,
        }
    }
}

/// The rig the plugs were timed on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bench {
    /// Volts to which times are brought (12 on a 12 V system).
    pub reference_volts: f64,
}

impl Default for Bench {
    fn default() -> Self {
        Bench {
            reference_volts: 12.0,
        }
    }
}

/// How the supply was allowed for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum SupplyNote {
    /// Every trial has its volts; times are brought to the reference volts.
    Corrected,
    /// Some trials lack volts; the median of the others was taken for them.
    PartlyAssumed {
        /// Volts taken for the trials without.
        volts: f64,
        /// How many trials lack volts.
        missing: usize,
    },
    /// No trial has volts: a battery that sagged looks like slow plugs.
    Missing,
}

/// Something about one trial worth saying.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum TimingNote {
    /// The plug rested less than 120 s, so it was still warm and the time may read short.
    ShortRest {
        /// Cylinder.
        cylinder: u8,
        /// Trial on it.
        trial: u32,
        /// Seconds rested.
        rest: f64,
    },
}

/// Timings that cannot be used as given.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum TrialsError {
    /// Cylinders run from 1 to 12.
    #[error("cylinder {cylinder}: cylinders are numbered 1 to 12")]
    Cylinder {
        /// As given.
        cylinder: u8,
    },
    /// A time, rest or voltage that cannot be.
    #[error("cylinder {cylinder}, trial {trial}: {what} must be above zero, not {value}")]
    NotPositive {
        /// Cylinder.
        cylinder: u8,
        /// Trial on it.
        trial: u32,
        /// `time`, `supply volts` or `rest`.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// Two timings with the same cylinder and trial.
    #[error("cylinder {cylinder}, trial {trial} is given twice; number repeats 1, 2, 3 …")]
    Twice {
        /// Cylinder.
        cylinder: u8,
        /// Trial on it.
        trial: u32,
    },
    /// The reference voltage, a nominal or a figure of the model cannot be used.
    #[error("{what} cannot be {value}")]
    Figure {
        /// Which one.
        what: &'static str,
        /// As given.
        value: f64,
    },
}

/// A trial ready for judging: log of the corrected time and the rest of its facts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ready {
    pub timing: Timing,
    /// Observation brought to the reference volts.
    pub corrected: Observed,
}

/// Timings sorted by cylinder and trial and brought to one voltage, with what to say about it.
#[derive(Debug, Clone)]
pub(super) struct Prepared {
    pub trials: Vec<Ready>,
    pub supply: SupplyNote,
    pub notes: Vec<TimingNote>,
}

/// Checks all timings and brings them to the reference volts: heat goes with V², so a time taken
/// at `V` is multiplied by `(V / V₀)²`.
pub(super) fn prepare(timings: &[Timing], bench: &Bench) -> Result<Prepared, Vec<TrialsError>> {
    let mut problems = Vec::new();
    if !(bench.reference_volts > 0.0 && bench.reference_volts.is_finite()) {
        problems.push(TrialsError::Figure {
            what: "the reference voltage",
            value: bench.reference_volts,
        });
    }
    let mut sorted = timings.to_vec();
    sorted.sort_by_key(|t| (t.cylinder, t.trial));
    for (i, t) in sorted.iter().enumerate() {
        if t.cylinder == 0 || t.cylinder > MOST_CYLINDERS {
            problems.push(TrialsError::Cylinder {
                cylinder: t.cylinder,
            });
        }
        for (what, value) in [
            ("time", Some(t.observed.seconds())),
            ("supply volts", t.supply_volts),
        ] {
            if let Some(value) = value.filter(|v| !(*v > 0.0 && v.is_finite())) {
                problems.push(TrialsError::NotPositive {
                    cylinder: t.cylinder,
                    trial: t.trial,
                    what,
                    value,
                });
            }
        }
        let before = i.checked_sub(1).map(|k| &sorted[k]);
        if before.is_some_and(|b| (b.cylinder, b.trial) == (t.cylinder, t.trial)) {
            problems.push(TrialsError::Twice {
                cylinder: t.cylinder,
                trial: t.trial,
            });
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let given: Vec<f64> = sorted.iter().filter_map(|t| t.supply_volts).collect();
    let missing = sorted.len() - given.len();
    let assumed = median(&given);
    let supply = match assumed {
        None => SupplyNote::Missing,
        Some(_) if missing == 0 => SupplyNote::Corrected,
        Some(volts) => SupplyNote::PartlyAssumed { volts, missing },
    };
    let ready = |t: &Timing| {
        let volts = t.supply_volts.or(assumed);
        let factor = volts.map_or(1.0, |v| preheat_power_ratio(v, bench.reference_volts));
        Ready {
            timing: *t,
            corrected: t.observed.scaled(factor),
        }
    };
    let short = |t: &Timing| {
        t.rest
            .filter(|r| *r < ENOUGH_REST)
            .map(|rest| TimingNote::ShortRest {
                cylinder: t.cylinder,
                trial: t.trial,
                rest,
            })
    };
    Ok(Prepared {
        trials: sorted.iter().map(ready).collect(),
        supply,
        notes: sorted.iter().filter_map(short).collect(),
    })
}
