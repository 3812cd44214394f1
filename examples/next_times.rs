//! Prints how long `hardstart next` takes as a process, for the jobs of `examples/jobs` and for
//! two engines of eight cylinders.
//!
//! `cargo build --release && cargo run --release --example next_times [PROGRAM]`: for whoever
//! changes the planner or the kernel. Each job is asked seven times; the middle one counts. The
//! bars: 150 ms with four cylinders and one start, 1 s with eight without their total current.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// Times each job is asked.
const TIMES: usize = 7;
/// One start of an engine of eight cylinders.
const EIGHT: &str = "schema = \"hardstart/job/1\"\njob = \"eight\"\n\
    complaint = \"hard to start after frost, shakes and smokes white\"\n\
    engine = { cylinders = 8, chamber = \"prechamber\", preheat = \"plugs\", \
    preheat_wiring = \"strip\", pump = \"inline\", system_volts = 24 }\n[[entry]]\n\
    start = { engine_temperature = \"-6 degC\", soak = \"12 h\", crank_time = \"9 s\", \
    smoke_cranking = \"white\", miss = \"one\" }\n";
/// The same with readings at two cylinders.
const READ: &str = "[[entry]]\nreading = { check = \"cranking_volts\", value = \"19.5 V\" }\n\
    [[entry]]\nreading = { check = \"plug_ohms\", cylinder = 1, value = \"1.6 ohm\" }\n\
    [[entry]]\nreading = { check = \"plug_ohms\", cylinder = 2, value = \"open\" }\n";

#[allow(clippy::print_stdout)]
fn main() {
    let named = std::env::args().nth(1).map(PathBuf::from);
    let program = named.unwrap_or_else(|| PathBuf::from("target/release/hardstart"));
    let scratch = std::env::temp_dir().join(format!("next_times_{}", std::process::id()));
    std::fs::create_dir_all(&scratch).expect("a scratch directory");
    let eight = scratch.join("eight.toml");
    let read = scratch.join("eight-read.toml");
    std::fs::write(&eight, EIGHT).expect("a file");
    std::fs::write(&read, format!("{EIGHT}{READ}")).expect("a file");
    let mut jobs: Vec<PathBuf> = std::fs::read_dir("examples/jobs")
        .expect("run it where Cargo.toml stands")
        .map(|e| e.expect("a file").path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    jobs.sort();
    jobs.extend([eight, read]);
    println!("{:<32} {:>8} {:>8}", "job", "middle", "least");
    for job in jobs {
        let mut times: Vec<f64> = (0..TIMES).map(|_| once(&program, &job)).collect();
        times.sort_by(f64::total_cmp);
        let name = job.file_stem().unwrap_or_default().to_string_lossy();
        println!(
            "{name:<32} {:>5.0} ms {:>5.0} ms",
            times[TIMES / 2],
            times[0]
        );
    }
    std::fs::remove_dir_all(&scratch).expect("the scratch directory goes");
}

/// Milliseconds of one answer, from start to end of the process.
fn once(program: &Path, job: &Path) -> f64 {
    let began = Instant::now();
    let mut command = Command::new(program);
    let command = command.arg("next").arg(job).stdout(Stdio::null());
    let status = command.status().unwrap_or_else(|e| {
        panic!("{}: {e}; build it or name it", program.display());
    });
    assert!(status.success(), "{}: {status}", job.display());
    began.elapsed().as_secs_f64() * 1e3
}
