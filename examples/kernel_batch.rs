//! Answers many sets of observations on a network: `kernel_batch NETWORK.bif JOBS.ndjson NODE,NODE,...`
//!
//! Each line of JOBS is an object of observed states, `{"smoke": "s2"}`. One line of answers
//! comes out for each, `{"log_evidence": -5.1, "chances": {"plug": [0.9, 0.1]}}`, and on stderr
//! one object of times in microseconds a job: `cold` with the making of programs inside, `warm`
//! the median of further batches, `alone` the mean of single jobs. All on one thread; where
//! the system tells, processor time, so that other work on the machine weighs little.

use std::collections::BTreeSet;
use std::error::Error;
use std::io::{BufWriter, Write};
use std::time::{Duration, Instant};

use hardstart::network::bif::{read, with_noisy_maxima};
use hardstart::network::{Batch, Network, Observation, VarId};
use serde_json::{Map, Value, json};

/// Further batches that are timed.
const REPEATS: usize = 7;
/// Single jobs that are timed.
const SINGLES: usize = 4000;
/// No further batch or single job is begun when those before took as long.
const LONG: Duration = Duration::from_secs(30);
/// Tries of the search for an order, when the environment does not say: many, for the programs
/// are used many times.
const RESTARTS: usize = 200;
/// Bytes of programs kept.
const BYTES: usize = 2 << 30;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = std::env::args().skip(1).collect::<Vec<_>>();
    let [bif, jobs, asked] = &arguments[..] else {
        return Err("give NETWORK.bif JOBS.ndjson NODE,NODE,...".into());
    };
    let restarts = std::env::var("RESTARTS").map_or(Ok(RESTARTS), |r| r.parse())?;
    let network = read(&std::fs::read_to_string(bif)?).map_err(|problems| {
        let lines = problems.iter().map(ToString::to_string);
        lines.collect::<Vec<_>>().join("\n")
    })?;
    let network = with_noisy_maxima(&network.network);
    let find = |name: &str| {
        network
            .find(name)
            .ok_or(format!("no node is called {name}"))
    };
    let jobs = std::fs::read_to_string(jobs)?;
    let jobs = jobs.lines().filter(|l| !l.trim().is_empty());
    let jobs = jobs
        .map(|line| observations(&network, line))
        .collect::<Result<Vec<_>, _>>()?;
    let asked = asked.split(',').collect::<Vec<_>>();
    let queries = asked.iter().map(|name| Ok(vec![find(name)?]));
    let queries = queries.collect::<Result<Vec<_>, String>>()?;
    let observable = jobs.iter().flatten().map(|o| o.0);
    let observable = observable.collect::<BTreeSet<_>>().into_iter();
    let observable = observable.collect::<Vec<VarId>>();

    let begun = Clock::start();
    let mut batch = Batch::new(network, &observable, queries, restarts, BYTES);
    let answers = batch.answer(&jobs)?;
    let cold = begun.micros(jobs.len());
    let (mut warm, started) = (Vec::new(), Instant::now());
    while warm.is_empty() || warm.len() < REPEATS && started.elapsed() < LONG {
        let begun = Clock::start();
        batch.answer(&jobs)?;
        warm.push(begun.micros(jobs.len()));
    }
    let warm = median(warm);
    let (mut singles, begun) = (0, Clock::start());
    for job in jobs.iter().take(SINGLES) {
        batch.answer(std::slice::from_ref(job))?;
        singles += 1;
        if begun.wall.elapsed() > LONG {
            break;
        }
    }
    let alone = begun.micros(singles);

    let mut out = BufWriter::new(std::io::stdout().lock());
    for answer in answers.iter() {
        let line = match answer {
            Ok(answer) => {
                let named = asked.iter().map(|n| (*n).to_owned());
                let chances = named.zip(answer.chances().map(Value::from));
                let chances = chances.collect::<Map<_, _>>();
                json!({"log_evidence": answer.log_evidence, "chances": chances})
            }
            Err(error) => json!({"error": error.to_string()}),
        };
        writeln!(out, "{line}")?;
    }
    out.flush()?;
    let programs = batch.programs();
    let times = json!({
        "cold": cold, "warm": warm, "alone": alone,
        "programs": programs.made(), "program_bytes": programs.bytes(),
    });
    writeln!(std::io::stderr(), "{times}")?;
    Ok(())
}

fn observations(network: &Network, line: &str) -> Result<Vec<Observation>, Box<dyn Error>> {
    let line: Map<String, Value> = serde_json::from_str(line)?;
    line.iter()
        .map(|(name, state)| {
            let id = network
                .find(name)
                .ok_or(format!("no node is called {name}"))?;
            let state = state.as_str().ok_or("a state is a name")?;
            let at = network.state(id, state);
            let at = at.ok_or(format!("{name} has no state {state}"))?;
            Ok((id, at))
        })
        .collect()
}

/// A clock of this thread's processor time, or of the wall where that is not told.
struct Clock {
    wall: Instant,
    spent: Option<u64>,
}

impl Clock {
    fn start() -> Self {
        Self {
            wall: Instant::now(),
            spent: spent(),
        }
    }

    /// Microseconds since the start, for each of so many jobs.
    fn micros(&self, jobs: usize) -> f64 {
        let micros = match (self.spent, spent()) {
            (Some(before), Some(now)) => (now - before) as f64 / 1e3,
            _ => self.wall.elapsed().as_secs_f64() * 1e6,
        };
        micros / jobs.max(1) as f64
    }
}

/// Nanoseconds of processor time of this thread.
fn spent() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse().ok()
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times.get(times.len() / 2).copied().unwrap_or(0.0)
}
