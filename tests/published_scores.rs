//! Scores, intervals and isotonic regression against published or outside figures.

use hardstart::scoring::interval::{bootstrap_mean, clopper_pearson, wilson};
use hardstart::scoring::isotonic::{Point, isotonic};
use hardstart::scoring::measure::{Forecast, brier, decompose, log_loss};

fn near(got: f64, wanted: f64, by: f64) {
    assert!((got - wanted).abs() <= by, "{got} {wanted}");
}

/// The user guide of scikit-learn (recalled; recomputed with 1.9.1), and a small mixed set by
/// hand.
#[test]
fn brier_and_log_loss() {
    let pairs = [(0.1, false), (0.9, true), (0.8, true), (0.3, false)];
    near(brier(&pairs), 0.0375, 1e-12);
    let spam = [(0.9, true), (0.9, true), (0.8, true), (0.65, true)];
    near(log_loss(&spam), 0.216_161_874_680_579, 1e-12);
    let mixed = [
        (0.9, true),
        (0.8, true),
        (0.3, false),
        (0.6, false),
        (0.1, false),
    ];
    near(brier(&mixed), 0.102, 1e-12);
    near(log_loss(&mixed), 0.341_366_051_689, 1e-12);
}

/// Rain forecasts in twelve bins, Wilks table 7.3 as the R package `verification` holds them,
/// with the two weights that are misprinted there put right; results recomputed in R.
#[test]
fn decomposition_of_rain_forecasts() {
    let bins = [
        (0.0, 0.4112, 0.006),
        (0.05, 0.0671, 0.019),
        (0.1, 0.1833, 0.059),
        (0.2, 0.0986, 0.150),
        (0.3, 0.0616, 0.277),
        (0.4, 0.0366, 0.377),
        (0.5, 0.0303, 0.511),
        (0.6, 0.0275, 0.587),
        (0.7, 0.0245, 0.723),
        (0.8, 0.0220, 0.779),
        (0.9, 0.0170, 0.934),
        (1.0, 0.0203, 0.933),
    ];
    let bins = bins.map(|(forecast, weight, observed)| Forecast {
        weight,
        forecast,
        observed,
    });
    let parts = decompose(&bins);
    near(parts.reliability, 0.000_828, 1e-6);
    near(parts.resolution, 0.062_787, 1e-6);
    near(parts.uncertainty, 0.135_420, 1e-6);
    near(parts.brier(), 0.073_461, 1e-6);
    near(parts.skill(), 0.4575, 1e-4);
}

/// Identity of Murphy 1973: exact where all forecasts of a bin are equal.
#[test]
fn parts_add_to_the_score() {
    let bins = [(0.2, 10_u32, 3_u32), (0.5, 8, 4), (0.9, 7, 6)];
    let mut pairs = Vec::new();
    let mut forecasts = Vec::new();
    for (p, n, hits) in bins {
        pairs.extend((0..n).map(|i| (p, i < hits)));
        forecasts.push(Forecast {
            weight: f64::from(n),
            forecast: p,
            observed: f64::from(hits) / f64::from(n),
        });
    }
    near(decompose(&forecasts).brier(), brier(&pairs), 1e-12);
}

/// Newcombe 1998, table I (Wilson and exact), and small samples recomputed in R.
#[test]
fn intervals_of_a_share() {
    let table = [
        (81, 263, [0.2553, 0.3662], [0.2527, 0.3676]),
        (15, 148, [0.0624, 0.1605], [0.0578, 0.1617]),
        (0, 20, [0.0, 0.1611], [0.0, 0.1684]),
        (1, 29, [0.0061, 0.1718], [0.0009, 0.1776]),
        (4, 20, [0.080_658, 0.416_017], [0.057_334, 0.436_614]),
        (0, 10, [0.0, 0.277_533], [0.0, 0.308_497]),
        (5, 10, [0.236_593, 0.763_407], [0.187_086, 0.812_914]),
        (3, 3, [0.438_503, 1.0], [0.292_402, 1.0]),
        (0, 3, [0.0, 0.561_497], [0.0, 0.707_598]),
    ];
    for (x, n, score, exact) in table {
        let got = wilson(f64::from(x), f64::from(n), 0.95);
        near(got.low, score[0], 5e-5);
        near(got.high, score[1], 5e-5);
        let got = clopper_pearson(u64::try_from(x).unwrap(), u64::try_from(n).unwrap(), 0.95);
        near(got.low, exact[0], 5e-5);
        near(got.high, exact[1], 5e-5);
    }
}

