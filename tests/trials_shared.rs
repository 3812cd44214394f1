//! What the network takes from trials, and what order and numbering must not change.

use hardstart::evidence::trials::*;
use proptest::prelude::*;

fn timings(cylinders: &[Vec<f64>]) -> Vec<Timing> {
    let mut out = Vec::new();
    for (i, trials) in cylinders.iter().enumerate() {
        for (k, &seconds) in trials.iter().enumerate() {
            out.push(Timing::new(i as u8 + 1, k as u32 + 1, seconds));
        }
    }
    out
}

fn shared(list: &[Timing]) -> SharedPace {
    let (bench, figures) = (Bench::default(), Figures::default());
    shared_pace(list, &bench, &figures, &Catalogue::default()).expect("valid timings")
}

fn judged(list: &[Timing]) -> Judgement {
    let (bench, figures) = (Bench::default(), Figures::default());
    let answer = judge(list, &bench, &figures, &Catalogue::default());
    answer.expect("valid timings").judgement
}

fn patterns(n: usize) -> impl Iterator<Item = Vec<bool>> {
    (0..1_u32 << n).map(move |bits| (0..n).map(|i| bits >> i & 1 == 1).collect())
}

/// Chance of each plug being slow, by enumeration of all patterns.
fn enumerated(shared: &SharedPace, pslow: f64) -> Vec<f64> {
    let n = shared.cylinders.len();
    let logs: Vec<(Vec<bool>, f64)> = patterns(n)
        .map(|p| {
            let k = p.iter().filter(|s| **s).count() as f64;
            let before = k * pslow.ln() + (n as f64 - k) * (1.0 - pslow).ln();
            let log = before + shared.log_likelihood(&p);
            (p, log)
        })
        .collect();
    let most = logs.iter().map(|l| l.1).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = logs.iter().map(|l| (l.1 - most).exp()).sum();
    (0..n)
        .map(|i| {
            let of = logs.iter().filter(|l| l.0[i]);
            of.map(|l| (l.1 - most).exp()).sum::<f64>() / total
        })
        .collect()
}

fn sets() -> Vec<Vec<Vec<f64>>> {
    vec![
        vec![
            vec![8.1, 8.3, 8.0],
            vec![8.4, 8.2, 11.9],
            vec![12.6, 12.9, 12.4],
            vec![7.9, 8.2, 8.1],
        ],
        vec![
            vec![11.1, 11.3],
            vec![11.2, 11.0],
            vec![10.9, 11.2],
            vec![8.0, 8.1],
        ],
        vec![
            vec![9.4, 9.6],
            vec![9.5, 9.3],
            vec![9.7, 9.4],
            vec![9.5, 9.6],
        ],
        vec![vec![8.1], vec![11.9], vec![8.0], vec![7.9]],
        vec![
            vec![8.1, 8.3],
            vec![8.2, 8.3],
            vec![9.4, 9.5],
            vec![7.9, 8.2],
        ],
        vec![
            vec![6.1, 6.0],
            vec![6.2, 6.1],
            vec![6.0, 9.1],
            vec![5.9, 6.1],
            vec![6.1, 6.3],
            vec![6.2, 6.0],
        ],
    ]
}

/// Expected: enumeration over which plugs are slow.
#[test]
fn likelihoods_over_the_pace_give_the_judged_chances() {
    for set in sets() {
        let list = timings(&set);
        let by_enumeration = enumerated(&shared(&list), Figures::default().pslow);
        for (c, expected) in judged(&list).cylinders.iter().zip(by_enumeration) {
            assert!((c.slow - expected).abs() < 1e-9, "{} {expected}", c.slow);
        }
    }
}

/// Few points serve as lanes: exact under the figures' own chance of a slow plug, close under
/// others. Expected: enumeration on the full grid.
#[test]
fn few_points_of_the_pace_are_enough() {
    let pslow = Figures::default().pslow;
    for set in sets() {
        let full = shared(&timings(&set));
        let few = full.coarse(16, pslow);
        assert!(
            few.points.len() <= 16 && few.points.len() > 4,
            "{}",
            few.points.len()
        );
        for (chance, allowed) in [(pslow, 1e-9), (0.02, 0.01), (0.4, 0.02)] {
            let (a, b) = (enumerated(&full, chance), enumerated(&few, chance));
            for (a, b) in a.iter().zip(&b) {
                assert!((a - b).abs() < allowed, "{chance}: {a} {b} in {set:?}");
            }
        }
    }
}

