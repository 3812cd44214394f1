//! A job drawn from the network: a kind of engine, a temperature, and the signs of one start.
//!
//! Each sign is drawn given those before it: its chance is the ratio of the chances of all that
//! is written down with and without it.

use hardstart::diagnosis::Reckoner;
use hardstart::evidence::gather;
use hardstart::job::{Job, read_toml};
use hardstart::knowledge::Knowledge;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Kinds of engine: cylinders, chamber, preheat. Drawn alike.
const ENGINES: [(u8, &str, &str); 8] = [
    (4, "swirl", "plugs"),
    (3, "swirl", "plugs"),
    (5, "prechamber", "plugs"),
    (6, "prechamber", "plugs"),
    (4, "direct", "plugs"),
    (6, "direct", "intake_grid"),
    (3, "direct", "flame"),
    (4, "direct", "none"),
];
/// Temperatures, degC. Drawn alike.
const TEMPERATURES: [i32; 5] = [-12, -6, -2, 3, 8];
/// Signs of the start, in the order in which they are drawn.
const SIGNS: [&str; 4] = ["crank_time", "smoke_cranking", "miss", "crank_sound"];

/// A drawn job.
pub struct Drawn {
    /// The job.
    pub job: Job,
    /// State of the sign `miss`.
    pub miss: String,
    /// State of the sign `smoke_cranking`.
    pub smoke: String,
}

/// The job of a seed.
pub fn draw(knowledge: &Knowledge, seed: u64) -> Drawn {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (cylinders, chamber, preheat) = ENGINES[rng.random_range(0..ENGINES.len())];
    let temperature = TEMPERATURES[rng.random_range(0..TEMPERATURES.len())];
    let mut text = format!(
        "schema = \"hardstart/job/1\"\njob = \"drawn-{seed}\"\ncomplaint = \"hard to start cold\"\n\
         engine = {{ cylinders = {cylinders}, chamber = \"{chamber}\", preheat = \"{preheat}\", \
         preheat_wiring = \"strip\", system_volts = 12 }}\n[[entry]]\n\
         start.engine_temperature = \"{temperature} degC\"\nstart.soak = \"12 h\"\n"
    );
    if preheat != "plugs" {
        text = text.replace("preheat_wiring = \"strip\", ", "");
    }
    let mut seen = Vec::new();
    for sign in SIGNS {
        let known = knowledge.signs.iter().find(|s| s.id.get_ref() == sign);
        let states = &known.expect("a sign of the network").states;
        let with = |state: &String| format!("{text}start.{sign} = \"{state}\"\n");
        let logs: Vec<f64> = states.iter().map(|s| chance(knowledge, &with(s))).collect();
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.iter().map(|l| (l - top).exp()).sum();
        let mut left = rng.random::<f64>() * total;
        let at = logs.iter().position(|l| {
            left -= (l - top).exp();
            left < 0.0
        });
        let state = states[at.unwrap_or(0)].clone();
        text = with(&state);
        seen.push(state);
    }
    Drawn {
        job: job(knowledge, &text),
        smoke: seen[1].clone(),
        miss: seen[2].clone(),
    }
}

/// Natural logarithm of the chance of what a job says.
fn chance(knowledge: &Knowledge, text: &str) -> f64 {
    let evidence = gather(knowledge, &job(knowledge, text)).expect("a network");
    let logs = Reckoner::new(&evidence)
        .and_then(|reckoner| reckoner.log_evidence(&[vec![true; reckoner.items()]]));
    logs.map_or(f64::NEG_INFINITY, |logs| logs[0])
}

fn job(knowledge: &Knowledge, text: &str) -> Job {
    read_toml(text, "drawn", knowledge)
        .unwrap_or_else(|e| panic!("{e}"))
        .job
}
