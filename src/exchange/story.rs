//! What was found and done, from free text to entries of a job.
//!
//! A finding names a fault the knowledge files have; everything else stays a note. Must not
//! look at other columns.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::cell::Remark;
use super::draft_job::{self, Entries, Fields, json};
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
    /// Work and findings.
    pub entries: Entries,
    /// Figures that found no entry, to be kept.
    pub left: Fields<'static>,
    /// Column, cell and what has to be said.
    pub remarks: Vec<(usize, String, Remark)>,
    /// Counts.
    pub counts: Counts,
}

/// What a text of work says.
#[derive(Debug, Default)]
pub(super) struct Done {
    /// Whether anything was done.
    any: bool,
    /// Work that was done.
    found: Vec<Found>,
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

    /// Every fault there is, and whether it is of one cylinder.
    #[must_use]
    pub fn faults(&self) -> &BTreeMap<String, bool> {
        &self.faults
    }

    /// Entries of one record, behind those given.
    #[must_use]
    pub fn tell(
        &self,
        causes: &[(usize, Cow<'_, str>)],
        actions: &[(usize, Cow<'_, str>)],
        figures: &Figures,
        memo: &mut Memo,
        entries: Entries,
    ) -> Told {
        let mut told = Told {
            entries,
            ..Told::default()
        };
        let done = self.actions(actions, figures, memo, &mut told);
        // Without a cold start on record a repair is only believed to have helped.
        let usual = if done { Proof::Believed } else { Proof::Guess };
        let mut seen: Vec<(Arc<str>, Option<u8>)> = Vec::new();
        for (at, text) in causes {
            let parsed = memo.causes(&self.causes, text);
            let real = parsed.found.iter().filter(|f| !f.negated).count();
            let mut remark = |code, level, what: String, hint: &str| {
                told.remarks
                    .push((*at, text.to_string(), Remark::new(code, level, what, hint)));
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
            draft_job::note(told.entries.next(), "found: ", text);
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
        seen: &mut Vec<(Arc<str>, Option<u8>)>,
        entries: &mut Entries,
    ) {
        let Some(&each) = self.faults.get(&*found.means) else {
            return;
        };
        let proof = match (found.negated, found.hedged) {
            (true, _) => Proof::Refuted,
            (false, true) => Proof::Guess,
            (false, false) => figures.proof.unwrap_or(usual),
        };
        let most = figures.cylinders;
        let mut at = |cylinder: Option<u8>| {
            let place = (Arc::clone(&found.means), cylinder);
            if seen.contains(&place) {
                return;
            }
            seen.push(place);
            let out = entries.next();
            out.push_str("{\"finding\":{\"fault\":");
            draft_job::push_json(out, &found.means);
            if let Some(cylinder) = cylinder {
                out.push_str(",\"cylinder\":");
                draft_job::number(out, u32::from(cylinder));
            }
            out.push_str(",\"proof\":");
            draft_job::push_json(out, proof.id());
            out.push_str("}}");
        };
        match (each, found.cylinder, most) {
            (false, _, _) => at(None),
            (true, Some(c), most) if c <= most.unwrap_or(12) => at(Some(c)),
            (true, Some(_), _) => {}
            (true, None, Some(1)) => at(Some(1)),
            // "Not the plugs" clears each of them.
            (true, None, Some(most)) if found.negated => (1..=most).for_each(|c| at(Some(c))),
            // Which cylinder it was nobody wrote; the note keeps the text.
            (true, None, _) => {}
        }
    }

    /// What a text of work says.
    fn done(&self, text: &str, parsed: Parsed) -> Done {
        let any = !parsed.found.is_empty() || !super::text::folded(text).contains("nothing");
        let mut found = parsed.found;
        // A phrase of work may begin with the word that marks it as work.
        found.extend(parsed.unmapped.iter().filter_map(|p| self.work.plain(p)));
        found.retain(|f| !f.negated && self.repairs.contains_key(&*f.means));
        Done { any, found }
    }

    /// Writes work entries; whether anything was done.
    fn actions(
        &self,
        actions: &[(usize, Cow<'_, str>)],
        figures: &Figures,
        memo: &mut Memo,
        told: &mut Told,
    ) -> bool {
        let mut beside: Fields<'static> = Vec::new();
        beside.extend(figures.minutes.clone().map(|m| ("minutes".into(), m)));
        beside.extend(figures.cost.clone().map(|c| ("parts_cost".into(), c)));
        let mut done = false;
        for (_, text) in actions {
            draft_job::note(told.entries.next(), "done: ", text);
            let what = memo.work(&self.work, text, |parsed| self.done(text, parsed));
            done |= what.any;
            for found in &what.found {
                let Some(&each) = self.repairs.get(&*found.means) else {
                    continue;
                };
                let fits = found
                    .cylinder
                    .is_some_and(|c| c <= figures.cylinders.unwrap_or(12));
                if each && !fits {
                    continue;
                }
                let mut fields: Fields<'_> = vec![("repair".into(), json(&found.means))];
                if let Some(cylinder) = found.cylinder.filter(|_| each) {
                    fields.push(("cylinder".into(), cylinder.to_string()));
                }
                // Minutes and money are of the whole; they stand once, on the first work.
                fields.append(&mut beside);
                draft_job::entry(told.entries.next(), "work", &fields);
            }
        }
        told.left = beside
            .into_iter()
            .map(|(k, v)| (format!("work_{k}").into(), v))
            .collect();
        done
    }
}
