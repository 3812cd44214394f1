//! Whether readings clash, so that one of them is to be taken again before all else.
//!
//! Two things together: nearly all the chances lie on hypotheses under which some reading is a
//! gross error, and a suspect reading is much less likely beside another entry than apart from it,
//!
//! ```text
//! log2( P(a) P(b) / P(a, b) ) >= 3      (each given the complaint)
//! ```
//!
//! Then every total stands on a reading that is wrong, and no figure of a plan can be trusted until
//! it is known which. Must not say what to repeat.

use crate::diagnosis::Reckoner;
use crate::evidence::Evidence;

/// Chance that some reading is a gross error from which a clash is looked for. Own judgement.
const DOUBT: f64 = 0.8;
/// Bits from which two entries clash; odds of eight to one. Own judgement.
const BITS: f64 = 3.0;

/// Whether one of the suspect readings (positions in the job) clashes with another entry. What
/// cannot be reckoned does not clash.
pub(super) fn clash(evidence: &Evidence, suspects: &[usize], doubt: f64) -> bool {
    doubt >= DOUBT && most_bits(evidence, suspects).is_some_and(|bits| bits >= BITS)
}

/// Bits of the worst pair with a suspect reading in it.
fn most_bits(evidence: &Evidence, suspects: &[usize]) -> Option<f64> {
    let items = &evidence.cases.first()?.items;
    let n = items.len();
    let only = |wanted: &[usize]| (0..n).map(|i| wanted.contains(&i)).collect::<Vec<_>>();
    let suspect = |i: &usize| suspects.contains(&items[*i].entry);
    let pairs = (0..n)
        .filter(suspect)
        .flat_map(|a| (0..n).filter(move |b| *b != a).map(move |b| [a, b]))
        .collect::<Vec<_>>();
    let mut subsets = vec![only(&[])];
    subsets.extend((0..n).map(|i| only(&[i])));
    subsets.extend(pairs.iter().map(|pair| only(pair)));
    let reckoner = Reckoner::new(evidence).ok()?;
    let logs = reckoner.log_evidence(&subsets).ok()?;
    let bits = |(pair, both): (&[usize; 2], &f64)| {
        let apart = logs[1 + pair[0]] + logs[1 + pair[1]];
        (apart - logs[0] - both) / std::f64::consts::LN_2
    };
    let each = pairs.iter().zip(&logs[1 + n..]).map(bits);
    each.filter(|bits| bits.is_finite()).reduce(f64::max)
}
