//! When it says seventy, is it seventy? `calibration [JOBS] [SEED] [plain]`
//!
//! Jobs drawn from the figures themselves, shops alike, nothing misread, are scored against what
//! was truly wrong. A row a bin: mean chance, share that was there, standard error over jobs and
//! how many of them lie between. Ends with code 1 where a bin is off by more than four.

#![expect(clippy::print_stdout, reason = "an example that prints a table")]

use std::error::Error;
use std::process::ExitCode;
use std::time::Instant;

use hardstart::job::Job;
use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::learning::simulate::{SimulationSettings, Simulator};
use hardstart::scoring::batch::Scorer;
use hardstart::scoring::label::Labels;
use hardstart::scoring::reliability::Reliability;
use hardstart::scoring::rival::Counted;
use hardstart::scoring::solve::WIDEST;
use hardstart::scoring::take::AsOf;

/// Jobs worked on at a time.
const AT_A_TIME: u64 = 512;
/// Bytes of programs kept.
const PROGRAMS: usize = 256 << 20;
/// Standard errors a bin may be off: one false alarm in some 1 200 runs of thirteen bins.
const OFF: f64 = 4.0;

fn main() -> Result<ExitCode, Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let jobs = arguments.next().map_or(Ok(20_000), |n| n.parse())?;
    let seed = arguments.next().map_or(Ok(70), |n| n.parse())?;
    let plain = arguments.next().is_some_and(|a| a == "plain");
    let settings = SimulationSettings {
        seed,
        shops_differ: 0.0,
        misread: 0.0,
        ..if plain {
            SimulationSettings::plain(seed)
        } else {
            SimulationSettings::default()
        }
    };
    let knowledge = load(&KnowledgeFiles::built_in())?;
    let simulator = Simulator::new(&knowledge, settings);
    let rivals = Counted::default();
    let scorer = Scorer::new(
        &knowledge,
        AsOf::BeforeRepair,
        Labels::Simulated,
        rivals,
        PROGRAMS,
        WIDEST,
    );
    let begun = Instant::now();
    let mut reliability = Reliability::default();
    let (mut scored, mut not) = (0_u64, 0_u64);
    let mut at = 0;
    while at < jobs {
        let next = (at + AT_A_TIME).min(jobs);
        let drawn = (at..next).map(|n| simulator.job(n).map(|d| d.job));
        let drawn = drawn.collect::<Result<Vec<Job>, _>>()?;
        for one in scorer.score(&drawn.iter().collect::<Vec<_>>()) {
            if one.outcomes.pairs.is_empty() {
                not += 1;
            } else {
                scored += 1;
                reliability.add(&one.outcomes.pairs);
            }
        }
        at = next;
    }
    println!(
        "{scored} jobs scored, {not} not, in {:.0} s",
        begun.elapsed().as_secs_f64()
    );
    println!("  from    to    causes     said      was    error      off");
    let bins = reliability.bins();
    for bin in &bins {
        println!(
            "{:>6.2}{:>6.2}{:>10}{:>9.4}{:>9.4}{:>9.4}{:>9.2}",
            bin.from, bin.to, bin.causes, bin.said, bin.was, bin.error, bin.z
        );
    }
    let good = bins.iter().all(|b| b.z.abs() <= OFF);
    Ok(if good {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}
