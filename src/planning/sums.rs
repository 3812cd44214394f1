//! Sums over states, and the greatest of them, in eight running parts so that the adds need not wait for each other.
//!
//! The order of adding is fixed, so results are the same on every machine. Must not hold
//! anything else.

const PARTS: usize = 8;

/// Sum.
pub(super) fn sum(a: &[f64]) -> f64 {
    let mut parts = [0.0; PARTS];
    let mut chunks = a.chunks_exact(PARTS);
    for c in &mut chunks {
        for i in 0..PARTS {
            parts[i] += c[i];
        }
    }
    fold(parts) + chunks.remainder().iter().sum::<f64>()
}

/// Sum of products.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut parts = [0.0; PARTS];
    let n = a.len().min(b.len());
    let (a, b) = (&a[..n], &b[..n]);
    let (mut left, mut right) = (a.chunks_exact(PARTS), b.chunks_exact(PARTS));
    for (x, y) in (&mut left).zip(&mut right) {
        for i in 0..PARTS {
            parts[i] += x[i] * y[i];
        }
    }
    let rest = left.remainder().iter().zip(right.remainder());
    fold(parts) + rest.map(|(x, y)| x * y).sum::<f64>()
}

/// Greatest, at least nought.
pub(super) fn max(a: &[f64]) -> f64 {
    let mut parts = [0.0; PARTS];
    let greater = |a: f64, b: f64| if b > a { b } else { a };
    let mut chunks = a.chunks_exact(PARTS);
    for c in &mut chunks {
        for i in 0..PARTS {
            parts[i] = greater(parts[i], c[i]);
        }
    }
    let rest = chunks.remainder().iter();
    parts.iter().chain(rest).fold(0.0, |a, &b| greater(a, b))
}

/// Weighs `belief` by `copied + fresh * row` into `after`; returns the mass.
pub(super) fn weigh(
    belief: &[f64],
    row: &[f64],
    (copied, fresh): (f64, f64),
    after: &mut [f64],
) -> f64 {
    for ((a, &b), &l) in after.iter_mut().zip(belief).zip(row) {
        *a = b * (copied + fresh * l);
    }
    sum(after)
}

fn fold(p: [f64; PARTS]) -> f64 {
    ((p[0] + p[4]) + (p[1] + p[5])) + ((p[2] + p[6]) + (p[3] + p[7]))
}
