//! Counting chains, whose tables hold only noughts and ones, and networks too wide to answer.
//!
//! Constructed here; the oracle is `network::enumerate`, which shares no code with the kernel.

use hardstart::network::enumerate::{Likelihood, enumerate};
use hardstart::network::{
    CompileError, Fold, Lane, Network, Program, Request, Role, Seen, Slot, VarId, Variable,
};

/// Agreement asked of kernel and oracle.
const EXACT: f64 = 1e-12;

fn add(network: &mut Network, name: String, states: usize, local: Fold) -> VarId {
    let variable = Variable {
        name,
        states: (0..states).map(|s| format!("s{s}")).collect(),
        role: Role::Part,
        local,
    };
    network.add(variable).expect("a sound variable")
}

/// Three plugs of four states; how many are weak (state 1), and how many are open or shorted
/// (states 2 and 3, which a count does not tell apart).
fn plugs() -> (Network, Vec<VarId>, Vec<VarId>) {
    let mut network = Network::new();
    let (mut plugs, mut counts) = (Vec::new(), vec![None, None]);
    for c in 1..=3_usize {
        let chances = [0.7, 0.1 + 0.01 * c as f64, 0.12 - 0.01 * c as f64, 0.08];
        let root = Fold::table(Vec::new(), chances.to_vec());
        let plug = add(&mut network, format!("plug{c}"), 4, root);
        plugs.push(plug);
        for (kind, (count, counted)) in counts.iter_mut().zip([vec![1], vec![2, 3]]).enumerate() {
            let mut cells = Vec::new();
            for before in 0..c {
                for state in 0..4 {
                    let now = before + usize::from(counted.contains(&state));
                    cells.extend((0..=c).map(|n| f64::from(u8::from(n == now))));
                }
            }
            let drivers = count.iter().copied().chain([plug]).collect();
            let table = Fold::table(drivers, cells);
            *count = Some(add(&mut network, format!("count{kind}_{c}"), c + 1, table));
        }
    }
    (network, plugs, counts.into_iter().flatten().collect())
}

#[test]
fn counts_that_do_not_tell_states_apart_equal_enumeration() {
    let (network, plugs, counts) = plugs();
    let scopes = plugs.iter().chain(&counts).map(|v| vec![*v]);
    let slots = scopes.clone().map(|scope| Slot {
        scope,
        seen: Seen::Soft,
    });
    let request = Request {
        slots: slots.collect(),
        queries: scopes.clone().collect(),
        restarts: 3,
    };
    let program = Program::compile(&network, &request).expect("narrow");
    let bound = program.bind(&network.figures()).expect("same figures");
    let inputs = (0..program.inputs()).map(|i| 0.2 + 0.1 * ((i * 5) % 8) as f64);
    let inputs = inputs.collect::<Vec<_>>();
    let mut left = &inputs[..];
    let evidence = scopes.map(|scope| {
        let (values, rest) = left.split_at(network.size(scope[0]));
        left = rest;
        let values = values.to_vec();
        Likelihood { scope, values }
    });
    let evidence = evidence.collect::<Vec<_>>();
    let (total, weights) = enumerate(&network, &evidence, &request.queries);
    let lane = Lane {
        inputs: inputs.clone(),
        log_scale: 0.0,
    };
    let answer = program.run(&bound, &[lane])[0].clone().expect("possible");
    assert!((answer.log_evidence - total.ln()).abs() < EXACT);
    for (chances, weights) in answer.chances.iter().zip(weights) {
        for (chance, weight) in chances.iter().zip(weights) {
            assert!((chance - weight / total).abs() < EXACT);
        }
    }
}

/// A square of two-state variables, each hanging on the one above and the one before; exact work
/// takes some `2^side` entries whatever the order.
fn square(side: usize) -> (Network, Request) {
    let mut network = Network::new();
    for at in 0..side * side {
        let above = at.checked_sub(side);
        let before = (at % side > 0).then(|| at - 1);
        let drivers = above.into_iter().chain(before).map(|v| VarId(v as u32));
        let drivers = drivers.collect::<Vec<_>>();
        let rows = 1 << drivers.len();
        let cells = (0..rows).flat_map(|r| {
            let chance = 0.2 + 0.15 * r as f64;
            [chance, 1.0 - chance]
        });
        let table = Fold::table(drivers.clone(), cells.collect());
        add(&mut network, format!("v{at}"), 2, table);
    }
    let last = VarId((side * side - 1) as u32);
    let request = Request {
        slots: vec![Slot {
            scope: vec![last],
            seen: Seen::Hard(1),
        }],
        queries: vec![vec![VarId(0)]],
        restarts: 0,
    };
    (network, request)
}

#[test]
fn a_network_too_wide_is_refused_with_its_size() {
    let (network, request) = square(30);
    let refused = Program::compile(&network, &request);
    let Err(CompileError::TooWide { entries, limit }) = refused else {
        panic!("answered what takes 2^30 entries");
    };
    assert!(entries > limit && entries > 2_f64.powi(29));
    let text = CompileError::TooWide { entries, limit }.to_string();
    assert!(text.contains(&format!("{entries:.3e}")), "{text}");
}

#[test]
fn a_network_is_refused_beyond_the_limit_that_was_given() {
    let (network, request) = square(6);
    let program = Program::compile(&network, &request).expect("narrow");
    let width = program.width();
    let below = Program::compile_within(&network, &request, width.entries / 2.0);
    assert!(matches!(below, Err(CompileError::TooWide { .. })));
    let operations = (width.operations + width.prologue) as f64;
    let enough = width.entries.max(operations) * 1.01 + 100.0;
    assert!(Program::compile_within(&network, &request, enough).is_ok());
}
