//! Figures of engines and of starts: heat, catching, the complaint, shares of engine kinds,
//! and the fitted chances of the roots by context.
//!
//! Must not compute with them.

use std::collections::BTreeMap;

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

/// A band of engine temperature at the complaint, degC, `from` included, `to` excluded.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TemperatureBand {
    /// Identifier.
    pub id: String,
    /// Lower edge, degC.
    pub from: f64,
    /// Upper edge, degC.
    pub to: f64,
    /// Temperature that stands for the band, degC.
    pub middle: f64,
}

/// How common an engine kind is among old diesels that come with this complaint, for engines
/// whose chamber or preheat is not known.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct KindShare {
    /// Combustion chamber.
    pub chamber: String,
    /// Kind of preheat.
    pub preheat: String,
    /// Share; need not add to one.
    pub share: f64,
}

/// Figures of engines.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct EngineFigures {
    /// Temperature bands, in order.
    pub band: Vec<TemperatureBand>,
    /// Shares of engine kinds.
    pub kind: Vec<KindShare>,
    /// Cylinders reckoned with when the number is not known.
    pub cylinders_if_unknown: u8,
    /// Temperature reckoned with when none is known, degC.
    pub temperature_if_unknown: f64,
    /// Faults there are on average behind one complaint; from the chance of two or more.
    pub faults_per_complaint: f64,
    /// Multipliers of the shares: row = context = factor.
    pub multipliers: BTreeMap<String, BTreeMap<String, f64>>,
    /// Shares of the faults given the complaint.
    pub share: Vec<super::part::Share>,
}

/// Heat needed and had, by combustion chamber.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ChamberHeat {
    /// Compression ratio reckoned with.
    pub ratio: f64,
    /// Engine temperature at which an unheated sound cylinder lights at once half the time, degC.
    pub half_unheated: f64,
    /// Kelvin won by a full plug.
    pub glow_full: f64,
    /// Kelvin won by a weak one.
    pub glow_some: f64,
}

/// Figures of the heat margin of one cylinder.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct HeatFigures {
    /// Polytropic exponent of compression less one while cranking cold.
    pub exponent_less_one: f64,
    /// Width of the logistic curve, K.
    pub width: f64,
    /// Margin below nought at which lighting late turns into not lighting, K.
    pub late_band: f64,
    /// Kelvin of one step of `start_heat`.
    pub step: f64,
    /// Kelvin lost by seal low and very low.
    pub seal: [f64; 2],
    /// Kelvin lost by a poor spray.
    pub spray: f64,
    /// Chance of lighting late with no spray to speak of.
    pub no_spray_late: f64,
    /// Chance that a cylinder fails to light at once though nothing is wrong.
    pub stray: f64,
    /// Kelvin an engine without plugs wins by its own aid, by kind of preheat.
    pub aid: BTreeMap<String, f64>,
    /// By chamber.
    pub chamber: BTreeMap<String, ChamberHeat>,
}

/// How an engine catches given the share of cylinders that do not light.
///
/// `logit P(catch is state j or worse) = base[j] + cold * d + (unlit + unlit_cold * d) * u`,
/// `d = (reference - T) / 10 K`, `u` = unlit cylinders plus half the late ones, over all.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CatchFigures {
    /// Base of each step but the first.
    pub base: Vec<f64>,
    /// Weight of `d`.
    pub cold: f64,
    /// Weight of `u`.
    pub unlit: f64,
    /// Weight of `d * u`.
    pub unlit_cold: f64,
    /// Reference temperature by chamber, degC.
    pub reference: BTreeMap<String, f64>,
}

/// The complaint: a sign that is always there.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Complaint {
    /// Chance of the complaint from what a start is like: variable, state, chance.
    pub link: Vec<super::sign::SignLink>,
    /// Chance that somebody complains though nothing is wrong.
    pub leak: f64,
}

/// Figures of starts.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct StartFigures {
    /// Heat margin.
    pub heat: HeatFigures,
    /// Catching.
    pub catch: CatchFigures,
    /// The complaint.
    pub complaint: Complaint,
    /// Reliability of a told sign: chance that what is told is what was.
    pub told: f64,
    /// Reliability of a seen sign by how sure the person was: sure, fair, unsure.
    pub seen: BTreeMap<String, f64>,
    /// Share of a number's density that is spread wide, so that one wild reading proves nothing.
    pub wide_share: f64,
    /// Factor by which the wide part is wider.
    pub wide_factor: f64,
}

/// Starting chances of one cell of context: parts' faults for one band, chamber and preheat.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ContextCell {
    /// Temperature band.
    pub band: String,
    /// Combustion chamber.
    pub chamber: String,
    /// Kind of preheat.
    pub preheat: String,
    /// `part.fault` = chance before any complaint.
    pub chance: BTreeMap<String, f64>,
}

/// Log-odds added to the chances in one other context.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ContextOffset {
    /// Name of the context (`recent_fuel_work`).
    pub context: Spanned<String>,
    /// `part.fault` = log-odds added.
    pub offset: BTreeMap<String, f64>,
}

/// The generated layer: fitted starting chances.
#[derive(Debug, Clone, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct RootLayer {
    /// Cells, one for each band, chamber and preheat that exists.
    #[serde(default)]
    pub cell: Vec<ContextCell>,
    /// Offsets, one for each other context.
    #[serde(default)]
    pub other: Vec<ContextOffset>,
    /// Log-weights that a fitted layer adds, `part.fault`; empty without one.
    #[serde(skip)]
    pub shift: BTreeMap<String, f64>,
    /// Log-weights that it adds for jobs of one shop, by shop and `part.fault`.
    #[serde(skip)]
    pub shop: BTreeMap<String, BTreeMap<String, f64>>,
}
