//! Entries that do not fit together.
//!
//! ```text
//! bits = log2( prod_i P(e_i | complaint) / P(e | complaint) )
//! ```
//! is positive when the entries are likelier apart than together (the conflict measure of the
//! field; base two). The pair that clashes is the one with the greatest measure of its own.
//! Must not blame a part.

use super::answer::Misfit;
use super::reckon::{DiagnosisError, Reckoner};
use crate::evidence::{Item, Source};

/// Bits from which a person is told; three bits are odds of eight to one. Own judgement.
const TELL: f64 = 3.0;
/// Most items that are paired; the first ones by their own measure.
const PAIRED: usize = 8;

/// The misfit of all evidence of a job, on the likeliest kind of engine.
pub(super) fn misfit(reckoner: &Reckoner<'_>) -> Result<Misfit, DiagnosisError> {
    let items = &reckoner.evidence.cases[0].items;
    if items.len() < 2 {
        return Ok(Misfit::default());
    }
    let none = mix(reckoner, &reckoner.log_evidence(|_| false)?);
    let all = mix(reckoner, &reckoner.log_evidence(|_| true)?);
    let mut alone = Vec::new();
    for at in 0..items.len() {
        alone.push(mix(reckoner, &reckoner.log_evidence(|i| i == at)?) - none);
    }
    let bits = (alone.iter().sum::<f64>() - (all - none)) / std::f64::consts::LN_2;
    // One clash may hide among many entries that agree: each is also held against the others.
    let mut against = Vec::new();
    for (at, own) in alone.iter().enumerate() {
        let rest = mix(reckoner, &reckoner.log_evidence(|i| i != at)?) - none;
        against.push(((own + rest - (all - none)) / std::f64::consts::LN_2, at));
    }
    against.sort_by(|a, b| b.0.total_cmp(&a.0));
    if bits < TELL && against[0].0 < TELL {
        return Ok(Misfit {
            bits,
            ..Misfit::default()
        });
    }
    let first = against[0].1;
    let mut worst = (f64::NEG_INFINITY, against[1].1);
    for (_, other) in against.iter().skip(1).take(PAIRED) {
        let pair = mix(
            reckoner,
            &reckoner.log_evidence(|i| i == first || i == *other)?,
        ) - none;
        let clash = alone[first] + alone[*other] - pair;
        if clash > worst.0 {
            worst = (clash, *other);
        }
    }
    let mut entries = vec![items[first].entry, items[worst.1].entry];
    entries.dedup();
    Ok(Misfit {
        bits: bits.max(against[0].0),
        entries,
        repeat: [first, worst.1].into_iter().find_map(|i| repeat(&items[i])),
    })
}

fn mix(reckoner: &Reckoner<'_>, logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = logs
        .iter()
        .zip(&reckoner.evidence.cases)
        .map(|(l, c)| c.weight * (l - most).exp())
        .sum();
    most + sum.ln()
}

fn repeat(item: &Item) -> Option<(String, Option<u8>)> {
    match &item.source {
        Source::Reading { check, cylinder } => Some((check.clone(), *cylinder)),
        Source::Timings { check } => Some((check.clone(), None)),
        _ => None,
    }
}
