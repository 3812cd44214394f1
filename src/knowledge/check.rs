//! Checks: things a person does to learn more, with their cost, cautions and outcome tables.
//!
//! A check looks at one to three variables; its rows give, for states of those, the chance
//! of each outcome or the law of a number. Must not know what a reading did to a ranking.

use std::collections::BTreeMap;

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

use super::part::Needs;
use super::sign::SignLink;

/// Whether a check is done once or at each cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Per {
    /// One reading for the engine.
    Engine,
    /// One reading a cylinder.
    Cylinder,
}

/// What a check does to the cold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cold {
    /// May be done cold or warm and leaves the engine as it was.
    Keeps,
    /// Needs a cold engine and leaves it cold.
    Needs,
    /// Needs a cold engine and warms it.
    UsesUp,
}

/// Kind of the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckKind {
    /// One of the named states.
    States,
    /// A number with a unit.
    Number,
}

/// Shape of the density of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    /// Normal about `mean` with standard deviation `sd`, both in the unit of the check.
    Normal,
    /// Log-normal: logarithm about `ln(mean)` with standard deviation `sd` of the logarithm.
    LogNormal,
}

/// What the `mean` of a number's rows is measured against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Relative {
    /// The plain number.
    Absolute,
    /// A ratio to the unknown rated value, which the cylinders of this engine share.
    Nominal,
    /// A ratio to the unknown rated value of one plug times the number of cylinders. Where the
    /// check looks at a counted variable (`plugs_open`), the mean is further multiplied by the
    /// share of cylinders not counted, `1 - k/N`.
    NominalTimesCylinders,
    /// The number minus the least volts a battery should hold at this temperature.
    BatteryTable,
}

/// One row of a check: what is read given states of the variables it looks at.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CheckRow {
    /// Variable = states the row applies to; the first row that fits holds. Empty fits all.
    /// For a counted variable (`plugs_open`) the state `all` means the number of cylinders.
    #[serde(default)]
    pub given: BTreeMap<String, Vec<String>>,
    /// Chance of each outcome (kind `states`).
    #[serde(default)]
    pub chance: Option<Spanned<Vec<f64>>>,
    /// Centre of the number, in the unit of the check or as a ratio (kind `number`).
    #[serde(default)]
    pub mean: Option<f64>,
    /// Spread of the number (kind `number`).
    #[serde(default)]
    pub sd: Option<f64>,
    /// Chance that the number cannot be had and is off the end (`> limit`, open, no glow).
    #[serde(default)]
    pub off_scale: Option<f64>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
}

/// What the check may break.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Risk {
    /// What may break, in words.
    pub what: String,
    /// Chance that it does, each time (for checks and access a cylinder: each cylinder).
    pub chance: f64,
    /// Minutes it costs if it does.
    pub minutes: f64,
}

