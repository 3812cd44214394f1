//! The kernel against enumeration on random small networks, and what must not change it.
//!
//! Constructed here; the oracle is `network::enumerate`, which shares no code with the kernel.

mod random_networks;

use hardstart::network::enumerate::{Likelihood, enumerate};
use hardstart::network::{
    Answers, Fold, Lane, Network, Program, Request, Role, Seen, Slot, VarId, Variable,
};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use random_networks::network;

/// Agreement asked of kernel and oracle.
const EXACT: f64 = 1e-12;

struct Case {
    network: Network,
    request: Request,
    lanes: Vec<Lane>,
    evidence: Vec<Vec<Likelihood>>,
}

fn case(seed: u64) -> Case {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let network = network(&mut random);
    let count = network.variables().len();
    let mut slots = Vec::new();
    for at in 0..count {
        let scope = vec![VarId(at as u32)];
        match random.random_range(0..8) {
            7 => slots.push(Slot {
                scope,
                seen: Seen::Known,
            }),
            6 => {
                let state = random.random_range(0..network.size(VarId(at as u32)));
                slots.push(Slot {
                    scope,
                    seen: Seen::Switch(state),
                });
            }
            5 => {
                let state = random.random_range(0..network.size(VarId(at as u32)));
                slots.push(Slot {
                    scope,
                    seen: Seen::Mostly(state),
                });
            }
            0 => slots.push(Slot {
                scope,
                seen: Seen::Soft,
            }),
            1 => {
                let state = random.random_range(0..network.size(VarId(at as u32)));
                slots.push(Slot {
                    scope,
                    seen: Seen::Hard(state),
                });
            }
            2 if at > 1 => {
                let other = VarId(random.random_range(0..at) as u32);
                slots.push(Slot {
                    scope: vec![other, VarId(at as u32)],
                    seen: Seen::Soft,
                });
            }
            _ => {}
        }
    }
    let mut queries = (0..count)
        .filter(|_| random.random::<f64>() < 0.6)
        .map(|v| vec![VarId(v as u32)])
        .collect::<Vec<_>>();
    queries.push(vec![VarId(1), VarId(0)]);
    let mut lanes = Vec::new();
    let mut evidence = Vec::new();
    for _ in 0..11 {
        let mut inputs = Vec::new();
        let mut seen = Vec::new();
        for slot in &slots {
            let cells: usize = slot.scope.iter().map(|v| network.size(*v)).product();
            let values = match slot.seen {
                Seen::Soft => (0..cells)
                    .map(|_| random.random::<f64>())
                    .collect::<Vec<_>>(),
                Seen::Hard(state) => (0..cells).map(|s| f64::from(s == state)).collect(),
                Seen::Known => {
                    let is = random.random_range(0..cells);
                    (0..cells).map(|s| f64::from(s == is)).collect()
                }
                Seen::Switch(state) => {
                    let on = random.random::<bool>();
                    inputs.extend([f64::from(on), f64::from(!on)]);
                    (0..cells).map(|s| f64::from(!on || s == state)).collect()
                }
                Seen::Mostly(state) => {
                    let (other, more) = (random.random::<f64>(), random.random::<f64>());
                    inputs.extend([other, more]);
                    (0..cells)
                        .map(|s| other + more * f64::from(s == state))
                        .collect()
                }
            };
            if matches!(slot.seen, Seen::Soft | Seen::Known) {
                inputs.extend_from_slice(&values);
            }
            seen.push(Likelihood {
                scope: slot.scope.clone(),
                values,
            });
        }
        lanes.push(Lane {
            inputs,
            log_scale: 0.0,
        });
        evidence.push(seen);
    }
    Case {
        network,
        request: Request {
            slots,
            queries,
            restarts: 2,
        },
        lanes,
        evidence,
    }
}

