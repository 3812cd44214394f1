//! Outlier rules against published samples and tables; the source stands beside each check.
//! Figures marked "second implementation" were recomputed with scipy or dixonstat, not published.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use hardstart::evidence::trials::reference::*;

/// Tietjen & Moore 1972, Technometrics 14:3: atomic masses.
const MASS: [f64; 8] = [
    199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57,
];
/// ASTM E178 example 1 / Grubbs 1969: breaking strength of copper wire (recalled).
const WIRE: [f64; 10] = [
    568.0, 570.0, 570.0, 570.0, 572.0, 572.0, 572.0, 578.0, 584.0, 596.0,
];
/// The subset of it in the NIST Dataplot manual.
const WIRE8: [f64; 8] = [568.0, 570.0, 570.0, 570.0, 572.0, 578.0, 584.0, 596.0];
/// Dean & Dixon 1951.
const DEAN_DIXON: [f64; 6] = [40.02, 40.12, 40.16, 40.18, 40.18, 40.20];
/// Chauvenet's residuals of Venus (Grubbs 1950; NIST file TIETMOO1).
const VENUS: [f64; 15] = [
    -1.40, -0.44, -0.30, -0.24, -0.22, -0.13, -0.05, 0.06, 0.10, 0.18, 0.20, 0.39, 0.48, 0.63, 1.01,
];
/// Rosner 1983, Technometrics 25:165; NIST file ROSNER.
const ROSNER: [f64; 54] = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58,
    1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23,
    2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30,
    3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
];
/// ISO 16269-4, 4.3.2 (as given in a public R file).
const ISO: [f64; 20] = [
    -2.21, -1.84, -0.95, -0.91, -0.36, -0.19, -0.11, -0.10, 0.18, 0.30, 0.43, 0.51, 0.64, 0.67,
    0.93, 1.22, 1.35, 1.73, 5.80, 12.60,
];

/// Newcomb 1882 (Stigler 1977), NIST file: sorted passage times, written as (value, how often).
fn newcomb() -> Vec<f64> {
    let runs = [
        (-44, 1),
        (-2, 1),
        (16, 2),
        (19, 1),
        (20, 1),
        (21, 2),
        (22, 2),
        (23, 3),
        (24, 5),
        (25, 5),
        (26, 5),
        (27, 6),
        (28, 7),
        (29, 5),
        (30, 3),
        (31, 2),
        (32, 5),
        (33, 2),
        (34, 1),
        (36, 4),
        (37, 1),
        (39, 1),
        (40, 1),
    ];
    runs.iter()
        .flat_map(|&(v, n)| std::iter::repeat_n(f64::from(v), n))
        .collect()
}

/// Source: NIST/SEMATECH e-Handbook 1.3.5.17.1 prints 2.4687 (cut off, not rounded) and 2.032
/// (one-sided 5 %); long figures: second implementation.
#[test]
fn grubbs_of_the_masses() {
    let g = grubbs(&MASS).unwrap();
    assert_abs_diff_eq!(g.statistic, 2.4687, epsilon = 1e-4);
    assert_abs_diff_eq!(g.statistic, 2.468_764_611, epsilon = 1e-9);
    assert_abs_diff_eq!(g.mean, 206.433_75, epsilon = 1e-9);
    assert_abs_diff_eq!(g.deviation, 15.852_564_405, epsilon = 1e-9);
    assert_eq!((g.index, g.rejects), (7, true));
    assert_abs_diff_eq!(g.critical, 2.126_645_087, epsilon = 1e-9);
    let one_sided = grubbs_critical(8, 0.05, Sides::One).unwrap();
    assert_abs_diff_eq!(one_sided, 2.032, epsilon = 5e-4);
    assert_abs_diff_eq!(one_sided, 2.031_652_002, epsilon = 1e-9);
    let p = grubbs_p_one_sided(g.statistic, 8).unwrap();
    assert_relative_eq!(p, 1.501_319e-7, max_relative = 1e-5);
}

/// Source: ASTM E178 example 1 prints T 2.39, critical 2.18 (5 %) and 2.41 (1 %), one-sided.
#[test]
fn grubbs_of_the_wire() {
    let g = grubbs(&WIRE).unwrap();
    assert_abs_diff_eq!(g.statistic, 2.39, epsilon = 5e-3);
    assert_abs_diff_eq!(g.statistic, 2.390_120, epsilon = 1e-5);
    let five = grubbs_critical(10, 0.05, Sides::One).unwrap();
    let one = grubbs_critical(10, 0.01, Sides::One).unwrap();
    assert_abs_diff_eq!(five, 2.18, epsilon = 5e-3);
    assert_abs_diff_eq!(one, 2.41, epsilon = 5e-3);
    assert!(five < g.statistic && g.statistic < one);
}

