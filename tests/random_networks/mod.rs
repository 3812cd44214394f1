//! Random small networks with every kind of step, for tests against enumeration.

use hardstart::network::{Contribution, Fold, Network, Role, Step, VarId, Variable};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

fn row(random: &mut ChaCha8Rng, width: usize) -> Vec<f64> {
    let mut row = (0..width)
        .map(|_| {
            if random.random::<f64>() < 0.2 {
                0.0
            } else {
                random.random::<f64>()
            }
        })
        .collect::<Vec<_>>();
    let total: f64 = row.iter().sum();
    if total == 0.0 {
        row[0] = 1.0;
    } else {
        row.iter_mut().for_each(|c| *c /= total);
    }
    row
}

fn rows(random: &mut ChaCha8Rng, count: usize, width: usize) -> Vec<f64> {
    (0..count).flat_map(|_| row(random, width)).collect()
}

/// A random network of up to nine variables with every kind of step.
pub fn network(random: &mut ChaCha8Rng) -> Network {
    let mut network = Network::new();
    let count = random.random_range(3..=9);
    for at in 0..count {
        let own = random.random_range(2..=3);
        let mut pick = |most: usize| {
            let mut parents = (0..at).map(|p| VarId(p as u32)).collect::<Vec<_>>();
            while parents.len() > most {
                parents.remove(random.random_range(0..parents.len()));
            }
            parents
        };
        let drivers = pick(2);
        let parents = pick(3);
        let count = drivers.iter().map(|d| network.size(*d)).product();
        let init = rows(random, count, own);
        let step = match random.random_range(0..4) {
            0 => Step::Worst,
            1 => Step::Sum,
            2 => Step::Override,
            _ => Step::Table {
                width: 2,
                next: (0..own * 2)
                    .map(|_| random.random_range(0..own) as u16)
                    .collect(),
            },
        };
        let from = parents
            .into_iter()
            .map(|parent| Contribution {
                parent,
                rows: rows(random, network.size(parent), step.width(own)),
            })
            .collect();
        network
            .add(Variable {
                name: format!("v{at}"),
                states: (0..own).map(|s| format!("s{s}")).collect(),
                role: Role::Part,
                local: Fold {
                    drivers,
                    init,
                    step,
                    from,
                },
            })
            .expect("made to fit");
    }
    network
}
