//! What was wrong with an engine, as far as its job shows.
//!
//! A finding is a label whose worth follows from its proof; a refuted one says that it was not
//! that. A simulated job carries what was truly wrong. Must not score.

pub use crate::job::shop;
use crate::job::{EntryBody, Job, Kept, Proof, finding_proof};
use crate::knowledge::Knowledge;
use crate::learning::labels::reliability;
use crate::learning::simulate::draw::TRUTH;

/// What is taken as true.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Labels {
    /// The findings.
    #[default]
    Found,
    /// What a simulation wrote down as its own truth.
    Simulated,
}

/// The label of one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Causes that are taken as there, `part.fault` or `part.fault:cylinder`.
    pub causes: Vec<String>,
    /// Best proof among them; `None` for a simulated truth.
    pub proof: Option<Proof>,
    /// What the label is worth, 0 to 1.
    pub weight: f64,
}

/// The label of a job; `None` where nothing was found or the truth is not there.
#[must_use]
pub fn label(job: &Job, knowledge: &Knowledge, labels: Labels) -> Option<Label> {
    match labels {
        Labels::Simulated => truth(job).map(|causes| Label {
            causes,
            proof: None,
            weight: 1.0,
        }),
        Labels::Found => found(job, knowledge),
    }
}

fn found(job: &Job, knowledge: &Knowledge) -> Option<Label> {
    let mut causes = Vec::new();
    let mut proofs = Vec::new();
    for entry in job.entries.iter().filter(|e| e.is_used()) {
        let EntryBody::Finding(finding) = &entry.body else {
            continue;
        };
        let proof = finding_proof(job, finding, knowledge);
        if proof == Proof::Refuted {
            continue;
        }
        let id = match finding.cylinder {
            Some(c) => format!("{}:{c}", finding.fault),
            None => finding.fault.clone(),
        };
        if !causes.contains(&id) {
            causes.push(id);
            proofs.push(proof);
        }
    }
    let worth = proofs.iter().map(|p| reliability(*p)).sum::<f64>();
    let best = proofs
        .iter()
        .copied()
        .min_by(|a, b| reliability(*b).total_cmp(&reliability(*a)))?;
    #[expect(clippy::cast_precision_loss, reason = "a few findings")]
    let weight = worth / proofs.len() as f64;
    Some(Label {
        causes,
        proof: Some(best),
        weight,
    })
}

/// What a simulation says is truly wrong.
#[must_use]
pub fn truth(job: &Job) -> Option<Vec<String>> {
    let Kept::Table(table) = job.extra.get(TRUTH)? else {
        return None;
    };
    let Kept::List(list) = table.get("true")? else {
        return None;
    };
    let text = |k: &Kept| match k {
        Kept::Text(t) => Some(t.clone()),
        _ => None,
    };
    list.iter().map(text).collect()
}
