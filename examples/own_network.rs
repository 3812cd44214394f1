//! A small network built by hand, compiled once, and asked about many sets of readings at a time.
//!
//! Two parts may be wrong; a function suffers from both; a sign shows the function, and a check
//! looks at one part. The check is no variable: its reading is a likelihood on the part.
//!
//! ```sh
//! cargo run --release --example own_network
//! ```
#![allow(clippy::print_stdout, reason = "an example shows what it found")]

use hardstart::network::{
    Contribution, Fold, Lane, Network, Program, Request, Role, Seen, Slot, Step, VarId, Variable,
};

/// Adds a variable.
fn add(
    network: &mut Network,
    name: &str,
    states: &[&str],
    role: Role,
    local: Fold,
) -> Result<VarId, hardstart::network::NetworkError> {
    network.add(Variable {
        name: name.to_owned(),
        states: states.iter().map(|s| (*s).to_owned()).collect(),
        role,
        local,
    })
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut network = Network::new();
    let part = |chance: f64| Fold::table(vec![], vec![1.0 - chance, chance]);
    let relay = add(
        &mut network,
        "relay",
        &["sound", "burnt"],
        Role::Part,
        part(0.02),
    )?;
    let joint = add(
        &mut network,
        "joint",
        &["sound", "poor"],
        Role::Part,
        part(0.03),
    )?;
    // The worse of what the two leave over; nine times in ten a fault takes the feed down.
    let takes_down = |parent| Contribution {
        parent,
        rows: vec![1.0, 0.0, 0.1, 0.9],
    };
    let feed = Fold {
        drivers: vec![],
        init: vec![0.995, 0.005],
        step: Step::Worst,
        from: vec![takes_down(relay), takes_down(joint)],
    };
    let feed = add(
        &mut network,
        "feed",
        &["full", "weak"],
        Role::Function,
        feed,
    )?;
    // A weak feed makes it start hard four times in five, a full one once in twenty.
    let hard = Fold::table(vec![feed], vec![0.95, 0.05, 0.2, 0.8]);
    let hard = add(&mut network, "starts", &["well", "hard"], Role::Sign, hard)?;

    // One class of evidence: the start is seen, and a check of the relay may give anything.
    let request = Request {
        slots: vec![
            Slot {
                scope: vec![hard],
                seen: Seen::Hard(1),
            },
            Slot {
                scope: vec![relay],
                seen: Seen::Soft,
            },
        ],
        queries: vec![vec![relay], vec![joint]],
        restarts: 4,
    };
    let program = Program::compile(&network, &request)?;
    let bound = program.bind(&network.figures())?;

    // Lanes: what the check says of a sound and of a burnt relay. They run side by side.
    let readings = [
        ("relay not looked at", [1.0, 1.0]),
        ("volts lost over the relay", [0.05, 0.9]),
        ("no volts lost over the relay", [0.95, 0.1]),
    ];
    let lanes = readings.map(|(_, likelihood)| Lane {
        inputs: likelihood.to_vec(),
        log_scale: 0.0,
    });
    for ((reading, _), answer) in readings.iter().zip(program.run(&bound, &lanes)) {
        let answer = answer?;
        println!(
            "{reading:30} relay {:4.1}, joint {:4.1} of 100",
            100.0 * answer.chances[0][1],
            100.0 * answer.chances[1][1]
        );
    }
    Ok(())
}