/// Source: ASTM E178 prints s 0.551 and 2.574 for the low end (recalled).
#[test]
fn grubbs_of_venus() {
    let g = grubbs(&VENUS).unwrap();
    assert_abs_diff_eq!(g.deviation, 0.551, epsilon = 5e-4);
    assert_abs_diff_eq!(g.statistic, 2.574, epsilon = 5e-4);
    assert_abs_diff_eq!(g.statistic, 2.573_737, epsilon = 1e-6);
    assert_eq!(g.index, 0);
}

/// Source: two printed tables that agree to 3 decimals (LibreTexts appendix 7 but for its
/// misprints at n = 7, 5 % and n = 15, 1 %; a national measurement site, two-sided).
#[test]
fn grubbs_critical_table() {
    for (n, one_5, two_5, one_1, two_1) in [
        (3, 1.1531, 1.1543, 1.1546, 1.1547),
        (4, 1.4625, 1.4813, 1.4925, 1.4962),
        (5, 1.6714, 1.7150, 1.7489, 1.7637),
        (6, 1.8221, 1.8871, 1.9442, 1.9728),
        (7, 1.9381, 2.0200, 2.0973, 2.1391),
        (8, 2.0317, 2.1266, 2.2208, 2.2744),
        (9, 2.1096, 2.2150, 2.3231, 2.3868),
        (10, 2.1761, 2.2900, 2.4097, 2.4821),
        (15, 2.4090, 2.5483, 2.7049, 2.8061),
        (20, 2.5566, 2.7082, 2.8838, 3.0008),
        (25, 2.6629, 2.8217, 3.0086, 3.1353),
        (30, 2.7451, 2.9085, 3.1029, 3.2361),
    ] {
        let g = |alpha, sides| grubbs_critical(n, alpha, sides).unwrap();
        assert_abs_diff_eq!(g(0.05, Sides::One), one_5, epsilon = 6e-5);
        assert_abs_diff_eq!(g(0.05, Sides::Two), two_5, epsilon = 6e-5);
        assert_abs_diff_eq!(g(0.01, Sides::One), one_1, epsilon = 6e-5);
        assert_abs_diff_eq!(g(0.01, Sides::Two), two_1, epsilon = 6e-5);
        // Two-sided 5 % is one-sided 2.5 %.
        assert_abs_diff_eq!(g(0.025, Sides::One), g(0.05, Sides::Two), epsilon = 1e-12);
    }
    assert_eq!(grubbs_critical(2, 0.05, Sides::Two), None);
    assert_eq!(grubbs(&[8.2, 8.2, 8.2]), None);
}

/// Source: e-Handbook 1.3.5.17: no z score of n values exceeds (n−1)/√n.
#[test]
fn three_deviations_never_fire_in_ten_values() {
    for (n, bound) in [
        (3, 1.154_701),
        (5, 1.788_854),
        (8, 2.474_874),
        (10, 2.846_050),
        (11, 3.015_113),
    ] {
        assert_abs_diff_eq!(largest_possible_z(n), bound, epsilon = 5e-7);
    }
    let wild = [8.1, 8.2, 8.3, 8.2, 8.1, 8.4, 8.2, 8.3, 8.2, 900.0];
    assert!(grubbs(&wild).unwrap().statistic < 3.0);
    // With three trials the two-sided 5 % limit sits 0.0004 below the bound.
    let limit = grubbs_critical(3, 0.05, Sides::Two).unwrap();
    assert_abs_diff_eq!(largest_possible_z(3) - limit, 0.0004, epsilon = 5e-5);
}

/// Source: closed form; agrees with numerical integration (second implementation).
#[test]
fn dixon_for_three_values() {
    for (alpha, value) in [
        (0.10, 0.885_579_352_0),
        (0.05, 0.941_261_983_1),
        (0.025, 0.970_213_429_0),
        (0.01, 0.987_980_236_3),
        (0.005, 0.993_972_169_2),
    ] {
        assert_abs_diff_eq!(dixon_n3(alpha), value, epsilon = 1e-9);
    }
    for (alpha, level) in [
        (0.05, Significance::FivePercent),
        (0.025, Significance::TwoAndAHalfPercent),
        (0.01, Significance::OnePercent),
        (0.005, Significance::HalfPercent),
    ] {
        assert_abs_diff_eq!(
            dixon_critical(3, level).unwrap(),
            dixon_n3(alpha),
            epsilon = 5e-5
        );
    }
}

