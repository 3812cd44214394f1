//! What stands after work: SM-21, better and not right.

use hardstart::job::{
    Entry, EntryBody, Finding, JobState, Mark, Proof, finding_proof, state, verification,
    work_proofs,
};

use crate::shop::{holds, job, knowledge, of, whole};

#[test]
fn sm_21_something_else_remains() {
    let r = whole("sm-21");
    let left = 100.0 * (1.0 - r.healthy);
    holds!(r, left, >=, 60.0);
    // The new plug is not what is left, unless it was bad from the box.
    holds!(r, of(&r, "plug.dead:2"), <, 15.0);
}

#[test]
fn sm_21_cannot_be_closed_as_proven() {
    let mut job = job("sm-21");
    let proofs = work_proofs(&job, knowledge());
    assert_eq!(proofs.len(), 1);
    assert_eq!(proofs[0].proof, Proof::Believed);
    assert!(!verification(&job, knowledge()).is_proven());
    let finding = Finding {
        fault: "plug.dead".to_owned(),
        cylinder: Some(2),
        proof: Some(Proof::Cured),
    };
    assert_eq!(finding_proof(&job, &finding, knowledge()), Proof::Believed);
    let last: Entry = job.entries[job.entries.len() - 1].clone();
    job.entries.push(Entry {
        body: EntryBody::Mark(Mark::Done),
        ..last
    });
    assert_eq!(state(&job, knowledge()), JobState::DoneNotProven);
}

#[test]
fn kl_40_can_end_left_as_is() {
    let mut job = job("kl-40");
    let last: Entry = job.entries[job.entries.len() - 1].clone();
    job.entries.push(Entry {
        body: EntryBody::Mark(Mark::LeftAsIs),
        ..last
    });
    assert_eq!(state(&job, knowledge()), JobState::LeftAsIs);
}
