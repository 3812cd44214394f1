//! Learning from rows with gaps, and drawing shares together, against published figures.

use hardstart::learning::em::{Em, EmFit, EmProblem, EmSettings, Group, Row};
use hardstart::learning::shrink::{BetaPrior, beta_from_moments, components, james_stein};
use hardstart::network::fold::Fold;
use hardstart::network::{Network, Role, VarId, Variable};
use hardstart::scoring::interval::beta_quantile;

fn add(
    network: &mut Network,
    name: &str,
    states: usize,
    drivers: &[VarId],
    init: Vec<f64>,
) -> VarId {
    let variable = Variable {
        name: name.to_owned(),
        states: (0..states).map(|s| s.to_string()).collect(),
        role: Role::Part,
        local: Fold::table(drivers.to_vec(), init),
    };
    network.add(variable).unwrap()
}

fn group(rows: &[(VarId, usize)]) -> Group {
    Group {
        rows: rows.to_vec(),
        pseudo: Vec::new(),
    }
}

fn steps(problem: &EmProblem, most: usize) -> EmFit {
    let settings = EmSettings {
        most,
        enough: f64::NEG_INFINITY,
    };
    Em::new(problem.clone()).unwrap().run(settings).unwrap()
}

fn never_falls(fit: &EmFit) {
    for pair in fit.objective.windows(2) {
        assert!(
            pair[1] >= pair[0] - 1e-9 * pair[0].abs(),
            "{:?}",
            fit.objective
        );
    }
}

/// Dempster, Laird and Rubin 1977, table 1 (and a reproduction): 125, 18, 20, 34 animals in
/// cells of chance 1/2 + t/4, (1-t)/4, (1-t)/4, t/4, from t = 1/2.
#[test]
fn genetic_linkage() {
    let mut network = Network::new();
    let half = add(&mut network, "half", 2, &[], vec![0.5, 0.5]);
    // Only the second half of the animals tells of linkage.
    let linked = add(&mut network, "linked", 2, &[half], vec![0.5; 4]);
    let side = add(&mut network, "side", 2, &[], vec![0.5, 0.5]);
    let mut cells = Vec::new();
    for half in 0..2 {
        for linked in 0..2 {
            for side in 0..2 {
                let cell = match (half, linked, side) {
                    (0, _, _) | (1, 0, 0) => 0,
                    (1, 0, _) => 3,
                    (1, _, 0) => 1,
                    _ => 2,
                };
                cells.extend((0..4).map(|c| f64::from(u8::from(c == cell))));
            }
        }
    }
    let cell = add(&mut network, "cell", 4, &[half, linked, side], cells);
    let row = |state, times| Row {
        states: vec![Some(state)],
        times,
    };
    let problem = EmProblem {
        network,
        groups: vec![group(&[(linked, 1)])],
        observed: vec![cell],
        rows: vec![row(0, 125.0), row(1, 18.0), row(2, 20.0), row(3, 34.0)],
    };
    let published = [
        0.608_247_423,
        0.624_321_050,
        0.626_488_879,
        0.626_777_322,
        0.626_815_632,
        0.626_820_719,
        0.626_821_394,
        0.626_821_484,
    ];
    for (n, wanted) in published.into_iter().enumerate() {
        let fit = steps(&problem, n + 1);
        let t = fit.network.variable(linked).local.init[2];
        assert!((t - wanted).abs() < 2e-9, "step {}: {t}", n + 1);
        never_falls(&fit);
    }
    let limit = (15.0 + 53_809.0_f64.sqrt()) / 394.0;
    let t = steps(&problem, 60).network.variable(linked).local.init[2];
    assert!((t - limit).abs() < 1e-12, "{t}");
}

/// Do and Batzoglou 2008, figure 1: five sets of ten tosses of one of two coins, from .60, .50.
#[test]
fn two_coins() {
    let mut network = Network::new();
    let coin = add(&mut network, "coin", 2, &[], vec![0.5, 0.5]);
    let tosses = (0..10)
        .map(|n| {
            add(
                &mut network,
                &format!("toss{n}"),
                2,
                &[coin],
                vec![0.6, 0.4, 0.5, 0.5],
            )
        })
        .collect::<Vec<_>>();
    let of = |coin| group(&tosses.iter().map(|t| (*t, coin)).collect::<Vec<_>>());
    let row = |heads: usize| Row {
        states: (0..10).map(|n| Some(usize::from(n >= heads))).collect(),
        times: 1.0,
    };
    let problem = EmProblem {
        network,
        groups: vec![of(0), of(1)],
        observed: tosses.clone(),
        rows: [5, 9, 8, 4, 7].map(row).to_vec(),
    };
    let heads = |fit: &EmFit| {
        let init = &fit.network.variable(tosses[0]).local.init;
        (init[0], init[2])
    };
    let (a, b) = heads(&steps(&problem, 1));
    assert!(
        (a - 0.713_012).abs() < 1e-6 && (b - 0.581_339).abs() < 1e-6,
        "{a} {b}"
    );
    let ten = steps(&problem, 10);
    let (a, b) = heads(&ten);
    assert!(
        (a - 0.796_744).abs() < 1e-6 && (b - 0.519_659).abs() < 1e-6,
        "{a} {b}"
    );
    never_falls(&ten);
    let first = Em::new(problem).unwrap().expect().unwrap().1;
    // Expected heads and tails of the first step: 21.3 and 8.6, 11.7 and 8.4.
    for (count, wanted) in first.iter().flatten().zip([21.3, 8.6, 11.7, 8.4]) {
        assert!((count - wanted).abs() < 0.05, "{first:?}");
    }
}