/// Source: Rorabacher 1991, Anal. Chem. 63:139, r10 two-sided 10, 5 and 1 % as reprinted; its
/// reprinted 0.926 at n = 4, 1 % is a misprint (exact 0.9207).
#[test]
fn dixon_critical_table() {
    for (n, ten, five, one) in [
        (3, 0.941, 0.970, 0.994),
        (4, 0.765, 0.829, 0.921),
        (5, 0.642, 0.710, 0.821),
        (6, 0.560, 0.625, 0.740),
        (7, 0.507, 0.568, 0.680),
    ] {
        let critical = |level| dixon_critical(n, level).unwrap();
        assert_abs_diff_eq!(critical(Significance::FivePercent), ten, epsilon = 0.003);
        assert_abs_diff_eq!(
            critical(Significance::TwoAndAHalfPercent),
            five,
            epsilon = 0.003
        );
        assert_abs_diff_eq!(critical(Significance::HalfPercent), one, epsilon = 0.003);
    }
    assert_eq!(dixon_critical(2, Significance::FivePercent), None);
    assert_eq!(dixon_critical(31, Significance::FivePercent), None);
}

/// Sources: Dean & Dixon 1951; NIST Dataplot manual (12/26); ASTM E178 (0.462 against 0.477;
/// 0.585 against 0.525).
#[test]
fn dixon_of_published_samples() {
    let d = dixon(&DEAN_DIXON).unwrap();
    assert_eq!(d.kind, DixonRatio::R10);
    assert_abs_diff_eq!(d.low, 0.10 / 0.18, epsilon = 1e-9);
    assert!(!d.rejects);

    let d = dixon(&WIRE8).unwrap();
    assert_eq!(d.kind, DixonRatio::R11);
    assert_abs_diff_eq!(d.high, 0.461_538, epsilon = 1e-6);
    assert!(!d.rejects);

    // Kept by Dixon at 5 % one-sided although Grubbs rejects: the two need not agree.
    let d = dixon(&WIRE).unwrap();
    assert_abs_diff_eq!(d.high, 0.462, epsilon = 5e-4);
    let critical = dixon_critical(10, Significance::FivePercent).unwrap();
    assert_abs_diff_eq!(critical, 0.477, epsilon = 1e-3);
    assert!(d.high < critical);

    let d = dixon(&VENUS).unwrap();
    assert_eq!(d.kind, DixonRatio::R22);
    assert_abs_diff_eq!(d.low, 1.10 / 1.88, epsilon = 1e-6);
    let critical = dixon_critical(15, Significance::FivePercent).unwrap();
    assert_abs_diff_eq!(critical, 0.525, epsilon = 1.5e-3);
    assert_eq!(d.index, 0);

    let d = dixon(&MASS).unwrap();
    assert_abs_diff_eq!(d.high, 43.39 / 46.04, epsilon = 1e-6);
    assert!(d.high > dixon_critical(8, Significance::HalfPercent).unwrap());
    assert_eq!((d.index, d.rejects), (7, true));
}

/// Source: Rosner 1983; e-Handbook 1.3.5.17.3 (printed cut off to 3 decimals); 4 decimals by a
/// second implementation.
#[test]
fn generalised_esd_of_rosner() {
    let e = esd(&ROSNER, 10).unwrap();
    let rows = [
        (6.01, 3.1189, 3.1588),
        (5.42, 2.9430, 3.1514),
        (5.34, 3.1794, 3.1439),
        (4.64, 2.8102, 3.1362),
        (-0.25, 2.8156, 3.1282),
        (4.30, 2.8482, 3.1201),
        (3.68, 2.2793, 3.1118),
        (3.59, 2.3104, 3.1032),
        (0.68, 2.1016, 3.0945),
        (3.30, 2.0672, 3.0854),
    ];
    assert_eq!(e.steps.len(), rows.len());
    for (step, (value, statistic, critical)) in e.steps.iter().zip(rows) {
        assert_eq!(ROSNER[step.index], value);
        assert_abs_diff_eq!(step.statistic, statistic, epsilon = 6e-5);
        assert_abs_diff_eq!(step.critical, critical, epsilon = 6e-5);
    }
    // The largest step that exceeds counts, although the first two do not (masking): a single
    // Grubbs test on the same sample finds nothing.
    assert_eq!(e.outliers, 3);
    let g = grubbs(&ROSNER).unwrap();
    assert_abs_diff_eq!(g.statistic, 3.118_906, epsilon = 1e-6);
    assert_abs_diff_eq!(g.critical, 3.158_794, epsilon = 1e-6);
    assert!(!g.rejects);
}

