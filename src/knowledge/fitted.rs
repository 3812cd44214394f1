//! A fitted layer: figures that finished jobs moved, over the figures they were fitted from.
//!
//! One TOML file. It says over which figures it was fitted, by their hash, and is refused over
//! any others. Must not fit, and does no arithmetic on chances: what it adds is added where
//! networks are built.

use std::collections::BTreeMap;
use std::ops::Range;

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::load::Knowledge;
use super::problem::{KnowledgeErrors, Problem, line_column};

/// Version of the format of fitted layers.
pub const LAYER_FORMAT: u32 = 1;
/// Name by which problems of the layer are told.
pub const LAYER_NAME: &str = "fitted layer";
/// Largest log-weight a layer may add: beyond, something else is wrong.
const FARTHEST: f64 = 30.0;

/// What a layer was fitted from.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FittedFrom {
    /// Hash of the figures it lies over.
    pub over: Spanned<String>,
    /// Finished jobs that were used.
    pub jobs: u64,
    /// Hash of the file of jobs, or of their counts.
    pub data_sha256: Vec<String>,
    /// Day of the first job, if any says.
    #[serde(default)]
    pub first: Option<String>,
    /// Day of the last.
    #[serde(default)]
    pub last: Option<String>,
    /// Rounds of fitting.
    pub rounds: u32,
    /// Spread of log-odds between shops; nought where they are not told apart.
    #[serde(default)]
    pub shops_differ: f64,
}

/// A fitted starting chance.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FittedRoot {
    /// `part.fault`.
    pub fault: Spanned<String>,
    /// Log-weight added to its starting chance in every context.
    pub shift: f64,
    /// Lower end of the 80 % range of `shift`.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Jobs whose worth in fully known jobs the fit put into it.
    pub jobs: f64,
}

/// The layer.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FittedLayer {
    /// [`LAYER_FORMAT`].
    pub format: Spanned<u32>,
    /// What it was fitted from.
    pub fitted: FittedFrom,
    /// Starting chances.
    #[serde(default)]
    pub root: Vec<FittedRoot>,
    /// Chance that a fault that is there is found and written down, `part.fault`.
    #[serde(default)]
    pub confirmed: BTreeMap<String, f64>,
    /// Chance that a finding names the wrong fault, by proof.
    #[serde(default)]
    pub wrong: BTreeMap<String, f64>,
    /// Log-odds added in one shop, by shop and system.
    #[serde(default)]
    pub shop: BTreeMap<String, BTreeMap<String, f64>>,
}

impl FittedLayer {
    /// Reads a layer.
    ///
    /// # Errors
    /// Where it does not parse or is of another version.
    pub fn parse(text: &str) -> Result<Self, KnowledgeErrors> {
        let layer: Self = toml::from_str(text).map_err(|error| {
            let what = error.message().to_owned();
            let advice = "give a file that `hardstart fit --figures-out` wrote";
            one(text, error.span().unwrap_or(0..0), what, advice, "parse")
        })?;
        if *layer.format.get_ref() != LAYER_FORMAT {
            let what = format!("format {} is not known", layer.format.get_ref());
            let advice = "this program reads `format = 1`; fit again with it";
            return Err(one(text, layer.format.span(), what, advice, "format"));
        }
        Ok(layer)
    }
}

fn one(
    text: &str,
    span: Range<usize>,
    what: String,
    advice: &str,
    rule: &'static str,
) -> KnowledgeErrors {
    let (line, column) = line_column(text, span.start);
    KnowledgeErrors {
        problems: vec![Problem {
            file: LAYER_NAME.to_owned(),
            span,
            line,
            column,
            what,
            advice: advice.to_owned(),
            rule,
        }],
    }
}

impl Knowledge {
    /// Lays a fitted layer over these figures.
    ///
    /// # Errors
    /// When it does not parse, was fitted over other figures, or names what is not there.
    pub fn with_layer(mut self, text: &str) -> Result<(Self, FittedLayer), KnowledgeErrors> {
        let layer = FittedLayer::parse(text)?;
        if *layer.fitted.over.get_ref() != self.sha256 {
            let what = "this layer was fitted over other figures".to_owned();
            let advice = "give the --priors it was fitted with, or fit again over these";
            return Err(one(text, layer.fitted.over.span(), what, advice, "format"));
        }
        let mut problems = Vec::new();
        let mut complain = |span: Range<usize>, what: String, advice: &str| {
            problems.extend(one(text, span, what, advice, "fitted").problems);
        };
        let source = format!("fitted from {} jobs", layer.fitted.jobs);
        for root in &layer.root {
            let id = root.fault.get_ref();
            let known = id.split_once('.').and_then(|(part, fault)| {
                let mut parts = self.parts.iter_mut();
                let part = parts.find(|p| p.id.get_ref() == part)?;
                let there = part.fault.iter().any(|f| f.id.get_ref() == fault);
                there.then_some(part)
            });
            let Some(part) = known else {
                let what = format!("there is no fault `{id}`");
                complain(root.fault.span(), what, "see hardstart vocab faults");
                continue;
            };
            let sound = root.shift.abs() <= FARTHEST && root.jobs >= 0.0;
            let ordered = (root.low..=root.high).contains(&root.shift);
            if !sound || !ordered {
                let what = format!("the figures of `{id}` cannot be");
                complain(root.fault.span(), what, "fit again");
                continue;
            }
            // A part is as sure as the least sure of its faults.
            let starter = self.defaults[part.file].origin(part.source.as_deref(), part.strength);
            if !starter.source.starts_with("fitted") {
                part.source = Some(source.clone());
                part.strength = Some(starter.strength + root.jobs);
            } else {
                let least = starter
                    .strength
                    .min(root.jobs + self.defaults[part.file].strength);
                part.strength = Some(least);
            }
            self.roots.shift.insert(id.clone(), root.shift);
        }
        for (shop, systems) in &layer.shop {
            let mut by = BTreeMap::new();
            for part in &self.parts {
                if let Some(z) = systems.get(&part.system) {
                    for fault in &part.fault {
                        by.insert(format!("{}.{}", part.id.get_ref(), fault.id.get_ref()), *z);
                    }
                }
            }
            self.roots.shop.insert(shop.clone(), by);
        }
        if !problems.is_empty() {
            return Err(KnowledgeErrors { problems });
        }
        self.sha256 = layered(&self.sha256, text);
        Ok((self, layer))
    }
}

/// Hash of figures with a layer over them.
fn layered(over: &str, text: &str) -> String {
    let mut hash = Sha256::new();
    hash.update(over.as_bytes());
    hash.update([0]);
    hash.update(text.as_bytes());
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}
