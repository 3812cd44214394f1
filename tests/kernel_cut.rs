//! Programs wide enough to be cut, against sums along the rows of a grid, which share no code with
//! the kernel and know no network.

use hardstart::network::{
    Fold, Lane, Network, Program, Request, Role, Seen, Slot, VarId, Variable,
};

/// Side of the grid; exact work takes some `2^SIDE` entries a variable, so the program is cut.
const SIDE: usize = 11;
/// Agreement asked for.
const EXACT: f64 = 1e-11;

/// Chance of the second state of a variable, given how many of those it hangs on are there.
fn chance(row: usize, above: usize, before: usize) -> f64 {
    0.2 + 0.05 * (row % 3) as f64 + 0.35 * above as f64 + 0.2 * before as f64
}

fn grid() -> Network {
    let mut network = Network::new();
    for at in 0..SIDE * SIDE {
        let (row, column) = (at / SIDE, at % SIDE);
        let above = (row > 0).then(|| at - SIDE);
        let before = (column > 0).then(|| at - 1);
        let states = |there: &Option<usize>| 0..=usize::from(there.is_some());
        let rows = states(&above).flat_map(|a| states(&before).map(move |b| chance(row, a, b)));
        let cells = rows.flat_map(|c| [1.0 - c, c]).collect();
        let drivers = above.into_iter().chain(before).map(|v| VarId(v as u32));
        let variable = Variable {
            name: format!("v{at}"),
            states: vec!["s0".into(), "s1".into()],
            role: Role::Part,
            local: Fold::table(drivers.collect(), cells),
        };
        network.add(variable).expect("a sound variable");
    }
    network
}

/// Likelihood of each state of each variable; `small` is what a reading takes off both.
fn likelihood(at: usize, state: usize, lane: usize, small: f64) -> f64 {
    small * (0.3 + 0.1 * ((at * 7 + state * 5 + lane * 3) % 8) as f64)
}

/// Logarithm of P(evidence), going along the rows: what is carried on is a weight for each joint
/// state of the last `SIDE` variables. With `given`, that variable is in its second state.
fn along_rows(lane: usize, small: f64, given: Option<usize>) -> f64 {
    let mut weights = vec![0.0; 1 << SIDE];
    weights[0] = 1.0;
    let mut log = 0.0;
    for at in 0..SIDE * SIDE {
        let (row, column) = (at / SIDE, at % SIDE);
        let mut next = vec![0.0; 1 << SIDE];
        for (joint, weight) in weights.iter().enumerate().filter(|(_, w)| **w != 0.0) {
            // The variable above is the one that leaves; the one before is its neighbour.
            let above = if row > 0 { joint >> column & 1 } else { 0 };
            let before = if column > 0 {
                joint >> (column - 1) & 1
            } else {
                0
            };
            let c = chance(row, above, before);
            for (state, share) in [1.0 - c, c].into_iter().enumerate() {
                if given == Some(at) && state == 0 {
                    continue;
                }
                let to = joint & !(1 << column) | state << column;
                next[to] += weight * share * likelihood(at, state, lane, small);
            }
        }
        let total: f64 = next.iter().sum();
        log += total.ln();
        weights = next.into_iter().map(|w| w / total).collect();
    }
    log
}

fn compare(small: f64, restarts: usize, asked: &[usize]) {
    let network = grid();
    let all = (0..SIDE * SIDE).map(|at| vec![VarId(at as u32)]);
    let slots = all.clone().map(|scope| Slot {
        scope,
        seen: Seen::Soft,
    });
    let request = Request {
        slots: slots.collect(),
        queries: all.collect(),
        restarts,
    };
    let program = Program::compile(&network, &request).expect("narrow enough");
    let width = program.width();
    assert!(
        (width.cells as f64) < 0.3 * width.operations as f64,
        "not cut: {width:?}"
    );
    let bound = program.bind(&network.figures()).expect("same figures");
    let lane = |lane: usize| {
        let states = (0..SIDE * SIDE).flat_map(|at| [(at, 0), (at, 1)]);
        let inputs = states.map(|(at, state)| likelihood(at, state, lane, small));
        Lane {
            inputs: inputs.collect(),
            log_scale: 0.0,
        }
    };
    let lanes = (0..3).map(lane).collect::<Vec<_>>();
    let upward = program.run_upward(&bound, &lanes);
    let times = [1.0, 0.0, 2.5];
    let total = program.total(&program.tally(), &bound, &lanes, &times);
    let total = total.expect("possible");
    let mut sum = vec![0.0; SIDE * SIDE];
    for (lane, answer) in program.run(&bound, &lanes).into_iter().enumerate() {
        let answer = answer.expect("possible");
        let second = sum.iter_mut().zip(&answer.chances);
        second.for_each(|(s, chances)| *s += times[lane] * chances[1]);
        let log = along_rows(lane, small, None);
        assert!((answer.log_evidence - log).abs() < EXACT * log.abs());
        assert_eq!(upward[lane], Ok(answer.log_evidence));
        for at in asked {
            let chance = (along_rows(lane, small, Some(*at)) - log).exp();
            let found = answer.chances[*at][1];
            assert!((found - chance).abs() < 100.0 * EXACT, "{found} {chance}");
        }
    }
    for (sum, total) in sum.iter().zip(&total.chances) {
        assert!((sum - total[1]).abs() < EXACT, "{sum} {}", total[1]);
    }
}

#[test]
fn a_grid_that_is_cut_equals_sums_along_its_rows() {
    compare(1.0, 2, &[0, 60, 120]);
}

#[test]
fn readings_that_take_a_grid_beyond_the_range_of_the_arithmetic() {
    // P(evidence) is some 10^-350, less than the least number there is.
    compare(1.0 / 512.0, 2, &[5, 61, 115]);
}

/// Enough restarts for several orders, of which the program that runs fastest is kept.
#[test]
fn the_fastest_of_several_orders_equals_sums_along_the_rows() {
    compare(1.0, 50, &[7, 66]);
}