/// The treated mice of Efron and Tibshirani 1993, table 2.1: percentile interval of the mean held
/// against all 7^7 resamples. The tail of 20 000 draws is known to 0.0011 of its 0.025, which is
/// less than 1.5 there; table 13.1 prints 45.9 to 135.4 from 1 000 draws, known to about 6.
#[test]
fn bootstrap_of_the_mice() {
    let treated = [94.0, 197.0, 16.0, 38.0, 99.0, 141.0, 23.0];
    let mut all = vec![0.0];
    for _ in 0..7 {
        all = all
            .iter()
            .flat_map(|s| treated.map(|t| s + t))
            .collect::<Vec<f64>>();
    }
    all.sort_by(f64::total_cmp);
    let tail = all.len() / 40;
    let exact = [all[tail] / 7.0, all[all.len() - 1 - tail] / 7.0];
    let got = bootstrap_mean(&treated, 20_000, 0.95, 1).unwrap();
    near(got.low, exact[0], 1.5);
    near(got.high, exact[1], 1.5);
    near(exact[0], 45.9, 6.0);
    near(exact[1], 135.4, 6.0);
}

/// Least squares under order by hand, and what pooling gives with weights and ties.
#[test]
fn isotonic_by_hand() {
    let point = |x: f64, y: f64, weight: f64| Point { x, y, weight };
    // 1, 3, 2, 4 -> 3 and 2 are pooled to 2.5.
    let curve = isotonic(&[
        point(1.0, 1.0, 1.0),
        point(2.0, 3.0, 1.0),
        point(3.0, 2.0, 1.0),
        point(4.0, 4.0, 1.0),
    ]);
    let heights = curve.steps.iter().map(|s| s.1).collect::<Vec<_>>();
    assert_eq!(heights, [1.0, 2.5, 2.5, 4.0]);
    // Weights 3 and 1: (3 * 3 + 2) / 4 = 2.75. Unsorted input, and a point without weight.
    let curve = isotonic(&[
        point(3.0, 2.0, 1.0),
        point(1.0, 1.0, 1.0),
        point(2.0, 3.0, 3.0),
        point(9.0, 0.0, 0.0),
    ]);
    let heights = curve.steps.iter().map(|s| s.1).collect::<Vec<_>>();
    assert_eq!(heights, [1.0, 2.75, 2.75]);
    near(curve.at(1.5).unwrap(), 1.875, 1e-12);
    near(curve.at(0.0).unwrap(), 1.0, 1e-12);
    near(curve.at(7.0).unwrap(), 2.75, 1e-12);
}

/// Rising curves of another library: scikit-learn 1.9.1 by `tests/bench/isotonic_reference.py`;
/// unsorted points with weights and ties, asked between, on and beyond them.
#[test]
fn isotonic_as_in_scikit_learn() {
    let text = std::fs::read_to_string("data/isotonic_reference.json").unwrap();
    let reference: serde_json::Value = serde_json::from_str(&text).unwrap();
    let numbers = |value: &serde_json::Value| {
        let list = value.as_array().unwrap().iter();
        list.map(|x| x.as_f64().unwrap()).collect::<Vec<_>>()
    };
    let cases = reference["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 20);
    for case in cases {
        let points = case["points"].as_array().unwrap().iter().map(|p| {
            let [x, y, weight] = numbers(p)[..] else {
                panic!("{p}");
            };
            Point { x, y, weight }
        });
        let curve = isotonic(&points.collect::<Vec<_>>());
        for (x, wanted) in numbers(&case["asked"]).iter().zip(numbers(&case["curve"])) {
            near(curve.at(*x).unwrap(), wanted, 1e-12);
        }
    }
}