/// Russell and Norvig, section 20.3.2: a hidden class behind three binary marks, 1 000 rows.
#[test]
fn a_hidden_class() {
    let mut network = Network::new();
    let bag = add(&mut network, "bag", 2, &[], vec![0.6, 0.4]);
    let marks = ["flavour", "wrapper", "hole"]
        .map(|name| add(&mut network, name, 2, &[bag], vec![0.4, 0.6, 0.6, 0.4]));
    let mut groups = vec![group(&[(bag, 0)])];
    for mark in marks {
        groups.push(group(&[(mark, 0)]));
        groups.push(group(&[(mark, 1)]));
    }
    let counted = [273.0, 93.0, 104.0, 90.0, 79.0, 100.0, 94.0, 167.0];
    let rows = counted.into_iter().enumerate().map(|(n, times)| Row {
        states: (0..3).map(|m| Some(1 - (n >> (2 - m) & 1))).collect(),
        times,
    });
    let problem = EmProblem {
        network,
        groups,
        observed: marks.to_vec(),
        rows: rows.collect(),
    };
    let check = |after: usize, class: f64, first: [f64; 3], second: [f64; 3], log: f64| {
        let fit = steps(&problem, after);
        let near =
            |x: f64, wanted: f64| assert!((x - wanted).abs() < 5.1e-5, "{after}: {x} {wanted}");
        near(fit.network.variable(bag).local.init[0], class);
        for (n, mark) in marks.iter().enumerate() {
            let init = &fit.network.variable(*mark).local.init;
            near(init[1], first[n]);
            near(init[3], second[n]);
        }
        let last = fit.log_likelihood.last().unwrap();
        assert!((last - log).abs() < 0.0051, "{after}: {last}");
        assert!((fit.log_likelihood[0] + 2044.26).abs() < 0.0051);
        never_falls(&fit);
    };
    check(
        1,
        0.6124,
        [0.6684, 0.6483, 0.6558],
        [0.3887, 0.3817, 0.3827],
        -2021.03,
    );
    check(
        2,
        0.6062,
        [0.7036, 0.6772, 0.6880],
        [0.3390, 0.3415, 0.3376],
        -2003.03,
    );
    check(
        10,
        0.5599,
        [0.8060, 0.7371, 0.7679],
        [0.2471, 0.3007, 0.2728],
        -1982.02,
    );
}

/// Pseudo-counts of a table seen in full give posterior means: BDA3 section 2.4, a uniform
/// distribution after 437 of 980.
#[test]
fn pseudo_counts_are_jobs_seen_before() {
    let mut network = Network::new();
    let girl = add(&mut network, "girl", 2, &[], vec![0.5, 0.5]);
    let row = |state, times| Row {
        states: vec![Some(state)],
        times,
    };
    let problem = EmProblem {
        network,
        groups: vec![Group {
            rows: vec![(girl, 0)],
            pseudo: vec![1.0, 1.0],
        }],
        observed: vec![girl],
        rows: vec![row(0, 437.0), row(1, 543.0)],
    };
    let fit = steps(&problem, 3);
    let mean = fit.network.variable(girl).local.init[0];
    assert!((mean - 0.446_028_513_238).abs() < 1e-12, "{mean}");
    never_falls(&fit);
    let after = BetaPrior { a: 1.0, b: 1.0 }.after(437.0, 980.0);
    assert!((after.mean() - mean).abs() < 1e-12);
    assert!((after.sd() - 0.015_854_343_318).abs() < 1e-12);
    // The source prints eight digits.
    assert!((beta_quantile(after.a, after.b, 0.025) - 0.415_065_49).abs() < 5e-9);
    assert!((beta_quantile(after.a, after.b, 0.975) - 0.477_199_77).abs() < 5e-9);
}

