//! How far work and findings are proven by the entries.
//!
//! A warm restart proves nothing. Several works before the same cold start share its proof.
//! Must not compute a chance.

use super::cold::{StartAfter, starts_between, verification};
use super::entry::{EntryBody, Finding, Proof, Work};
use super::record::Job;
use super::seen::StartResult;
use crate::knowledge::Knowledge;

/// How far one piece of work is proven.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkProof {
    /// Index of its entry.
    pub entry: usize,
    /// `Cured`, `CuredShared`, `Believed` or `Refuted`.
    pub proof: Proof,
    /// It is not proven, and the start that decided was better, not right.
    pub helped: bool,
    /// The other works before the same cold start, by index of their entries.
    pub shared_with: Vec<usize>,
    /// The start that decided, by index of its entry.
    pub start: Option<usize>,
}

/// Indices of the entries that are work and not set aside, in order.
pub(super) fn works(job: &Job) -> Vec<usize> {
    let entries = job.entries.iter().enumerate();
    entries
        .filter(|(_, e)| e.is_used() && matches!(e.body, EntryBody::Work(_)))
        .map(|(i, _)| i)
        .collect()
}

/// The first entry that is work and not set aside; what stands before it shows the engine as it came.
#[must_use]
pub fn first_work(job: &Job) -> Option<usize> {
    works(job).first().copied()
}

/// How far each piece of work is proven, in order.
///
/// Works stand together until a cold start that counts. If it was right they are cured, or
/// share the cure; if it was the same or worse they are refuted; if it was better, not judged,
/// or there was none, they are believed.
#[must_use]
pub fn work_proofs(job: &Job, knowledge: &Knowledge) -> Vec<WorkProof> {
    let complaint = verification(job, knowledge).complaint_temperature;
    let works = works(job);
    let mut proofs = Vec::new();
    let mut bundle: Vec<usize> = Vec::new();
    for (n, &work) in works.iter().enumerate() {
        bundle.push(work);
        let end = works.get(n + 1).copied().unwrap_or(job.entries.len());
        let starts = starts_between(job, work, end, complaint, knowledge);
        let decisive = starts.iter().rev().find(|s| s.why_not.is_none());
        if decisive.is_some() || n + 1 == works.len() {
            close(&mut proofs, &bundle, decisive);
            bundle.clear();
        }
    }
    proofs
}

fn close(proofs: &mut Vec<WorkProof>, bundle: &[usize], decisive: Option<&StartAfter>) {
    let proof = match decisive {
        Some(start) if start.right == Some(true) && bundle.len() == 1 => Proof::Cured,
        Some(start) if start.right == Some(true) => Proof::CuredShared,
        Some(start) if matches!(start.result, Some(StartResult::Same | StartResult::Worse)) => {
            Proof::Refuted
        }
        _ => Proof::Believed,
    };
    for &entry in bundle {
        proofs.push(WorkProof {
            entry,
            proof,
            helped: decisive.is_some_and(|s| s.result == Some(StartResult::Better)),
            shared_with: bundle.iter().copied().filter(|w| *w != entry).collect(),
            start: decisive.map(|s| s.entry),
        });
    }
}

/// How far a finding is proven: as the person says, but never further than the entries bear
/// out. `shown`, `cured` and `cured_shared` need work that removes the fault and a right cold
/// start after it; without those the finding is believed if there was such work, else a guess.
#[must_use]
pub fn finding_proof(job: &Job, finding: &Finding, knowledge: &Knowledge) -> Proof {
    let proofs = work_proofs(job, knowledge);
    let of_fault = proofs.iter().filter(|p| match &job.entries[p.entry].body {
        EntryBody::Work(work) => mends(work, &finding.fault, finding.cylinder, knowledge),
        _ => false,
    });
    let borne_out = of_fault.map(|p| p.proof).min_by_key(|p| rank(*p));
    match (finding.proof, borne_out) {
        (Some(Proof::Shown), Some(Proof::Cured | Proof::CuredShared)) => Proof::Shown,
        (Some(Proof::Shown | Proof::Cured | Proof::CuredShared) | None, Some(proof)) => proof,
        (Some(Proof::Shown | Proof::Cured | Proof::CuredShared) | None, None) => Proof::Guess,
        (Some(said), _) => said,
    }
}

/// Place in the order from best proven to worst.
fn rank(proof: Proof) -> usize {
    Proof::ALL
        .iter()
        .position(|p| *p == proof)
        .unwrap_or(usize::MAX)
}

/// Whether work can remove a fault, at its cylinder.
#[must_use]
pub fn mends(work: &Work, fault: &str, cylinder: Option<u8>, knowledge: &Knowledge) -> bool {
    let repair = knowledge
        .repairs
        .iter()
        .find(|r| *r.id.get_ref() == work.repair);
    let same_place = work.cylinder.is_none() || work.cylinder == cylinder;
    same_place && repair.is_some_and(|r| r.fixes.iter().any(|f| *f.fault.get_ref() == fault))
}