/// Something a person does to learn more.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Identifier, the name in job files.
    pub id: Spanned<String>,
    /// Code in the trade pack's numbering (`T07`).
    pub code: Spanned<String>,
    /// What a person reads, verb first.
    pub label: String,
    /// System it belongs to.
    pub system: String,
    /// What the engine must have for the check to make sense.
    #[serde(default)]
    pub needs: Needs,
    /// Once, or at each cylinder.
    pub per: Per,
    /// Kind of the reading.
    pub kind: CheckKind,
    /// Variables it looks at, one to three; may be empty where `link` speaks. A variable that
    /// does not exist on an engine counts as being in its first state.
    pub looks_at: Vec<Spanned<String>>,
    /// Outcomes (kind `states`), the ordinary one first.
    #[serde(default)]
    pub states: Vec<String>,
    /// Quantity of the number (`voltage`, `current`, ...), kind `number`.
    #[serde(default)]
    pub quantity: Option<Spanned<String>>,
    /// Unit of `mean` and `sd`, kind `number`.
    #[serde(default)]
    pub unit: Option<Spanned<String>>,
    /// Shape of the density, kind `number`.
    #[serde(default)]
    pub law: Option<Law>,
    /// What `mean` is measured against; default the plain number.
    #[serde(default)]
    pub relative: Option<Relative>,
    /// Rated values seen in the trade, with their spread: middle and log-sd, kind `number`
    /// with `relative = nominal...`.
    #[serde(default)]
    pub nominal: Option<[f64; 2]>,
    /// Name of the result that lies off the end (`open`, `no_glow`), if there is one.
    #[serde(default)]
    pub off_scale: Option<String>,
    /// Rising bounds between named outcomes when a number is judged in advance (kind `number`),
    /// in the measure of `mean`: the outcomes shown to a person who asks what he may find.
    #[serde(default)]
    pub bounds: Vec<f64>,
    /// Names of the outcomes between the bounds.
    #[serde(default)]
    pub bound_names: Vec<String>,
    /// The rows.
    pub row: Vec<CheckRow>,
    /// Variables that speak over the table, as at a sign (kind `states`, once an engine): for
    /// what any one cylinder may cause, such as combustion gas in the coolant.
    #[serde(default)]
    pub link: Vec<SignLink>,
    /// Chance that a repeat of the check copies the error of the first reading.
    pub copies: f64,
    /// Minutes with nothing opened yet, access not counted.
    pub minutes: f64,
    /// For a check a cylinder: minutes for each further cylinder in the same go.
    #[serde(default)]
    pub minutes_each: Option<f64>,
    /// Access groups it needs open.
    #[serde(default)]
    pub access: Vec<Spanned<String>>,
    /// Tools it needs, each a tool id; a list within the list means "any of these".
    #[serde(default)]
    pub tools: Vec<Vec<String>>,
    /// People needed.
    #[serde(default = "one")]
    pub people: u8,
    /// What it does to the cold.
    pub cold: Cold,
    /// What it may break.
    #[serde(default)]
    pub risk: Option<Risk>,
    /// Cautions, said before the steps.
    #[serde(default)]
    pub hazards: Vec<Spanned<String>>,
    /// Three to six steps.
    pub how: Vec<String>,
    /// A depth below the air's pressure: 46 kPa and -46 kPa say the same.
    #[serde(default)]
    pub vacuum: bool,
    /// What spoils the reading.
    #[serde(default)]
    pub spoilers: Vec<String>,
    /// Source, if other than the file's.
    #[serde(default)]
    pub source: Option<String>,
    /// Pseudo-count, if other than the file's.
    #[serde(default)]
    pub strength: Option<f64>,
    /// Index of its file; filled in by the loader.
    #[serde(skip)]
    pub file: usize,
}

fn one() -> u8 {
    1
}

/// A cover or part that must come off first; paid once while it stays open.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Access {
    /// Identifier.
    pub id: Spanned<String>,
    /// Code in the trade pack's numbering (`A4`).
    pub code: String,
    /// What a person reads.
    pub label: String,
    /// Minutes to open and close again, at all cylinders.
    pub minutes: f64,
    /// Whether one cylinder can be opened alone, for its share of the minutes; the whole engine
    /// where it is not said.
    #[serde(default = "of_the_engine")]
    pub per: Per,
    /// Access groups that must be open before.
    #[serde(default)]
    pub after: Vec<Spanned<String>>,
    /// Whether the engine can be started with it open.
    pub stays_open: bool,
    /// Cautions, said before it is opened.
    #[serde(default)]
    pub hazards: Vec<Spanned<String>>,
    /// What opening it may break, each time it is opened and for each cylinder it opens.
    #[serde(default)]
    pub risk: Option<Risk>,
}

fn of_the_engine() -> Per {
    Per::Engine
}

/// A tool that may be at hand or not.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Tool {
    /// Identifier.
    pub id: Spanned<String>,
    /// What a person reads.
    pub label: String,
    /// Whether any workshop has it (spanners, rag, torch), so that nobody is asked.
    #[serde(default)]
    pub always: bool,
}

/// A caution, said before the step it belongs to.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// Identifier.
    pub id: Spanned<String>,
    /// The caution in two or three plain sentences.
    pub text: String,
    /// Source of the caution.
    #[serde(default)]
    pub source: Option<String>,
}
