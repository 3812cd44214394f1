//! What was found and done, from free text to entries of a job.
//!
//! A finding names a fault the knowledge files have; everything else stays a note. Must not
//! look at other columns.

use std::collections::BTreeMap;

use super::cell::Remark;
use super::draft_job::{self, Fields, json};
use super::issue::{Code, Level};
use super::memo::Memo;
use super::phrases::{Found, Parsed, Phrases};
use crate::job::Proof;
use crate::knowledge::{Knowledge, Per, Scope};

/// Pieces of text counted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Counts {
    /// All pieces that stand for a cause or might.
    pub phrases: u64,
    /// Those that name a cause.
    pub mapped: u64,
    /// Those that say it was not that.
    pub negated: u64,
    /// Those that no phrase covers, or that say nothing is known.
    pub unmapped: u64,
    /// The texts no phrase covers.
    pub texts: Vec<String>,
}

/// What stands beside the texts.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// Minutes of the work, JSON.
    pub minutes: Option<String>,
    /// What the parts cost, JSON.
    pub cost: Option<String>,
    /// Cylinders of the engine.
    pub cylinders: Option<u8>,
    /// How findings are shown.
    pub proof: Option<Proof>,
}

/// The entries of one record's story.
#[derive(Debug, Default)]
pub struct Told {
    /// Work and findings, whole entries.
    pub entries: Vec<String>,
    /// Figures that found no entry, to be kept.
    pub left: Fields,
    /// Column, cell and what has to be said.
    pub remarks: Vec<(usize, String, Remark)>,
    /// Counts.
    pub counts: Counts,
}

/// Phrases, and what needs a cylinder.
#[derive(Debug, Clone)]
pub struct Story {
    /// Phrases for causes.
    pub causes: Phrases,
    /// Phrases for work.
    pub work: Phrases,
    /// Fault: whether it is of one cylinder.
    faults: BTreeMap<String, bool>,
    /// Repair: whether it is done at one cylinder.
    repairs: BTreeMap<String, bool>,
}

/// A time in the unit it was typed in, as minutes without unit.
pub fn minutes(written: &str) -> String {
    use crate::units::{Dimension, Quantity};
    let parsed = Quantity::parse(written, Dimension::Time, None);
    let minutes = parsed.map_or(0.0, |p| p.quantity.value / 60.0);
    format!("{}", (minutes * 1000.0).round() / 1000.0)
}

impl Story {
    /// The phrases of the knowledge files and our own.
    #[must_use]
    pub fn new(knowledge: &Knowledge) -> Self {
        let faults = knowledge.parts.iter().flat_map(|p| {
            let each = p.scope == Scope::Cylinder;
            p.fault
                .iter()
                .map(move |f| (format!("{}.{}", p.id.get_ref(), f.id.get_ref()), each))
        });
        let repairs = knowledge
            .repairs
            .iter()
            .map(|r| (r.id.get_ref().clone(), r.per == Per::Cylinder));
        Self {
            causes: Phrases::causes(knowledge),
            work: Phrases::work(),
            faults: faults.collect(),
            repairs: repairs.collect(),
        }
    }

    /// Whether a fault of that name exists.
    #[must_use]
    pub fn has_fault(&self, id: &str) -> bool {
        self.faults.contains_key(id)
    }

    /// Entries of one record.
    #[must_use]
    pub fn tell(
        &self,
        causes: &[(usize, String)],
        actions: &[(usize, String)],
        figures: &Figures,
        memo: &mut Memo,
    ) -> Told {
        let mut told = Told::default();
        let done = self.actions(actions, figures, memo, &mut told);
        // Without a cold start on record a repair is only believed to have helped.
        let usual = if done { Proof::Believed } else { Proof::Guess };
        let mut seen: Vec<(String, Option<u8>)> = Vec::new();
        for (at, text) in causes {
            let parsed = memo.causes(&self.causes, text);
            let real = parsed.found.iter().filter(|f| !f.negated).count();
            let mut remark = |code, level, what: String, hint: &str| {
                told.remarks
                    .push((*at, text.clone(), Remark::new(code, level, what, hint)));
            };
            if real > 1 {
                remark(
                    Code::CauseMultiple,
                    Level::Note,
                    format!("the text names {real} causes"),
                    "",
                );
            }
            if parsed.found.iter().any(|f| f.negated) {
                remark(
                    Code::CauseNegated,
                    Level::Note,
                    "the text says what it was not".to_owned(),
                    "",
                );
            }
            if parsed.found.iter().any(|f| f.hedged && !f.negated) {
                remark(
                    Code::CauseHedged,
                    Level::Note,
                    "the text is not sure of the cause".to_owned(),
                    "",
                );
            }
            for piece in &parsed.unmapped {
                remark(
                    Code::TextUnmapped,
                    Level::Note,
                    format!("no phrase says what `{piece}` means; kept as a note"),
                    "add it to the rules of this column",
                );
            }
            let counts = &mut told.counts;
            counts.mapped += real as u64;
            counts.negated += (parsed.found.len() - real) as u64;
            counts.unmapped += (parsed.unmapped.len() + parsed.unknown) as u64;
            counts.phrases += (parsed.found.len() + parsed.unmapped.len() + parsed.unknown) as u64;
            counts.texts.extend(parsed.unmapped.iter().cloned());
            told.entries
                .push(draft_job::note(&format!("found: {text}")));
            for found in &parsed.found {
                self.finding(found, figures, usual, &mut seen, &mut told.entries);
            }
        }
        told
    }

