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
/// Most readings that are paired where the whole gives no sign of a clash.
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
    // One clash may hide among many entries that agree: readings are held against each other.
    let readings = (0..items.len())
        .filter(|i| !matches!(items[*i].source, Source::Seen { .. } | Source::Told { .. }))
        .take(PAIRED)
        .collect::<Vec<_>>();
    let candidates = if bits >= TELL {
        (0..items.len()).collect()
    } else {
        readings
    };
    let mut worst: Option<(f64, usize, usize)> = None;
    for (n, first) in candidates.iter().enumerate() {
        for second in &candidates[n + 1..] {
            let both = |i: usize| i == *first || i == *second;
            let pair = mix(reckoner, &reckoner.log_evidence(both)?) - none;
            let clash = (alone[*first] + alone[*second] - pair) / std::f64::consts::LN_2;
            if worst.is_none_or(|w| clash > w.0) {
                worst = Some((clash, *first, *second));
            }
        }
    }
    let Some((clash, first, second)) = worst.filter(|w| bits >= TELL || w.0 >= TELL) else {
        return Ok(Misfit {
            bits,
            ..Misfit::default()
        });
    };
    let mut entries = vec![items[first].entry, items[second].entry];
    entries.dedup();
    Ok(Misfit {
        bits: bits.max(clash),
        entries,
        repeat: [first, second].into_iter().find_map(|i| repeat(&items[i])),
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
