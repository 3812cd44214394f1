//! One round of expectation-maximisation on a network: `em_rows NETWORK.bif ROWS.ndjson`
//!
//! Each line of ROWS is an object of observed states, `{"smoke": "s2"}`; what is not in it was not
//! seen. Out comes one object: the log likelihood under the figures of the network, and for each
//! node its table after one round, without pseudo-counts. On stderr the median time of a round in
//! microseconds, on one thread; where the system tells, processor time.

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "an example that prints a table"
)]

use std::collections::BTreeMap;
use std::error::Error;
use std::time::Instant;

use hardstart::learning::em::{Em, EmProblem, Group, Row};
use hardstart::network::bif::read;
use hardstart::network::{Network, VarId};
use serde_json::{Map, Value, json};

/// Times that are taken.
const REPEATS: usize = 9;
/// Rounds a time is taken over: systems book processor time in steps of milliseconds.
const ROUNDS: u32 = 50;

fn main() -> Result<(), Box<dyn Error>> {
    // All on one thread, whose processor time is read.
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build()?;
    Ok(one.install(|| run().map_err(|error| error.to_string()))?)
}

fn run() -> Result<(), Box<dyn Error>> {
    let arguments = std::env::args().skip(1).collect::<Vec<_>>();
    let [bif, rows] = &arguments[..] else {
        return Err("give NETWORK.bif ROWS.ndjson".into());
    };
    let network = read(&std::fs::read_to_string(bif)?).map_err(|problems| {
        let lines = problems.iter().map(ToString::to_string);
        lines.collect::<Vec<_>>().join("\n")
    })?;
    let network = network.network;
    let count = u32::try_from(network.variables().len())?;
    let all = (0..count).map(VarId).collect::<Vec<_>>();
    let text = std::fs::read_to_string(rows)?;
    let rows = text.lines().filter(|l| !l.trim().is_empty());
    let rows = rows
        .map(|line| row(&network, &all, line))
        .collect::<Result<Vec<_>, _>>()?;
    let table_rows = |v: &VarId| network.variable(*v).local.init.len() / network.size(*v);
    let groups = all.iter().flat_map(|v| {
        (0..table_rows(v)).map(|row| Group {
            rows: vec![(*v, row)],
            pseudo: Vec::new(),
        })
    });
    let groups = groups.collect();
    let mut em = Em::new(EmProblem {
        network: network.clone(),
        groups,
        observed: all.clone(),
        rows,
    })?;
    let mut times = Vec::new();
    let mut found = em.expect()?;
    for _ in 0..REPEATS {
        let begun = micros();
        for _ in 0..ROUNDS {
            found = em.expect()?;
        }
        times.push((micros() - begun) / f64::from(ROUNDS));
    }
    times.sort_by(f64::total_cmp);
    em.maximise(&found.1)?;
    let mut tables: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    let mut counts = found.1.iter();
    for v in &all {
        let name = network.variable(*v).name.as_str();
        for _ in 0..table_rows(v) {
            let row = counts.next().map(Vec::as_slice).unwrap_or_default();
            tables.entry(name).or_default().extend_from_slice(row);
        }
    }
    let tables = tables
        .into_iter()
        .map(|(name, t)| (name.to_owned(), Value::from(t)));
    let tables = tables.collect::<Map<_, _>>();
    println!("{}", json!({"log_likelihood": found.0, "counts": tables}));
    eprintln!("{}", json!({"round_us": times[times.len() / 2]}));
    Ok(())
}

fn row(network: &Network, all: &[VarId], line: &str) -> Result<Row, Box<dyn Error>> {
    let seen: BTreeMap<String, String> = serde_json::from_str(line)?;
    let state = |v: &VarId| {
        let state = seen.get(&network.variable(*v).name)?;
        network.state(*v, state)
    };
    let states = all.iter().map(state).collect::<Vec<_>>();
    if states.iter().flatten().count() != seen.len() {
        return Err(format!("a node or state is not known: {line}").into());
    }
    Ok(Row { states, times: 1.0 })
}

/// Processor time of this thread where the system tells, else time passed.
fn micros() -> f64 {
    let stat = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanos = stat.and_then(|s| s.split(' ').next().and_then(|n| n.parse::<f64>().ok()));
    nanos.map_or_else(wall, |n| n / 1e3)
}

fn wall() -> f64 {
    static BEGUN: std::sync::OnceLock<Instant> = std::sync::OnceLock::new();
    BEGUN.get_or_init(Instant::now).elapsed().as_secs_f64() * 1e6
}
