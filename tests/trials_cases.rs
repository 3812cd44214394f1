//! Judged trials against the reference cases, worked numbers, and the rules on how many trials
//! are enough.

use std::collections::BTreeMap;

use approx::assert_abs_diff_eq;
use hardstart::evidence::trials::*;
use serde_json::Value;

/// Widest difference the reference cases allow.
const ALLOWED: f64 = 0.03;
/// What this implementation aims at; the cases are given to four digits and leave out the small
/// chances of wild readings and unlisted sets.
const AIM: f64 = 0.005;

fn cases() -> Value {
    let text = include_str!("../data/timing_cases.json");
    serde_json::from_str(text).expect("the case file is JSON")
}

fn floats(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

fn timings(cylinders: &[Vec<f64>]) -> Vec<Timing> {
    let mut out = Vec::new();
    for (i, trials) in cylinders.iter().enumerate() {
        for (k, &seconds) in trials.iter().enumerate() {
            out.push(Timing::new(i as u8 + 1, k as u32 + 1, seconds));
        }
    }
    out
}

fn run(list: &[Timing]) -> TrialsAnswer {
    judge(
        list,
        &Bench::default(),
        &Figures::default(),
        &Catalogue::default(),
    )
    .expect("valid")
}

fn table(cylinders: &[&[f64]]) -> TrialsAnswer {
    let cylinders: Vec<Vec<f64>> = cylinders.iter().map(|c| c.to_vec()).collect();
    run(&timings(&cylinders))
}

/// Expected: the figures of the case file are the defaults.
#[test]
fn the_cases_use_the_default_figures() {
    let p = &cases()["timing_model_params"];
    let f = Figures::default();
    for (name, value) in [
        ("sig", f.sig),
        ("tau", f.tau),
        ("kap", f.kap),
        ("eps", f.eps),
        ("lam", f.lam),
        ("pslow", f.pslow),
        ("dmin", f.dmin),
        ("dmean", f.dmean),
    ] {
        assert_eq!(p[name].as_f64(), Some(value), "{name}");
    }
    let nominals: Vec<Vec<f64>> = p["nominals"]
        .as_array()
        .unwrap()
        .iter()
        .map(floats)
        .collect();
    let ours = Catalogue::default().nominals;
    assert_eq!(
        nominals,
        ours.iter().map(|n| vec![n.0, n.1]).collect::<Vec<_>>()
    );
}

/// Expected: the reference implementation's results.
#[test]
fn reference_cases() {
    let cases = cases();
    let cases = cases["timing_cases"].as_object().unwrap();
    assert_eq!(cases.len(), 10);
    let mut worst: BTreeMap<String, f64> = BTreeMap::new();
    for (name, case) in cases {
        let y: Vec<Vec<f64>> = case["Y"].as_array().unwrap().iter().map(floats).collect();
        let answer = run(&timings(&y)).judgement;
        let mut check = |got: f64, expected: f64, what: &str| {
            let off = (got - expected).abs();
            assert!(off <= ALLOWED, "{name}: {what} is {got}, not {expected}");
            let most = worst.entry(name.clone()).or_default();
            *most = most.max(off);
        };
        for n in &answer.nominals {
            let expected = case["nominal"][format!("{:.1}", n.seconds)]
                .as_f64()
                .unwrap();
            check(n.chance, expected, "nominal");
        }
        for (i, slow) in floats(&case["slow"]).into_iter().enumerate() {
            check(answer.cylinders[i].slow, slow, "slow");
        }
        for (i, odd) in case["contam"].as_array().unwrap().iter().enumerate() {
            for (k, odd) in floats(odd).into_iter().enumerate() {
                check(answer.cylinders[i].trials[k].odd, odd, "odd");
            }
        }
    }
    for (name, off) in worst {
        assert!(off <= AIM, "{name}: off by {off}");
    }
}

/// Worked numbers: median and MAD with factor 0.6745, by hand.
#[test]
fn worked_numbers_of_an_odd_trial() {
    let answer = table(&[
        &[8.1, 8.4, 8.2],
        &[8.0, 8.3, 8.1],
        &[8.2, 15.1, 8.3],
        &[8.5, 8.2, 8.4],
    ]);
    let mad = answer.reference.mad.as_ref().unwrap();
    assert_abs_diff_eq!(mad.median, 8.25, epsilon = 1e-12);
    assert_abs_diff_eq!(mad.mad, 0.15, epsilon = 1e-12);
    assert_abs_diff_eq!(mad.scores[7], 30.8, epsilon = 0.05);
    assert_eq!(mad.flagged, vec![7]);
    let medians: Vec<f64> = answer
        .judgement
        .cylinders
        .iter()
        .filter_map(|c| c.median)
        .collect();
    assert_eq!(medians, vec![8.2, 8.1, 8.3, 8.4]);
    let verdicts: Vec<Verdict> = answer
        .judgement
        .cylinders
        .iter()
        .map(|c| c.verdict)
        .collect();
    assert_eq!(
        verdicts,
        vec![
            Verdict::InLine,
            Verdict::InLine,
            Verdict::OddTrial,
            Verdict::InLine
        ]
    );
    assert_eq!(answer.judgement.verdict, Verdict::OddTrial);
    assert!(answer.judgement.cylinders[2].trials[1].odd > 0.99);
    let contact = answer.judgement.advice.iter().find_map(|a| match a {
        Advice::CheckContact {
            cylinder,
            trial,
            longer,
        } => Some((*cylinder, *trial, *longer)),
        _ => None,
    });
    let (cylinder, trial, longer) = contact.expect("advice on the clip");
    assert_eq!((cylinder, trial), (3, 2));
    // 15.1 s against the median 8.25 s of its own others.
    assert_abs_diff_eq!(longer, 6.85, epsilon = 1e-9);
}

/// Worked numbers: medians 8.2 8.1 14.2 8.4.
#[test]
fn worked_numbers_of_an_odd_cylinder() {
    let answer = table(&[
        &[8.1, 8.4, 8.2],
        &[8.0, 8.3, 8.1],
        &[13.9, 14.5, 14.2],
        &[8.5, 8.2, 8.4],
    ]);
    let medians = &answer.reference_medians.values;
    assert_eq!(medians, &vec![8.2, 8.1, 14.2, 8.4]);
    let third = &answer.judgement.cylinders[2];
    assert_eq!(third.verdict, Verdict::OddCylinder);
    assert!(third.slow > 0.99);
    assert_eq!(answer.judgement.verdict, Verdict::OddCylinder);
    assert!(third.trials.iter().all(|t| t.odd < 0.1));
    assert!(answer.judgement.advice.iter().any(|a| matches!(
        a,
        Advice::CheckPlugAndLead { cylinder: 3, ratio } if (*ratio - 14.2 / 8.2).abs() < 1e-9
    )));
}

#[test]
fn one_trial_is_no_judgement() {
    let answer = table(&[&[8.1], &[11.9], &[8.0], &[7.9]]).judgement;
    assert!(
        answer
            .cylinders
            .iter()
            .all(|c| c.verdict == Verdict::TooFew)
    );
    assert_eq!(answer.verdict, Verdict::TooFew);
    let two_more: Vec<&Advice> = answer
        .advice
        .iter()
        .filter(|a| matches!(a, Advice::TwoMoreTrials { .. }))
        .collect();
    assert_eq!(two_more, vec![&Advice::TwoMoreTrials { cylinder: 2 }]);
}

#[test]
fn two_that_disagree_ask_for_a_third() {
    let answer = table(&[&[8.1, 8.3], &[8.2, 11.9], &[8.0, 8.2], &[7.9, 8.2]]).judgement;
    assert_eq!(answer.cylinders[1].verdict, Verdict::TooFew);
    assert_eq!(answer.cylinders[0].verdict, Verdict::InLine);
    assert_eq!(answer.verdict, Verdict::TooFew);
    assert!(answer.advice.contains(&Advice::ThirdTrial { cylinder: 2 }));
}

#[test]
fn a_set_slow_as_a_whole_is_not_blamed_on_single_plugs() {
    let answer = table(&[
        &[19.8, 20.4, 20.1],
        &[20.0, 20.6, 19.9],
        &[20.3, 19.9, 20.2],
        &[20.1, 20.0, 20.5],
    ])
    .judgement;
    assert_eq!(answer.verdict, Verdict::AllAlikeButSlow);
    assert!(answer.advice.contains(&Advice::CheckSupplyAndPlugKind));
    let blamed = |a: &Advice| matches!(a, Advice::CheckPlugAndLead { .. });
    assert!(!answer.advice.iter().any(blamed));
}

/// Expected: heat goes with V², so times taken at lower volts are brought back to one pace.
#[test]
fn supply_volts_are_allowed_for() {
    let mut list = Vec::new();
    for (cylinder, volts) in [(1, 12.0), (2, 11.0), (3, 10.5), (4, 12.4_f64)] {
        for (trial, wobble) in [(1, 1.0), (2, 1.02), (3, 0.99)] {
            let seconds = 8.0 * wobble * (12.0 / volts).powi(2);
            let mut timing = Timing::new(cylinder, trial, seconds);
            timing.supply_volts = Some(volts);
            list.push(timing);
        }
    }
    let answer = run(&list);
    assert_eq!(answer.supply_note, SupplyNote::Corrected);
    assert_eq!(answer.judgement.verdict, Verdict::InLine);
    for c in &answer.judgement.cylinders {
        assert_abs_diff_eq!(c.median.unwrap(), 8.0, epsilon = 1e-9);
    }
    // The reading itself stays as it was read.
    assert_abs_diff_eq!(
        answer.judgement.cylinders[2].trials[0].value,
        8.0 * (12.0 / 10.5_f64).powi(2)
    );

    list[0].supply_volts = None;
    let answer = run(&list);
    let SupplyNote::PartlyAssumed { missing: 1, volts } = answer.supply_note else {
        panic!("{:?}", answer.supply_note);
    };
    assert_eq!(volts, 11.0);
    assert!(
        answer
            .judgement
            .advice
            .contains(&Advice::NoteSupplyVolts { missing: 1 })
    );
    assert_eq!(table(&[&[8.0]]).supply_note, SupplyNote::Missing);
}

#[test]
fn a_plug_that_never_glows_is_slow_and_one_failure_is_a_contact() {
    let mut list = timings(&[
        vec![8.1, 8.3, 8.0],
        vec![8.4, 8.2, 8.3],
        vec![60.0, 60.0, 60.0],
        vec![7.9, 8.2, 60.0],
    ]);
    for t in &mut list {
        if t.observed.seconds() == 60.0 {
            t.observed = Observed::Above(60.0);
        }
    }
    let answer = run(&list).judgement;
    assert!(answer.cylinders[2].slow > 0.95);
    assert_eq!(answer.cylinders[2].verdict, Verdict::OddCylinder);
    assert_eq!(answer.cylinders[3].verdict, Verdict::OddTrial);
    assert!(answer.cylinders[3].trials[2].odd > 0.95);
    assert!(answer.cylinders[3].trials[2].bound);
}

#[test]
fn a_trial_set_aside_is_kept_and_both_ways_of_counting_are_given() {
    let mut list = timings(&[
        vec![8.1, 8.3, 8.0],
        vec![8.4, 8.2, 11.9],
        vec![8.0, 8.2, 8.1],
    ]);
    list[5].set_aside = true;
    let answer = run(&list);
    assert_eq!(answer.counts.recorded, 9);
    assert_eq!(
        answer.counts.kept + answer.counts.set_aside,
        answer.counts.recorded
    );
    let shown = &answer.judgement.cylinders[1];
    assert_eq!(shown.trials.len(), 3);
    assert!(shown.trials[2].set_aside && shown.trials[2].odd > 0.95);
    assert_eq!(shown.verdict, Verdict::InLine);
    let both = answer
        .with_set_aside
        .as_ref()
        .expect("the other way of counting");
    assert_eq!(both.cylinders[1].verdict, Verdict::OddTrial);
    // With everything counted it is the answer for trials of which none is set aside.
    list[5].set_aside = false;
    assert_eq!(
        both.cylinders[0].slow,
        run(&list).judgement.cylinders[0].slow
    );
    assert_eq!(run(&list).with_set_aside, None);
}

/// Expected: own judgement; 12 trials in bench order, each 4 % longer than the one before.
#[test]
fn a_sagging_battery_is_a_drift_and_steady_trials_are_not() {
    let mut list = Vec::new();
    for order in 0..12_u32 {
        let (cylinder, trial) = ((order % 4) as u8 + 1, order / 4 + 1);
        let mut timing = Timing::new(cylinder, trial, 8.0 * 1.04_f64.powi(order as i32));
        timing.order = Some(order + 1);
        list.push(timing);
    }
    let drift = run(&list).judgement;
    assert_eq!(drift.verdict, Verdict::Drifting);
    let found = drift.drift.unwrap();
    assert_eq!(found.kind, DriftKind::Slowing);
    assert!(
        (0.02..0.055).contains(&found.per_trial),
        "{}",
        found.per_trial
    );

    let warm = table(&[
        &[8.4, 7.2, 6.3],
        &[8.2, 7.1, 6.2],
        &[8.3, 7.3, 6.2],
        &[8.1, 7.0, 6.1],
    ]);
    assert_eq!(warm.judgement.verdict, Verdict::Drifting);
    assert_eq!(warm.judgement.drift.unwrap().kind, DriftKind::Quickening);

    let steady = table(&[&[8.1, 8.3, 8.0], &[8.4, 8.2, 8.3], &[8.0, 8.2, 8.1]]).judgement;
    assert!(steady.drift.unwrap().chance < 0.1);
    assert_eq!(steady.verdict, Verdict::InLine);
}

#[test]
fn short_rests_are_remarked_on() {
    let mut list = timings(&[vec![8.1, 6.9, 8.0], vec![8.2, 8.1, 8.3]]);
    list[1].rest = Some(45.0);
    list[2].rest = Some(120.0);
    let answer = run(&list);
    let expected = TimingNote::ShortRest {
        cylinder: 1,
        trial: 2,
        rest: 45.0,
    };
    assert_eq!(answer.notes, vec![expected]);
    assert!(answer.judgement.advice.contains(&Advice::RestLonger {
        cylinder: 1,
        trial: 2
    }));
}

#[test]
fn impossible_timings_are_all_named() {
    let mut list = timings(&[vec![8.1, -3.0], vec![8.0]]);
    list.push(Timing::new(13, 1, 8.0));
    list.push(Timing::new(2, 1, 8.2));
    list[0].supply_volts = Some(0.0);
    let figures = Figures {
        sig: f64::NAN,
        ..Figures::default()
    };
    let e = judge(&list, &Bench::default(), &figures, &Catalogue::default()).unwrap_err();
    assert_eq!(e.len(), 5, "{e:?}");
}

#[test]
fn no_trials_is_an_answer_too() {
    let answer = run(&[]);
    assert_eq!(answer.judgement.verdict, Verdict::TooFew);
    assert_eq!(answer.judgement.pace.source, PaceSource::Catalogue);
    assert_eq!(answer.reference.grubbs, None);
}

/// One wild reading proves nothing: expected, chances stay finite and others are untouched.
#[test]
fn absurd_readings_give_chances_all_the_same() {
    let answer = table(&[&[8.1, 8.3, 8.0], &[8.4, 8.2, 0.01], &[8.0, 8.2, 8.1]]).judgement;
    assert!(answer.cylinders[1].trials[2].odd > 0.99);
    assert!(answer.cylinders.iter().all(|c| c.slow < 0.02));
    let fast = |a: &Advice| {
        matches!(
            a,
            Advice::CheckCurrent {
                cylinder: 2,
                trial: 3,
                ..
            }
        )
    };
    assert!(answer.advice.iter().any(fast));
    let many: Vec<Vec<f64>> = vec![vec![0.3; 60], vec![250.0; 60], vec![8.0; 60]];
    let answer = run(&timings(&many)).judgement;
    for c in &answer.cylinders {
        assert!((0.0..=1.0 + 1e-9).contains(&c.slow));
        assert_abs_diff_eq!(
            c.chances.in_line + c.chances.odd_trial + c.chances.odd_cylinder,
            1.0,
            epsilon = 1e-9
        );
    }
}

#[test]
fn the_answer_serialises_with_the_fields_of_its_contract() {
    let answer = table(&[&[8.1, 8.3, 8.0], &[8.4, 8.2, 11.9], &[8.0, 8.2, 8.1]]);
    let json = serde_json::to_value(&answer).unwrap();
    for key in ["pace", "supply_note", "cylinders", "reference", "advice"] {
        assert!(!json[key].is_null(), "{key}");
    }
    for key in ["grubbs", "dixon", "esd", "mad"] {
        assert!(!json["reference"][key].is_null(), "{key}");
    }
    for key in ["value", "low", "high", "source"] {
        assert!(!json["pace"][key].is_null(), "{key}");
    }
    assert_eq!(json["cylinders"][1]["verdict"], "odd_trial");
    assert_eq!(json["cylinders"][1]["trials"][2]["set_aside"], false);
    assert!(json["pace"]["low"].as_f64() < json["pace"]["high"].as_f64());
}
