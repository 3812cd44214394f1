//! Entries that do not fit together.
//!
//! ```text
//! bits = log2( prod_i P(e_i | complaint) / P(e | complaint) )
//! ```
//! is positive when the entries are likelier apart than together (the conflict measure of the
//! field; base two). The pair that clashes is the one with the greatest measure of its own.
//! Must not blame a part.

use super::answer::Misfit;
use super::error::DiagnosisError;
use super::reckoner::Reckoner;
use crate::evidence::{Item, Source};

/// Bits from which a person is told; three bits are odds of eight to one. Own judgement.
const TELL: f64 = 3.0;
/// Most readings that are paired where the whole gives no sign of a clash.
const PAIRED: usize = 8;

/// The misfit of all evidence of a job, over all kinds of engine it may be about.
pub(super) fn misfit(reckoner: &Reckoner<'_>) -> Result<Misfit, DiagnosisError> {
    let items = &reckoner.evidence.cases[0].items;
    if items.len() < 2 {
        return Ok(Misfit::default());
    }
    let n = items.len();
    let only = |wanted: &[usize]| (0..n).map(|i| wanted.contains(&i)).collect::<Vec<_>>();
    let mut subsets = vec![vec![false; n], vec![true; n]];
    subsets.extend((0..n).map(|i| only(&[i])));
    let logs = reckoner.log_evidence(&subsets)?;
    let (none, all) = (logs[0], logs[1]);
    let alone = logs[2..].iter().map(|l| l - none).collect::<Vec<_>>();
    let bits = (alone.iter().sum::<f64>() - (all - none)) / std::f64::consts::LN_2;
    // One clash may hide among many entries that agree: readings are held against each other.
    let readings = (0..items.len())
        .filter(|i| {
            let source = &items[*i].source;
            matches!(source, Source::Reading { .. } | Source::Timings { .. })
        })
        .take(PAIRED)
        .collect::<Vec<_>>();
    let candidates = if bits >= TELL {
        (0..items.len()).collect()
    } else {
        readings
    };
    let pairs = candidates
        .iter()
        .enumerate()
        .flat_map(|(n, first)| candidates[n + 1..].iter().map(|second| (*first, *second)))
        .collect::<Vec<_>>();
    let subsets = pairs.iter().map(|(a, b)| only(&[*a, *b]));
    let together = reckoner.log_evidence(&subsets.collect::<Vec<_>>())?;
    let mut worst: Option<(f64, usize, usize)> = None;
    for ((first, second), both) in pairs.into_iter().zip(together) {
        let clash = (alone[first] + alone[second] - (both - none)) / std::f64::consts::LN_2;
        if worst.is_none_or(|w| clash > w.0) {
            worst = Some((clash, first, second));
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

fn repeat(item: &Item) -> Option<(String, Option<u8>)> {
    match &item.source {
        Source::Reading { check, cylinder } => Some((check.clone(), *cylinder)),
        Source::Timings { check } => Some((check.clone(), None)),
        _ => None,
    }
}