/// Seventy past groups of rats and the seventy-first: BDA3 section 5.1 prints Beta(1.4, 8.6)
/// and .223, .083; data recalled, they reproduce all printed figures.
#[test]
fn rats() {
    let past: [(u32, u32, usize); 38] = [
        (0, 20, 7),
        (0, 19, 4),
        (0, 18, 2),
        (0, 17, 1),
        (1, 20, 4),
        (1, 19, 2),
        (1, 18, 2),
        (2, 25, 1),
        (2, 24, 1),
        (2, 23, 1),
        (2, 20, 6),
        (1, 10, 1),
        (5, 49, 1),
        (2, 19, 1),
        (5, 46, 1),
        (3, 27, 1),
        (2, 17, 1),
        (7, 49, 1),
        (7, 47, 1),
        (3, 20, 2),
        (2, 13, 1),
        (9, 48, 1),
        (10, 50, 1),
        (4, 20, 7),
        (10, 48, 1),
        (4, 19, 3),
        (5, 22, 1),
        (11, 46, 1),
        (12, 49, 1),
        (5, 20, 2),
        (6, 23, 1),
        (5, 19, 1),
        (6, 22, 1),
        (6, 20, 3),
        (16, 52, 1),
        (15, 47, 1),
        (15, 46, 1),
        (9, 24, 1),
    ];
    let rate = |(y, n, times): &(u32, u32, usize)| {
        std::iter::repeat_n(f64::from(*y) / f64::from(*n), *times)
    };
    let rates = past.iter().flat_map(rate).collect::<Vec<_>>();
    assert_eq!(rates.len(), 70);
    let prior = beta_from_moments(&rates).unwrap();
    assert!(
        (prior.a - 1.356).abs() < 1e-3 && (prior.b - 8.615).abs() < 2e-3,
        "{prior:?}"
    );
    let after = prior.after(4.0, 14.0);
    assert!((after.mean() - 0.2234).abs() < 5e-5, "{}", after.mean());
    assert!((after.sd() - 0.083).abs() < 5e-4, "{}", after.sd());
}

/// Batting averages of eighteen players: Efron and Morris 1977 (factor .212, .265, .400 to .294).
#[test]
fn batting_averages() {
    let hits = [
        18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7,
    ];
    let rates = hits.map(|h| f64::from(h) / 45.0);
    let mean = rates.iter().sum::<f64>() / 18.0;
    assert!((mean - 0.265_432).abs() < 1e-6);
    let (factor, drawn) = james_stein(&rates, mean * (1.0 - mean) / 45.0);
    assert!((factor - 0.211_653).abs() < 1e-6, "{factor}");
    let wanted = [
        0.294, 0.289, 0.285, 0.280, 0.275, 0.275, 0.270, 0.266, 0.261, 0.261, 0.256, 0.256, 0.256,
        0.256, 0.256, 0.252, 0.247, 0.242,
    ];
    for (got, wanted) in drawn.iter().zip(wanted) {
        assert!((got - wanted).abs() < 6e-4, "{drawn:?}");
    }
    let later = [
        0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303,
        0.264, 0.226, 0.285, 0.316, 0.200,
    ];
    let miss = |list: &[f64]| {
        list.iter()
            .zip(later)
            .map(|(a, b)| (a - b).powi(2))
            .sum::<f64>()
    };
    assert!((miss(&rates) - 0.075_317).abs() < 1e-5, "{}", miss(&rates));
    assert!((miss(&drawn) - 0.021_307).abs() < 1e-5, "{}", miss(&drawn));
}

/// Dyestuff (Davies; published fits of two mixed-model packages) and Dyestuff2 (Box and Tiao
/// 1973), whose variance between batches comes out below nought and is nought.
#[test]
fn dyestuff() {
    let batches: [[f64; 5]; 6] = [
        [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
        [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
        [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
        [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
        [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
        [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
    ];
    let found = components(&batches.map(|b| b.to_vec())).unwrap();
    assert!((found.mean - 1527.5).abs() < 1e-6);
    assert!((found.between - 1764.05).abs() < 1e-6, "{}", found.between);
    assert!((found.within - 2451.25).abs() < 1e-6);
    assert!((found.kept - 0.782_526_727).abs() < 1e-9);
    let wanted = [-17.607, 0.391, 28.562, -23.085, 56.733, -44.995];
    for (got, wanted) in found.effects.iter().zip(wanted) {
        assert!((got - wanted).abs() < 5e-4, "{:?}", found.effects);
    }
    let second: [[f64; 5]; 6] = [
        [7.298, 3.846, 2.434, 9.566, 7.990],
        [5.220, 6.556, 0.608, 11.788, -0.892],
        [0.110, 10.386, 13.434, 5.510, 8.166],
        [2.212, 4.852, 7.092, 9.288, 4.980],
        [0.282, 9.014, 4.458, 9.446, 7.198],
        [1.722, 4.782, 8.106, 0.758, 3.758],
    ];
    let found = components(&second.map(|b| b.to_vec())).unwrap();
    assert!((found.mean - 5.6656).abs() < 1e-9);
    assert!(found.between == 0.0 && found.kept == 0.0);
}

/// Eight schools (Rubin 1981; Gelman et al., BDA3, section 5.5): pooled mean 7.7, variance 16.6,
/// schools that differ no more than chance; long values recomputed (statsmodels 0.15 and by hand).
#[test]
fn eight_schools() {
    let effects = [28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0];
    let errors: [f64; 8] = [15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0];
    let estimates = effects.into_iter().zip(errors.map(|e| e * e));
    let found = hardstart::learning::shrink::pooled(&estimates.collect::<Vec<_>>()).unwrap();
    assert!((found.mean - 7.7).abs() < 0.05 && (found.mean - 7.685_617).abs() < 5e-7);
    assert!((found.variance - 16.6).abs() < 0.05 && (found.variance - 16.580_526).abs() < 5e-7);
    assert!((found.q - 4.707_079).abs() < 5e-7);
    assert_eq!(found.between(), 0.0);
}
