//! How sure fitted log-weights are.
//!
//! Their information is that of the starter's pseudo-counts plus the sum over jobs of the outer
//! product of each job's derivatives (Berndt, Hall, Hall and Hausman 1974), so that causes that
//! look alike widen each other's ranges. What labels are worth is fitted from the same jobs and
//! stands in the same matrix: a cause that is seldom found may be rare, or seldom confirmed. Where
//! shops differ, the mean of those met is off that of all shops. Must not fit.

use super::counts::Counts;
use super::moved::{Moved, Starter};

/// Quantile of the normal distribution that leaves a tenth beyond it.
const TENTH: f64 = 1.281_551_565_545;

/// How sure one log-weight is.
#[derive(Debug, Clone, PartialEq)]
pub struct Sureness {
    /// `part.fault`.
    pub fault: String,
    /// Log-weight.
    pub shift: f64,
    /// Its standard deviation.
    pub deviation: f64,
    /// Ends of its 80 % range.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Share of complaints under the starter figures and fitted, fractions.
    pub shares: [f64; 2],
    /// Fully known jobs that would say as much.
    pub jobs: f64,
    /// Whether the jobs said less than the starter figure.
    pub hardly_moved: bool,
}

/// Sureness of every log-weight, in the starter's order.
#[must_use]
pub fn sureness(starter: &Starter, moved: &Moved, counts: &Counts) -> Vec<Sureness> {
    let faults = starter.faults.len();
    let n = faults + starter.confirmed.len() + starter.wrong.len();
    let mut flat = vec![0.0; n * n];
    let mut sums = counts.information.iter();
    for i in 0..n {
        for j in 0..=i {
            let sum = sums.next().map_or(0.0, |s| s.value());
            flat[i * n + j] = sum;
            flat[j * n + i] = sum;
        }
    }
    let mut matrix = flat
        .chunks(n.max(1))
        .map(<[f64]>::to_vec)
        .collect::<Vec<_>>();
    let shift = |id: &String| moved.shift.get(id).copied().unwrap_or(0.0);
    let mut own = Vec::new();
    for (i, (id, pseudo)) in starter.faults.iter().enumerate() {
        let share = pseudo.at(shift(id));
        let before = (pseudo.n * share * (1.0 - share)).max(f64::EPSILON);
        own.push((matrix[i][i], before, share));
        matrix[i][i] += before;
    }
    let labels = (starter.confirmed.iter().map(|l| (l, &moved.confirmed)))
        .chain(starter.wrong.iter().map(|l| (l, &moved.wrong)));
    for (i, ((id, pseudo), now)) in labels.enumerate() {
        let p = now.get(id).copied().unwrap_or(pseudo.p);
        matrix[faults + i][faults + i] += (pseudo.n * p * (1.0 - p)).max(f64::EPSILON);
    }
    #[expect(clippy::cast_precision_loss, reason = "a few shops")]
    let shops = counts.shops.keys().filter(|s| !s.is_empty()).count().max(1) as f64;
    let between = moved.shops_differ * moved.shops_differ / shops;
    let variances = inverse_diagonal(matrix);
    let list = starter.faults.iter().zip(own).zip(variances);
    list.map(|(((id, pseudo), (data, before, share)), variance)| {
        let z = shift(id);
        let deviation = (variance.max(0.0) + between).sqrt();
        let reach = TENTH * deviation;
        Sureness {
            fault: id.clone(),
            shift: z,
            deviation,
            low: z - reach,
            high: z + reach,
            shares: [pseudo.p, share],
            jobs: data / (share * (1.0 - share)),
            hardly_moved: data < before,
        }
    })
    .collect()
}

/// Diagonal of the inverse of a symmetric positive matrix, by elimination with pivots on the
/// diagonal.
fn inverse_diagonal(matrix: Vec<Vec<f64>>) -> Vec<f64> {
    let n = matrix.len();
    let mut rows = matrix;
    for (i, row) in rows.iter_mut().enumerate() {
        row.extend((0..n).map(|j| f64::from(i == j)));
    }
    for i in 0..n {
        let pivot = rows[i][i];
        rows[i].iter_mut().for_each(|x| *x /= pivot);
        let own = rows[i].clone();
        for (j, row) in rows.iter_mut().enumerate() {
            let by = row[i];
            if j != i && by != 0.0 {
                row.iter_mut().zip(&own).for_each(|(x, o)| *x -= by * o);
            }
        }
    }
    (0..n).map(|i| rows[i][n + i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: the inverse of a two-by-two matrix by hand.
    #[test]
    fn causes_that_look_alike_widen_each_other() {
        let found = inverse_diagonal(vec![vec![4.0, 2.0], vec![2.0, 3.0]]);
        assert!((found[0] - 3.0 / 8.0).abs() < 1e-15 && (found[1] - 0.5).abs() < 1e-15);
    }
}