/// Source: data Newcomb 1882 and ISO 16269-4; figures by a second implementation.
#[test]
fn generalised_esd_of_two_more_samples() {
    let e = esd(&newcomb(), 4).unwrap();
    let rows = [
        (6.5342, 3.2357),
        (4.6873, 3.2300),
        (2.4098, 3.2242),
        (2.3687, 3.2182),
    ];
    for (step, (statistic, critical)) in e.steps.iter().zip(rows) {
        assert_abs_diff_eq!(step.statistic, statistic, epsilon = 6e-5);
        assert_abs_diff_eq!(step.critical, critical, epsilon = 6e-5);
    }
    assert_eq!(e.outliers, 2);
    let e = esd(&ISO, 5).unwrap();
    let rows = [
        (3.6559, 2.7082),
        (3.2634, 2.6809),
        (2.1761, 2.6516),
        (2.2543, 2.6200),
        (1.8301, 2.5857),
    ];
    for (step, (statistic, critical)) in e.steps.iter().zip(rows) {
        assert_abs_diff_eq!(step.statistic, statistic, epsilon = 6e-5);
        assert_abs_diff_eq!(step.critical, critical, epsilon = 6e-5);
    }
    assert_eq!(e.outliers, 2);
    assert_eq!(
        (ISO[e.steps[0].index], ISO[e.steps[1].index]),
        (12.60, 5.80)
    );
}

/// Source: e-Handbook 1.3.5.17 (0.6745, 3.5); constants from the normal law.
#[test]
fn modified_z_scores() {
    use statrs::distribution::{ContinuousCDF, Normal};
    let quartile = Normal::standard().inverse_cdf(0.75);
    assert_abs_diff_eq!(quartile, 0.674_489_750_196_081_7, epsilon = 1e-12);
    assert_abs_diff_eq!(MAD_SCALE, quartile, epsilon = 5e-5);
    assert_abs_diff_eq!(
        MEAN_SCALE,
        (std::f64::consts::PI / 2.0).sqrt(),
        epsilon = 1e-15
    );
    // Iglewicz & Hoaglin's illustration (recalled); scores by a second implementation.
    let m = mad(&[2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3]).unwrap();
    assert_abs_diff_eq!(m.median, 2.45, epsilon = 1e-12);
    assert_abs_diff_eq!(m.mad, 0.15, epsilon = 1e-12);
    assert_abs_diff_eq!(m.scores[8], 25.8558, epsilon = 1e-4);
    assert_abs_diff_eq!(m.scores[9], 26.3055, epsilon = 1e-4);
    assert_eq!(m.flagged, vec![8, 9]);
}

/// Source: Newcomb 1882; mean 26.2 and s 10.8 printed in Gelman et al., *BDA* (recalled).
#[test]
fn robust_summary_of_newcomb() {
    let m = mad(&newcomb()).unwrap();
    assert_eq!((m.median, m.mad), (27.0, 3.0));
    assert_abs_diff_eq!(m.scores[0], -15.9632, epsilon = 1e-4);
    assert_abs_diff_eq!(m.scores[1], -6.5202, epsilon = 1e-4);
    let g = grubbs(&newcomb()).unwrap();
    assert_abs_diff_eq!(g.mean, 26.2, epsilon = 0.05);
    // 10.74532 (second implementation); the printed 10.8 is one unit of its last place off.
    assert_abs_diff_eq!(g.deviation, 10.745_32, epsilon = 5e-6);
}

/// Half the trials equal: the median deviation is nil and the mean deviation stands in.
/// Expected: closed form, 6.9 / (1.2533 · 6.9 / 4).
#[test]
fn equal_trials_fall_back_to_the_mean_deviation() {
    let m = mad(&[8.2, 8.2, 8.2, 15.1]).unwrap();
    assert_eq!(m.basis, MadBasis::MeanDeviation);
    assert_abs_diff_eq!(m.scores[3], 4.0 / MEAN_SCALE, epsilon = 1e-9);
    let m = mad(&[8.2, 8.2]).unwrap();
    assert_eq!(m.basis, MadBasis::NoSpread);
    assert_eq!(m.scores, vec![0.0, 0.0]);
    assert_eq!(mad(&[]), None);
}