fn solve(case: &Case) -> Vec<Option<Answers>> {
    let program = Program::compile(&case.network, &case.request).expect("small");
    let bound = program.bind(&case.network.figures()).expect("same figures");
    program
        .run(&bound, &case.lanes)
        .into_iter()
        .map(Result::ok)
        .collect()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= EXACT * a.abs().max(b.abs()).max(1e-3)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn kernel_equals_enumeration_on_random_networks(seed in any::<u64>()) {
        let case = case(seed);
        for (answer, evidence) in solve(&case).iter().zip(&case.evidence) {
            let (total, weights) = enumerate(&case.network, evidence, &case.request.queries);
            match answer {
                None => prop_assert_eq!(total, 0.0),
                Some(answer) => {
                    prop_assert!(close(answer.log_evidence.exp(), total));
                    for (chances, weights) in answer.chances.iter().zip(&weights) {
                        for (chance, weight) in chances.iter().zip(weights) {
                            prop_assert!(close(*chance, weight / total), "{chance} {}", weight / total);
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn number_of_lanes_and_place_in_the_batch_change_no_bit(seed in any::<u64>()) {
        let mut case = case(seed);
        let all = solve(&case);
        let lanes = std::mem::take(&mut case.lanes);
        for size in [1, 4, 8] {
            let mut again = Vec::new();
            for chunk in lanes.chunks(size) {
                case.lanes = chunk.to_vec();
                again.extend(solve(&case));
            }
            prop_assert_eq!(&all, &again);
        }
    }

    #[test]
    fn sums_over_lanes_are_the_sums_of_their_answers_on_any_threads(seed in any::<u64>()) {
        let case = case(seed);
        let program = Program::compile(&case.network, &case.request).expect("small");
        let bound = program.bind(&case.network.figures()).expect("same figures");
        let tally = program.tally();
        let solved = solve(&case);
        let possible = case.lanes.iter().zip(solved);
        let possible = possible.filter_map(|(lane, answer)| Some((lane.clone(), answer?)));
        // Sixty times over, so that there are several pieces.
        let possible = std::iter::repeat_n(possible.collect::<Vec<_>>(), 60).flatten();
        let (lanes, answers): (Vec<Lane>, Vec<Answers>) = possible.unzip();
        let times = (0..lanes.len()).map(|l| (l % 3) as f64).collect::<Vec<_>>();
        let total = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
            pool.install(|| program.total(&tally, &bound, &lanes, &times))
        };
        let found = total(1).expect("possible lanes");
        prop_assert_eq!(&found, &total(3).expect("possible lanes"));
        let weighed = || times.iter().zip(&answers);
        let log = weighed().map(|(n, a)| n * a.log_evidence).sum::<f64>();
        prop_assert!(close(log, found.log_evidence));
        for (q, cells) in found.chances.iter().enumerate() {
            for (s, cell) in cells.iter().enumerate() {
                let sum = weighed().map(|(n, a)| n * a.chances[q][s]).sum::<f64>();
                prop_assert!(close(sum, *cell), "{sum} {cell}");
            }
        }
    }

    #[test]
    fn order_of_slots_and_restarts_change_nothing(seed in any::<u64>()) {
        let mut case = case(seed);
        case.lanes.truncate(1);
        let before = solve(&case);
        case.request.restarts = 0;
        let mut inputs = Vec::new();
        let mut at = case.lanes[0].inputs.len();
        let network = case.network.clone();
        for slot in case.request.slots.iter().rev() {
            let cells: usize = match slot.seen {
                Seen::Soft | Seen::Known => {
                    slot.scope.iter().map(|v| network.size(*v)).product()
                }
                Seen::Mostly(_) | Seen::Switch(_) => 2,
                Seen::Hard(_) => 0,
            };
            inputs.extend_from_slice(&case.lanes[0].inputs[at - cells..at]);
            at -= cells;
        }
        case.lanes[0].inputs = inputs;
        case.request.slots.reverse();
        let after = solve(&case);
        match (&before[0], &after[0]) {
            (Some(a), Some(b)) => {
                prop_assert!((a.log_evidence - b.log_evidence).abs() < 1e-10);
                for (x, y) in a.chances.iter().flatten().zip(b.chances.iter().flatten()) {
                    prop_assert!(close(*x, *y));
                }
            }
            (a, b) => prop_assert_eq!(a.is_some(), b.is_some()),
        }
    }
}

#[test]
fn a_hundred_readings_do_not_underflow() {
    // One cause, a hundred observed symptoms, each with a chance of one in ten thousand: the
    // odds are known in closed form, (0.0001 / 0.0002)^100 times the odds before.
    let mut network = Network::new();
    let states = vec!["no".to_owned(), "yes".to_owned()];
    let cause = network
        .add(Variable {
            name: "cause".into(),
            states: states.clone(),
            role: Role::Part,
            local: Fold::table(vec![], vec![0.5, 0.5]),
        })
        .unwrap();
    let mut slots = Vec::new();
    for n in 0..60 {
        let sign = network
            .add(Variable {
                name: format!("sign{n}"),
                states: states.clone(),
                role: Role::Sign,
                local: Fold::table(vec![cause], vec![0.9999, 0.0001, 0.9998, 0.0002]),
            })
            .unwrap();
        slots.push(Slot {
            scope: vec![sign],
            seen: Seen::Hard(1),
        });
    }
    let request = Request {
        slots,
        queries: vec![vec![cause]],
        restarts: 0,
    };
    let program = Program::compile(&network, &request).unwrap();
    let bound = program.bind(&network.figures()).unwrap();
    let answer = program.run(&bound, &[Lane::default()])[0].clone().unwrap();
    let odds = answer.chances[0][0] / answer.chances[0][1];
    assert!((odds.log2() + 60.0).abs() < 1e-9);
    let expected = (0.5 * 0.0001_f64.powi(60) * (1.0 + 2.0_f64.powi(60))).ln();
    assert!((answer.log_evidence - expected).abs() < 1e-9);
}

/// Runs of more terms than are added up at once, and done again with other operands; each lane
/// sees something else of every variable.
#[test]
fn tables_of_many_states_equal_enumeration() {
    let mut random = ChaCha8Rng::seed_from_u64(17);
    for sizes in [[7, 8, 9, 3], [13, 2, 6, 5], [6, 12, 7, 2], [2, 5, 13, 6]] {
        let mut network = Network::new();
        let parents: [&[usize]; 4] = [&[], &[0], &[0, 1], &[1, 2]];
        for (at, (size, parents)) in sizes.into_iter().zip(parents).enumerate() {
            let rows: usize = parents.iter().map(|p| sizes[*p]).product();
            let cells = (0..rows).flat_map(|_| {
                let row = (0..size).map(|_| random.random_range(0.05..1.0_f64));
                let row = row.collect::<Vec<_>>();
                let sum: f64 = row.iter().sum();
                row.into_iter().map(move |c| c / sum)
            });
            let cells = cells.collect();
            let variable = Variable {
                name: format!("v{at}"),
                states: (0..size).map(|s| format!("s{s}")).collect(),
                role: Role::Part,
                local: Fold::table(parents.iter().map(|p| VarId(*p as u32)).collect(), cells),
            };
            network.add(variable).expect("a sound variable");
        }
        let all = (0..4).map(|v| vec![VarId(v)]).collect::<Vec<_>>();
        let slots = all.iter().map(|scope| Slot {
            scope: scope.clone(),
            seen: Seen::Soft,
        });
        let request = Request {
            slots: slots.collect(),
            queries: all.clone(),
            restarts: 60,
        };
        let program = Program::compile(&network, &request).expect("small");
        let bound = program.bind(&network.figures()).expect("same figures");
        let lanes = (0..11).map(|_| Lane {
            inputs: (0..sizes.iter().sum()).map(|_| random.random()).collect(),
            log_scale: 0.0,
        });
        let lanes = lanes.collect::<Vec<_>>();
        for (lane, answer) in lanes.iter().zip(program.run(&bound, &lanes)) {
            let mut rest = &lane.inputs[..];
            let evidence = all.iter().zip(sizes).map(|(scope, size)| {
                let (values, behind) = rest.split_at(size);
                rest = behind;
                Likelihood {
                    scope: scope.clone(),
                    values: values.to_vec(),
                }
            });
            let evidence = evidence.collect::<Vec<_>>();
            let (total, weights) = enumerate(&network, &evidence, &all);
            let answer = answer.expect("possible");
            assert!(close(answer.log_evidence.exp(), total));
            for (chances, weights) in answer.chances.iter().zip(&weights) {
                for (chance, weight) in chances.iter().zip(weights) {
                    assert!(
                        close(*chance, weight / total),
                        "{chance} {}",
                        weight / total
                    );
                }
            }
        }
    }
}