    fn finding(
        &self,
        found: &Found,
        figures: &Figures,
        usual: Proof,
        seen: &mut Vec<(String, Option<u8>)>,
        entries: &mut Vec<String>,
    ) {
        let Some(&each) = self.faults.get(&found.means) else {
            return;
        };
        let proof = match (found.negated, found.hedged) {
            (true, _) => Proof::Refuted,
            (false, true) => Proof::Guess,
            (false, false) => figures.proof.unwrap_or(usual),
        };
        let most = figures.cylinders;
        let places: Vec<Option<u8>> = match (each, found.cylinder, most) {
            (false, _, _) => vec![None],
            (true, Some(c), most) if c <= most.unwrap_or(12) => vec![Some(c)],
            (true, Some(_), _) => Vec::new(),
            (true, None, Some(1)) => vec![Some(1)],
            // "Not the plugs" clears each of them.
            (true, None, Some(most)) if found.negated => (1..=most).map(Some).collect(),
            // Which cylinder it was nobody wrote; the note keeps the text.
            (true, None, _) => Vec::new(),
        };
        for cylinder in places {
            let place = (found.means.clone(), cylinder);
            if seen.contains(&place) {
                continue;
            }
            seen.push(place);
            let mut fields: Fields = vec![("fault".to_owned(), json(&found.means))];
            fields.extend(cylinder.map(|c| ("cylinder".to_owned(), c.to_string())));
            fields.push(("proof".to_owned(), json(proof.id())));
            entries.push(draft_job::entry("finding", &fields, None));
        }
    }

    /// Writes work entries; whether anything was done.
    fn actions(
        &self,
        actions: &[(usize, String)],
        figures: &Figures,
        memo: &mut Memo,
        told: &mut Told,
    ) -> bool {
        let mut beside: Fields = Vec::new();
        beside.extend(figures.minutes.clone().map(|m| ("minutes".to_owned(), m)));
        beside.extend(figures.cost.clone().map(|c| ("parts_cost".to_owned(), c)));
        let mut done = false;
        for (_, text) in actions {
            told.entries.push(draft_job::note(&format!("done: {text}")));
            let mut parsed = Parsed::clone(&memo.work(&self.work, text));
            done |= !parsed.found.is_empty() || !super::text::folded(text).contains("nothing");
            // A phrase of work may begin with the word that marks it as work.
            for piece in std::mem::take(&mut parsed.unmapped) {
                parsed.found.extend(self.work.plain(&piece));
            }
            for found in parsed.found.iter().filter(|f| !f.negated) {
                let Some(&each) = self.repairs.get(&found.means) else {
                    continue;
                };
                let fits = found
                    .cylinder
                    .is_some_and(|c| c <= figures.cylinders.unwrap_or(12));
                if each && !fits {
                    continue;
                }
                let mut fields: Fields = vec![("repair".to_owned(), json(&found.means))];
                if let Some(cylinder) = found.cylinder.filter(|_| each) {
                    fields.push(("cylinder".to_owned(), cylinder.to_string()));
                }
                // Minutes and money are of the whole; they stand once, on the first work.
                fields.append(&mut beside);
                told.entries.push(draft_job::entry("work", &fields, None));
            }
        }
        told.left = beside
            .into_iter()
            .map(|(k, v)| (format!("work_{k}"), v))
            .collect();
        done
    }
}
