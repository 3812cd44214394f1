//! Noisy-OR tables as printed, through both folds that can carry them, and a two-level
//! network of diseases and findings whose answers are constructed, not published.

use hardstart::network::{
    Contribution, Fold, Lane, Network, Program, Request, Role, Seen, Slot, Step, VarId, Variable,
};

fn two_state(network: &mut Network, name: &str, local: Fold) -> VarId {
    network
        .add(Variable {
            name: name.to_owned(),
            states: vec!["no".into(), "yes".into()],
            role: Role::Part,
            local,
        })
        .expect("made to fit")
}

/// A leaky noisy-OR: a present parent `i` causes the child with chance `strengths[i]`.
fn noisy_or(step: &Step, leak: f64, links: &[(VarId, f64)]) -> Fold {
    Fold {
        drivers: Vec::new(),
        init: vec![1.0 - leak, leak],
        step: step.clone(),
        from: links
            .iter()
            .map(|(parent, p)| Contribution {
                parent: *parent,
                rows: match step {
                    Step::Override => vec![1.0, 0.0, 0.0, 1.0 - p, 0.0, *p],
                    _ => vec![1.0, 0.0, 1.0 - p, *p],
                },
            })
            .collect(),
    }
}

/// P(yes) of the child for every joint state of the parents, the first parent slowest.
fn cells(step: &Step, leak: f64, strengths: &[f64]) -> Vec<f64> {
    let mut network = Network::new();
    let parents = (0..strengths.len())
        .map(|n| {
            let local = Fold::table(vec![], vec![0.5, 0.5]);
            two_state(&mut network, &format!("cause{n}"), local)
        })
        .collect::<Vec<_>>();
    let links = parents
        .iter()
        .copied()
        .zip(strengths.iter().copied())
        .collect::<Vec<_>>();
    let child = two_state(&mut network, "child", noisy_or(step, leak, &links));
    (0..1 << parents.len())
        .map(|joint: usize| {
            let slots = parents
                .iter()
                .enumerate()
                .map(|(n, p)| Slot {
                    scope: vec![*p],
                    seen: Seen::Hard(joint >> (parents.len() - 1 - n) & 1),
                })
                .collect();
            let request = Request {
                slots,
                queries: vec![vec![child]],
                restarts: 0,
            };
            solve(&network, &request).1[0][1]
        })
        .collect()
}

/// P(evidence) and the chances of the queries.
fn solve(network: &Network, request: &Request) -> (f64, Vec<Vec<f64>>) {
    let program = Program::compile(network, request).expect("small");
    let bound = program.bind(&network.figures()).expect("same figures");
    let answer = program.run(&bound, &[Lane::default()])[0]
        .clone()
        .expect("possible");
    (answer.log_evidence.exp(), answer.chances)
}

fn steps() -> [Step; 2] {
    [Step::Override, Step::Worst]
}

#[test]
fn fever_table_as_in_russell_and_norvig() {
    // Russell & Norvig, chapter 14, after Pearl 1988: inhibitors cold .6, flu .2, malaria .1.
    for step in steps() {
        let found = cells(&step, 0.0, &[0.4, 0.8, 0.9]);
        let printed = [0.0, 0.9, 0.8, 0.98, 0.4, 0.94, 0.88, 0.988];
        for (found, printed) in found.iter().zip(printed) {
            assert!((found - printed).abs() < 1e-14, "{found} {printed}");
        }
    }
}

#[test]
fn leaky_table_by_pearls_formula() {
    // 1 - (1 - leak) * product of (1 - p), Pearl 1988 p. 184; leak .1, strengths .2 and .4.
    for step in steps() {
        let found = cells(&step, 0.1, &[0.2, 0.4]);
        for (found, expected) in found.iter().zip([0.1, 0.46, 0.28, 0.568]) {
            assert!((found - expected).abs() < 1e-14, "{found} {expected}");
        }
    }
}

#[test]
fn constructed_two_level_findings_as_inclusion_and_exclusion_gives() {
    // Constructed, not published: the quickscore sum (Heckerman 1989) over subsets of the
    // present findings equals enumeration to 1e-12; the digits are those of both.
    let causes = [0.01, 0.05, 0.2];
    let leaks = [0.02, 0.1, 0.05];
    let strengths = [[0.8, 0.3, 0.0], [0.1, 0.6, 0.4], [0.0, 0.5, 0.7]];
    let rows: [([usize; 3], f64, [f64; 3]); 4] = [
        (
            [1, 1, 0],
            0.00749753671944,
            [0.1930538231, 0.5665958507, 0.1432702403],
        ),
        (
            [1, 0, 0],
            0.0206360216806,
            [0.2407947060, 0.1103637726, 0.0430622010],
        ),
        (
            [1, 1, 1],
            0.00838191236856,
            [0.0956276474, 0.7695014227, 0.4710359530],
        ),
        (
            [0, 0, 0],
            0.664866589519,
            [0.0018148820, 0.0073145246, 0.0430622010],
        ),
    ];
    for step in steps() {
        let mut network = Network::new();
        let parents = causes
            .iter()
            .enumerate()
            .map(|(n, p)| {
                let local = Fold::table(vec![], vec![1.0 - p, *p]);
                two_state(&mut network, &format!("cause{n}"), local)
            })
            .collect::<Vec<_>>();
        let findings = (0..3)
            .map(|f| {
                let links = parents
                    .iter()
                    .copied()
                    .zip(strengths[f])
                    .collect::<Vec<_>>();
                let local = noisy_or(&step, leaks[f], &links);
                two_state(&mut network, &format!("finding{f}"), local)
            })
            .collect::<Vec<_>>();
        for (states, weight, chances) in &rows {
            let slots = findings
                .iter()
                .zip(states)
                .map(|(f, s)| Slot {
                    scope: vec![*f],
                    seen: Seen::Hard(*s),
                })
                .collect();
            let request = Request {
                slots,
                queries: parents.iter().map(|p| vec![*p]).collect(),
                restarts: 0,
            };
            let (found, answers) = solve(&network, &request);
            assert!((found / weight - 1.0).abs() < 1e-11, "{found} {weight}");
            for (answer, chance) in answers.iter().zip(chances) {
                // Ten decimals are given.
                assert!((answer[1] - chance).abs() < 1e-10, "{} {chance}", answer[1]);
            }
        }
    }
}
