//! Dixon's ratio tests for one outlier in a small normal sample.
//!
//! The ratio is a gap over a range: `r10` for 3 to 7 values, `r11` for 8 to 10, `r21` for 11 to
//! 13, `r22` for 14 to 30. Source of the scheme: Dixon 1953; ASTM E178; NIST manual. Must not
//! decide anything about plugs.

use serde::Serialize;

/// Which gap is taken over which range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum DixonRatio {
    /// Next value over the whole range.
    R10,
    /// Next value; the range leaves out the other end value.
    R11,
    /// Next but one; the range leaves out the other end value.
    R21,
    /// Next but one; the range leaves out two values of the other end.
    R22,
}

/// One-sided level of a critical value; for a test of both ends the level doubles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Significance {
    /// 5 % one-sided, 10 % two-sided.
    FivePercent,
    /// 2.5 % one-sided, 5 % two-sided.
    TwoAndAHalfPercent,
    /// 1 % one-sided, 2 % two-sided.
    OnePercent,
    /// 0.5 % one-sided, 1 % two-sided.
    HalfPercent,
}

/// What Dixon's test says of a sample: the end with the larger ratio.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dixon {
    /// Which ratio fits this number of values.
    pub kind: DixonRatio,
    /// Ratio at the low end.
    pub low: f64,
    /// Ratio at the high end.
    pub high: f64,
    /// Position of the value at the end with the larger ratio.
    pub index: usize,
    /// Two-sided critical value at 5 %.
    pub critical: f64,
    /// Whether the larger ratio exceeds it.
    pub rejects: bool,
}

/// Critical values for 3 to 30 values: 5, 2.5, 1 and 0.5 % one-sided.
///
/// Source: exact values from an independent package, 14 of them re-derived by double
/// integration; they agree with Rorabacher 1991 (two-sided) but for its misprint at n = 4, 1 %.
const CRITICAL: [[f64; 4]; 28] = [
    [0.9413, 0.9702, 0.9880, 0.9940],
    [0.7655, 0.8298, 0.8894, 0.9207],
    [0.6424, 0.7102, 0.7810, 0.8232],
    [0.5624, 0.6275, 0.6983, 0.7427],
    [0.5073, 0.5690, 0.6372, 0.6811],
    [0.5540, 0.6150, 0.6809, 0.7223],
    [0.5112, 0.5700, 0.6342, 0.6752],
    [0.4779, 0.5346, 0.5971, 0.6372],
    [0.5749, 0.6223, 0.6744, 0.7076],
    [0.5457, 0.5921, 0.6434, 0.6764],
    [0.5212, 0.5667, 0.6171, 0.6497],
    [0.5455, 0.5908, 0.6405, 0.6724],
    [0.5240, 0.5686, 0.6177, 0.6493],
    [0.5054, 0.5493, 0.5977, 0.6290],
    [0.4891, 0.5323, 0.5801, 0.6111],
    [0.4746, 0.5172, 0.5644, 0.5951],
    [0.4617, 0.5037, 0.5504, 0.5808],
    [0.4501, 0.4916, 0.5378, 0.5678],
    [0.4396, 0.4806, 0.5263, 0.5561],
    [0.4301, 0.4705, 0.5158, 0.5453],
    [0.4213, 0.4613, 0.5061, 0.5354],
    [0.4133, 0.4529, 0.4973, 0.5263],
    [0.4058, 0.4451, 0.4891, 0.5179],
    [0.3989, 0.4378, 0.4815, 0.5100],
    [0.3925, 0.4311, 0.4744, 0.5027],
    [0.3866, 0.4248, 0.4677, 0.4959],
    [0.3810, 0.4189, 0.4615, 0.4895],
    [0.3757, 0.4133, 0.4557, 0.4835],
];

/// Dixon's test; `None` outside 3 to 30 values or when the range is nil.
pub fn dixon(values: &[f64]) -> Option<Dixon> {
    let n = values.len();
    let critical = dixon_critical(n, Significance::TwoAndAHalfPercent)?;
    let kind = ratio_for(n)?;
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let x = |rank: usize| values[order[rank]];
    let (gap, trim) = match kind {
        DixonRatio::R10 => (1, 0),
        DixonRatio::R11 => (1, 1),
        DixonRatio::R21 => (2, 1),
        DixonRatio::R22 => (2, 2),
    };
    let ratio = |gap: f64, range: f64| (range > 0.0).then(|| gap / range);
    let low = ratio(x(gap) - x(0), x(n - 1 - trim) - x(0));
    let high = ratio(x(n - 1) - x(n - 1 - gap), x(n - 1) - x(trim));
    if low.is_none() && high.is_none() {
        return None;
    }
    let (low, high) = (low.unwrap_or(0.0), high.unwrap_or(0.0));
    Some(Dixon {
        kind,
        low,
        high,
        index: if low > high { order[0] } else { order[n - 1] },
        critical,
        rejects: low.max(high) > critical,
    })
}

/// Critical value for `n` values; `None` outside 3 to 30.
pub fn dixon_critical(n: usize, level: Significance) -> Option<f64> {
    let row = CRITICAL.get(n.checked_sub(3)?)?;
    Some(match level {
        Significance::FivePercent => row[0],
        Significance::TwoAndAHalfPercent => row[1],
        Significance::OnePercent => row[2],
        Significance::HalfPercent => row[3],
    })
}

/// Exact one-sided critical value for three values:
/// `(1 + √3 tan(π(1−α)/3 − π/6)) / 2`. Source: closed form of the density (McBane 2006, recalled).
pub fn dixon_n3(alpha: f64) -> f64 {
    let angle = std::f64::consts::PI * ((1.0 - alpha) / 3.0 - 1.0 / 6.0);
    (1.0 + 3.0_f64.sqrt() * angle.tan()) / 2.0
}

fn ratio_for(n: usize) -> Option<DixonRatio> {
    match n {
        3..=7 => Some(DixonRatio::R10),
        8..=10 => Some(DixonRatio::R11),
        11..=13 => Some(DixonRatio::R21),
        14..=30 => Some(DixonRatio::R22),
        _ => None,
    }
}
