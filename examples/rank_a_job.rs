//! Reads a job file and prints its likeliest causes, through the library alone.
//!
//! ```sh
//! cargo run --release --example rank_a_job examples/jobs/tb-01-one-dead-plug.toml
//! ```
#![allow(clippy::print_stdout, reason = "an example shows what it found")]

use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::read_bytes;
use hardstart::knowledge::{KnowledgeFiles, load};

/// How many causes are shown.
const SHOWN: usize = 8;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args().nth(1).ok_or("which job file?")?;
    let knowledge = load(&KnowledgeFiles::built_in())?;
    let job = read_bytes(&std::fs::read(&file)?, &file, &knowledge)?.job;
    let evidence = gather(&knowledge, &job)?;
    let ranking = causes(&evidence, &job)?;
    println!("{}: {}", job.job, job.complaint);
    for cause in ranking.causes.iter().take(SHOWN) {
        let place = cause.cylinder.map(|c| format!(", cylinder {c}"));
        println!(
            "{:5.1} of 100 ({:.1} before any complaint)  {}{}",
            100.0 * cause.chance,
            100.0 * cause.base,
            cause.label,
            place.unwrap_or_default()
        );
    }
    Ok(())
}