/// Expected: a chance is a property of the readings, not of their order.
#[test]
fn order_of_the_list_changes_nothing() {
    for set in sets() {
        let list = timings(&set);
        let mut turned = list.clone();
        turned.reverse();
        assert_eq!(judged(&list), judged(&turned));
    }
}

#[test]
fn twelve_cylinders_are_judged() {
    let set: Vec<Vec<f64>> = (0..12)
        .map(|i| {
            let pace = if i == 7 {
                13.0
            } else {
                8.0 + 0.05 * f64::from(i)
            };
            vec![pace, pace * 1.01, pace * 0.99]
        })
        .collect();
    let list = timings(&set);
    let answer = judged(&list);
    for c in &answer.cylinders {
        assert_eq!(
            c.verdict == Verdict::OddCylinder,
            c.cylinder == 8,
            "{}",
            c.cylinder
        );
    }
    let few = shared(&list).coarse(16, 0.12);
    let only_eighth: Vec<bool> = (0..12).map(|i| i == 7).collect();
    let best = few.log_likelihood(&only_eighth);
    for pattern in patterns(12) {
        assert!(few.log_likelihood(&pattern) <= best + 1e-12);
    }
}

#[test]
fn a_plug_that_never_glowed_is_not_only_called_slow() {
    // Verdicts know sound and slow plugs; the person was sent after a slow one where it was dead.
    let mut list = timings(&[vec![9.0, 9.2, 9.1], vec![40.0, 40.0], vec![9.0, 40.0]]);
    for t in list
        .iter_mut()
        .filter(|t| t.observed == Observed::Exact(40.0))
    {
        t.observed = Observed::Above(40.0);
    }
    let never: Vec<Advice> = judged(&list)
        .advice
        .into_iter()
        .filter(|a| matches!(a, Advice::NeverGlowed { .. }))
        .collect();
    let wanted = [Advice::NeverGlowed {
        cylinder: 2,
        watched: 40.0,
    }];
    assert_eq!(never, wanted, "cylinder 3 glowed once");
}

/// Expected: a plug that never glows is the best account of three trials without glow, at every
/// pace, and a poor one of three times like the others'.
#[test]
fn a_dead_plug_has_a_likelihood_of_its_own() {
    let mut list = timings(&[
        vec![8.1, 8.3, 8.0],
        vec![60.0, 60.0, 60.0],
        vec![8.2, 8.1, 8.4],
    ]);
    for t in &mut list[3..6] {
        t.observed = Observed::Above(60.0);
    }
    let full = shared(&list);
    for pace in [full.clone(), full.coarse(12, 0.12)] {
        for p in &pace.points {
            let [sound, slow, dead] = p.likelihood[1];
            assert!(dead > slow && dead > sound);
        }
        let best = |i: usize, state: usize| {
            let of = pace
                .points
                .iter()
                .map(|p| p.likelihood[i][state] * p.log_weight.exp());
            of.fold(0.0, f64::max)
        };
        assert!(best(0, 2) < 1e-3 * best(0, 0));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn chances_are_chances(
        set in prop::collection::vec(prop::collection::vec(0.5..90.0_f64, 0..5), 1..7),
    ) {
        let answer = judged(&timings(&set));
        let chance = |c: f64| (0.0..=1.0 + 1e-9).contains(&c);
        for c in &answer.cylinders {
            let sum = c.chances.in_line + c.chances.odd_trial + c.chances.odd_cylinder;
            prop_assert!((sum - 1.0).abs() < 1e-9);
            prop_assert!(chance(c.slow));
            prop_assert!(c.trials.iter().all(|t| chance(t.odd)));
        }
        let s = &answer.chances;
        let sum = s.in_line + s.odd_trial + s.odd_cylinder + s.all_alike_but_slow + s.drifting;
        prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        prop_assert!(answer.pace.low <= answer.pace.value && answer.pace.value <= answer.pace.high);
    }

    /// Expected: two cylinders with the same readings have the same chance, wherever they stand.
    #[test]
    fn numbering_of_cylinders_changes_nothing(
        set in prop::collection::vec(prop::collection::vec(5.0..20.0_f64, 1..4), 2..6),
    ) {
        let mut turned = set.clone();
        turned.reverse();
        let (a, b) = (judged(&timings(&set)), judged(&timings(&turned)));
        for (x, y) in a.cylinders.iter().zip(b.cylinders.iter().rev()) {
            prop_assert!((x.slow - y.slow).abs() < 1e-9);
        }
    }
}
