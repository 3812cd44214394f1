//! Very small chances of evidence: a thousand readings must not run out of the arithmetic.
//!
//! Expected values are closed forms, or the scaled forward recursion of a two-state chain.

use hardstart::network::{
    Fold, Lane, Network, Program, Request, Role, Seen, Slot, VarId, Variable,
};

/// Agreement asked for; a thousand roundings of one part in 10^16.
const SAME: f64 = 1e-11;

fn add(network: &mut Network, name: String, local: Fold) -> VarId {
    let variable = Variable {
        name,
        states: vec!["no".into(), "yes".into()],
        role: Role::Part,
        local,
    };
    network.add(variable).expect("made to fit")
}

fn slot(variable: VarId, seen: Seen) -> Slot {
    Slot {
        scope: vec![variable],
        seen,
    }
}

#[test]
fn a_thousand_seen_signs_of_one_cause() {
    // 520 signs speak for the cause, 480 against it, each with chances .0001 and .0002.
    let mut network = Network::new();
    let cause = add(
        &mut network,
        "cause".into(),
        Fold::table(vec![], vec![0.5, 0.5]),
    );
    let slots = (0..1000)
        .map(|n| {
            let (no, yes) = if n < 520 { (1e-4, 2e-4) } else { (2e-4, 1e-4) };
            let table = vec![1.0 - no, no, 1.0 - yes, yes];
            let sign = add(
                &mut network,
                format!("sign{n}"),
                Fold::table(vec![cause], table),
            );
            slot(sign, Seen::Hard(1))
        })
        .collect();
    let request = Request {
        slots,
        queries: vec![vec![cause]],
        restarts: 0,
    };
    let program = Program::compile(&network, &request).expect("small");
    let bound = program.bind(&network.figures()).expect("same figures");
    let lanes = vec![Lane::default(); 3];
    for answer in program.run(&bound, &lanes) {
        let answer = answer.expect("possible");
        let odds = answer.chances[0][1] / answer.chances[0][0];
        assert!((odds.log2() - 40.0).abs() < SAME);
        let yes = 0.5_f64.ln() + 520.0 * 2e-4_f64.ln() + 480.0 * 1e-4_f64.ln();
        let expected = yes + 2.0_f64.powi(-40).ln_1p();
        assert!((answer.log_evidence / expected - 1.0).abs() < SAME);
    }
}

#[test]
fn a_thousand_likelihoods_along_a_chain() {
    let days = 1000;
    let mut network = Network::new();
    let mut before = add(
        &mut network,
        "rain0".into(),
        Fold::table(vec![], vec![0.5, 0.5]),
    );
    let mut rains = Vec::new();
    for day in 1..=days {
        let table = Fold::table(vec![before], vec![0.7, 0.3, 0.3, 0.7]);
        before = add(&mut network, format!("rain{day}"), table);
        rains.push(before);
    }
    let request = Request {
        slots: rains.iter().map(|r| slot(*r, Seen::Soft)).collect(),
        queries: vec![vec![before], vec![rains[0]]],
        restarts: 0,
    };
    let program = Program::compile(&network, &request).expect("small");
    let bound = program.bind(&network.figures()).expect("same figures");
    let scale = [1.0, 1e-3, 1e-6];
    let seen = |day: usize| {
        if day.is_multiple_of(3) {
            [0.8, 0.1]
        } else {
            [0.2, 0.9]
        }
    };
    let lanes = scale
        .iter()
        .map(|scale| Lane {
            inputs: (0..days).flat_map(|d| seen(d).map(|l| l * scale)).collect(),
            log_scale: 0.0,
        })
        .collect::<Vec<_>>();
    // Forward recursion, scaled each day.
    let mut rain = [0.5, 0.5];
    let mut log = 0.0;
    for day in 0..days {
        let [no, yes] = rain;
        let like = seen(day);
        let weights = [
            (0.7 * no + 0.3 * yes) * like[0],
            (0.3 * no + 0.7 * yes) * like[1],
        ];
        let total: f64 = weights.iter().sum();
        log += total.ln();
        rain = weights.map(|w| w / total);
    }
    for (answer, scale) in program.run(&bound, &lanes).into_iter().zip(scale) {
        let answer = answer.expect("possible");
        let expected = log + f64::from(days as u32) * f64::ln(scale);
        assert!((answer.log_evidence / expected - 1.0).abs() < SAME);
        assert!((answer.chances[0][1] - rain[1]).abs() < SAME);
        let first: f64 = answer.chances[1].iter().sum();
        assert!((first - 1.0).abs() < SAME);
    }
}
