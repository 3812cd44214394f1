//! Times of our own network: 4, 6, 8 and 12 cylinders, one start and two, eight signs seen;
//! making a program, and 1 to 32 lanes through it; of eight also with the total current, whose
//! likelihood is a sum of terms, a lane each.
//!
//! Printed, never asserted. Run with `cargo bench --bench own_network`.

use std::hint::black_box;
use std::io::{Write, stderr};
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use hardstart::evidence::{Evidence, gather};
use hardstart::job::read_toml;
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::network::{Lane, Program, Request};

/// Tries of the search for an order: many, for a program that many jobs use.
const RESTARTS: usize = 20;
/// Cylinders, two starts, total current read.
const CASES: [(u8, bool, bool); 9] = [
    (4, false, false),
    (4, true, false),
    (6, false, false),
    (6, true, false),
    (8, false, false),
    (8, true, false),
    (8, true, true),
    (12, false, false),
    (12, true, false),
];

/// A job of an invented engine: eight signs at one start, four at a second one, the total current.
fn job(cylinders: u8, two_starts: bool, total_current: bool) -> String {
    let mut text = format!(
        r#"
schema = "hardstart/job/1"
job = "B-1"
complaint = "hard to start cold"
engine = {{ cylinders = {cylinders}, chamber = "swirl", preheat = "plugs" }}
[[entry]]
[entry.start]
engine_temperature = "-6 degC"
soak = "12 h"
crank_time = "9 s"
smoke_cranking = "white"
smoke_after = "white"
miss = "one"
time_to_even = "s20_60"
crank_sound = "normal"
raw_smell = "yes"
knock = "normal"
"#
    );
    if two_starts {
        text.push_str(
            r#"
[[entry]]
[entry.start]
engine_temperature = "3 degC"
crank_time = "5 s"
smoke_cranking = "white"
smoke_after = "white"
miss = "one"
"#,
        );
    }
    if total_current {
        let amps = u32::from(cylinders) * 9;
        text.push_str(&format!(
            "[[entry]]\nreading = {{ check = \"plug_current_total\", value = \"{amps} A\" }}\n"
        ));
    }
    text
}

fn evidence(knowledge: &Knowledge, text: &str) -> Evidence {
    let job = read_toml(text, "bench.toml", knowledge)
        .expect("a sound job")
        .job;
    gather(knowledge, &job).expect("gathers")
}

fn own(criterion: &mut Criterion) {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("sound figures");
    for (cylinders, two_starts, total_current) in CASES {
        let evidence = evidence(&knowledge, &job(cylinders, two_starts, total_current));
        let case = &evidence.cases[0];
        let queries = case
            .model
            .parts_now()
            .into_iter()
            .map(|p| vec![p])
            .collect();
        // The total current as a sum of terms, each a lane.
        let switched = case.switched(true);
        let request = Request {
            slots: switched.slots.clone(),
            queries,
            restarts: RESTARTS,
        };
        let group = switched.group(true, |_| true);
        let starts = 1 + u8::from(two_starts);
        let total = if total_current { ", total current" } else { "" };
        let name = format!("{cylinders} cylinders, {starts} starts{total}");
        let network = &case.model.network;
        let program = match Program::compile(network, &request) {
            Ok(program) => program,
            Err(error) => {
                writeln!(stderr(), "{name}: {error}").expect("a place to print");
                continue;
            }
        };
        let terms = group.terms.len();
        writeln!(
            stderr(),
            "{name}: {terms} lanes a job, {:?}",
            program.width()
        )
        .expect("a place to print");
        let mut timed = criterion.benchmark_group(&name);
        timed.sample_size(10);
        timed.warm_up_time(Duration::from_millis(300));
        timed.measurement_time(Duration::from_secs(1));
        timed.bench_function("compile", |b| {
            b.iter(|| Program::compile(network, black_box(&request)).expect("narrow"));
        });
        let bound = program.bind(&network.figures()).expect("same figures");
        for count in [1, 8, 32] {
            let lanes = group.terms.iter().cycle().take(count).cloned();
            let lanes = lanes.collect::<Vec<Lane>>();
            timed.throughput(Throughput::Elements(count as u64));
            timed.bench_with_input(BenchmarkId::new("lanes", count), &lanes, |b, lanes| {
                b.iter(|| program.run(&bound, black_box(lanes)));
            });
        }
        timed.finish();
    }
}

criterion_group!(benches, own);
criterion_main!(benches);
